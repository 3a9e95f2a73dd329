package export

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

const sumsName = "SHA256SUMS"

// writeFolder puts the files into the folder. A folder that is new appears
// whole, by one rename; in one that is there each file that differs is replaced
// by a rename, once it is clear that none of them was changed by hand.
func writeFolder(folder string, files []file) error {
	files = append(files, file{sumsName, sums(files)})
	if _, err := os.Lstat(folder); errors.Is(err, fs.ErrNotExist) {
		return newFolder(folder, files)
	}
	written, err := readSums(filepath.Join(folder, sumsName))
	if err != nil {
		return err
	}
	var changed []file
	for _, f := range files {
		differs, err := differs(folder, f, written)
		if err != nil {
			return err
		}
		if differs {
			changed = append(changed, f)
		}
	}
	for _, f := range changed {
		if err := replace(filepath.Join(folder, f.name), f.body); err != nil {
			return err
		}
	}
	return nil
}

// differs reports whether the file must be written, or why it must not.
func differs(folder string, f file, written map[string]string) (bool, error) {
	path := filepath.Join(folder, f.name)
	there, err := os.ReadFile(path) //nolint:gosec // the user names the folder
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return true, nil
	case err != nil:
		return false, err
	case bytes.Equal(there, f.body):
		return false, nil
	case f.name == sumsName || written[f.name] == digest(there):
		return true, nil
	}
	return false, fmt.Errorf("%s was changed by hand and is left as it is: rename it, or export into another folder", path)
}

// newFolder writes beside the folder and renames.
func newFolder(folder string, files []file) (err error) {
	draft, err := os.MkdirTemp(filepath.Dir(folder), ".draft-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(draft))
		}
	}()
	for _, f := range files {
		if err := writeSynced(filepath.Join(draft, f.name), f.body); err != nil {
			return err
		}
	}
	if err := os.Chmod(draft, 0o755); err != nil { //nolint:gosec // a build log is for everybody
		return err
	}
	return os.Rename(draft, folder)
}

func replace(path string, body []byte) error {
	draft := filepath.Join(filepath.Dir(path), ".draft-"+filepath.Base(path))
	if err := writeSynced(draft, body); err != nil {
		return err
	}
	return os.Rename(draft, path)
}

// writeSynced writes a file that is whole before it gets its name.
func writeSynced(path string, body []byte) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o644) //nolint:gosec // a build log is for everybody
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err := f.Write(body); err != nil {
		return err
	}
	return f.Sync()
}

func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// sums writes what `sha256sum -c` reads.
func sums(files []file) []byte {
	var b bytes.Buffer
	for _, f := range files {
		fmt.Fprintf(&b, "%s  %s\n", digest(f.body), f.name)
	}
	return b.Bytes()
}

// readSums reads the sums of the last export. Without them, or where they make
// no sense, every file counts as changed by hand.
func readSums(path string) (map[string]string, error) {
	text, err := os.ReadFile(path) //nolint:gosec // the user names the folder
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	written := map[string]string{}
	for line := range strings.Lines(string(text)) {
		sum, name, _ := strings.Cut(strings.TrimRight(line, "\n"), "  ")
		written[name] = sum
	}
	return written, nil
}
