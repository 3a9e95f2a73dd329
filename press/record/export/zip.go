package export

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"path"
	"time"
)

// Zip writes the same files as [Export] into one archive. The same run gives
// the same bytes again. It returns the name of the folder in the archive.
func Zip(ctx context.Context, src Source, id string, w io.Writer, options Options) (string, error) {
	t, err := gather(ctx, src, id, options)
	if err != nil {
		return "", fmt.Errorf("export run %q: %w", id, err)
	}
	files, err := t.files()
	if err != nil {
		return "", fmt.Errorf("export run %q: %w", id, err)
	}
	folder := folderName(t.run.ID)
	archive := zip.NewWriter(w)
	for _, f := range append(files, file{name: sumsName, body: sums(files)}) {
		if err := addFile(archive, path.Join(folder, f.name), t.end(), f); err != nil {
			return "", fmt.Errorf("export run %s: %w", t.run.ID, err)
		}
	}
	return folder, archive.Close()
}

// addFile dates the file with the end of the run, so that a second archive is
// the same.
func addFile(archive *zip.Writer, name string, at time.Time, f file) error {
	header := &zip.FileHeader{Name: name, Method: zip.Deflate}
	if at.Year() >= 1980 { // zip knows no earlier time
		header.Modified = at.UTC().Truncate(2 * time.Second)
	}
	header.SetMode(0o644)
	w, err := archive.CreateHeader(header)
	if err != nil {
		return err
	}
	return f.copyTo(w)
}
