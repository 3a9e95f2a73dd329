package photo

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// BackupFolder is where the pictures lie beside a backup of the record.
func BackupFolder(backup string) string { return backup + ".photos" }

// Copy brings every picture of one folder into another, and counts them. One that is
// there is left; another picture of its name is first given the name NAME.before-TIME,
// for nothing is deleted. What cannot be read or written is told, and the rest goes on.
func Copy(from, to string, now time.Time) (copied int, err error) {
	var failed []error
	runs, err := os.ReadDir(from)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("look for photos: %w", err)
	}
	for _, run := range runs {
		if !run.IsDir() {
			continue // not of ours
		}
		files, err := os.ReadDir(filepath.Join(from, run.Name()))
		if err != nil {
			failed = append(failed, fmt.Errorf("look for photos: %w", err))
			continue
		}
		for _, file := range files {
			if strings.HasPrefix(file.Name(), ".draft-") {
				continue
			}
			if err := copyOne(filepath.Join(from, run.Name(), file.Name()), filepath.Join(to, run.Name(), file.Name()), now); err != nil {
				failed = append(failed, err)
				continue
			}
			copied++
		}
	}
	return copied, errors.Join(failed...)
}

func copyOne(from, to string, now time.Time) error {
	body, err := os.ReadFile(from) //nolint:gosec // a folder of ours, or one that the user names
	if err != nil {
		return fmt.Errorf("copy a photo: %w", err)
	}
	there, err := os.ReadFile(to) //nolint:gosec // the same
	switch {
	case err == nil && bytes.Equal(there, body):
		return nil
	case err == nil:
		if err := os.Rename(to, to+now.UTC().Format(".before-20060102T150405Z")); err != nil {
			return fmt.Errorf("keep the photo that was there: %w", err)
		}
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("look at the photo that is there: %w", err)
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o750); err != nil {
		return fmt.Errorf("the folder for photos: %w", err)
	}
	return write(to, body)
}
