package export

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

const sumsName = "SHA256SUMS"

// file is one file of the folder: its body, or the file that it is a copy of.
type file struct {
	name string // with slashes
	body []byte
	from string // path; empty: body counts
	sum  string // of from
}

func (f file) digest() string {
	if f.from != "" {
		return f.sum
	}
	return digest(f.body)
}

func (f file) copyTo(w io.Writer) error {
	if f.from == "" {
		_, err := w.Write(f.body)
		return err
	}
	in, err := os.Open(f.from)
	if err != nil {
		return err
	}
	_, err = io.Copy(w, in)
	return errors.Join(err, in.Close())
}

// writeFolder puts the files into the folder. A folder that is new appears
// whole, by one rename; in one that is there each file that differs is replaced
// by a rename. One that was changed by hand is left, and what would have been
// written is put beside it, once for each new text: kept is told of both.
func writeFolder(folder string, files []file, thinned bool, kept func(file, beside string)) error {
	if _, err := os.Lstat(folder); errors.Is(err, fs.ErrNotExist) {
		return newFolder(folder, append(files, file{name: sumsName, body: sums(files)}))
	}
	written, err := readSums(filepath.Join(folder, sumsName))
	if err != nil {
		return err
	}
	for i, f := range files {
		if path := filepath.Join(folder, f.name); thinned && ofSamples(f.name) && written[f.name] != "" && present(path) {
			files[i] = file{name: f.name, from: path, sum: written[f.name]}
			if f.digest() != written[f.name] {
				kept(path, "")
			}
			continue
		}
		if err := renew(folder, f, written, kept); err != nil {
			return err
		}
	}
	// Last: until it is there, a second try takes what the first one wrote for ours
	// by its content.
	list := file{name: sumsName, body: sums(files)}
	if there, err := os.ReadFile(filepath.Join(folder, sumsName)); err == nil && bytes.Equal(there, list.body) { //nolint:gosec // the user names the folder
		return nil
	}
	return replace(filepath.Join(folder, sumsName), list)
}

// ofSamples reports whether a file holds samples, or counts them. Those of a run
// that was thinned after it was written are finer than what there is now.
func ofSamples(name string) bool {
	switch name {
	case "samples.csv", "record.json", "chart.svg", "chart.png":
		return true
	}
	return false
}

func present(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// renew writes one file of a folder that is there, if it must be.
func renew(folder string, f file, written map[string]string, kept func(file, beside string)) error {
	target := filepath.Join(folder, filepath.FromSlash(f.name))
	there, err := fileDigest(target)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return replace(target, f)
	case err != nil:
		return err
	case there == f.digest():
		return nil
	case there == written[f.name]:
		return replace(target, f)
	}
	beside := besideName(target)
	if f.digest() != written[f.name] {
		if err := putBeside(beside, f, written[f.name]); err != nil {
			return err
		}
		kept(target, beside)
		return nil
	}
	kept(target, "")
	return nil
}

// besideName is record.new.md for record.md.
func besideName(path string) string {
	ext := filepath.Ext(path)
	return strings.TrimSuffix(path, ext) + ".new" + ext
}

// putBeside writes the new text beside an edited file, over an older one that
// nobody has touched.
func putBeside(beside string, f file, older string) error {
	switch there, err := fileDigest(beside); {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	case err == nil && there != older && there != f.digest():
		return fmt.Errorf("%s was changed by hand: rename it, or export into another folder", beside)
	}
	return replace(beside, f)
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
		if err := writeSynced(filepath.Join(draft, filepath.FromSlash(f.name)), f); err != nil {
			return err
		}
	}
	if err := os.Chmod(draft, 0o755); err != nil { //nolint:gosec // a build log is for everybody
		return err
	}
	return os.Rename(draft, folder)
}

func replace(target string, f file) error {
	draft := filepath.Join(filepath.Dir(target), ".draft-"+filepath.Base(target))
	if err := writeSynced(draft, f); err != nil {
		return err
	}
	return os.Rename(draft, target)
}

// writeSynced writes a file that is whole before it gets its name.
func writeSynced(target string, f file) (err error) {
	if strings.Contains(f.name, "/") {
		if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil { //nolint:gosec // a build log is for everybody
			return err
		}
	}
	out, err := os.OpenFile(target, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o644) //nolint:gosec // a build log is for everybody
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	if err := f.copyTo(out); err != nil {
		return err
	}
	return out.Sync()
}

func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// sums writes what `sha256sum -c` reads.
func sums(files []file) []byte {
	var b bytes.Buffer
	for _, f := range files {
		fmt.Fprintf(&b, "%s  %s\n", f.digest(), path.Clean(f.name))
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
