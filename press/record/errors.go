package record

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// The errors that callers tell apart, with [errors.Is].
var (
	// ErrNotFound: there is no run, alert or delivery of that name.
	ErrNotFound = errors.New("not in the record")
	// ErrAmbiguous: more than one run begins with the given letters.
	ErrAmbiguous = errors.New("more than one run begins so")
	// ErrCorrupt: the file is damaged, or is no record at all.
	ErrCorrupt = errors.New("the record is damaged")
)

// damaged reports whether SQLite says that the file itself is at fault.
func damaged(err error) bool {
	var found *damage
	if errors.Is(err, ErrCorrupt) || errors.As(err, &found) {
		return true
	}
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return false
	}
	primary := e.Code() & 0xff
	return primary == sqlite3.SQLITE_CORRUPT || primary == sqlite3.SQLITE_NOTADB
}

// contentAtFault marks what SQLite refuses while the file is opened as damage.
// Our statements are fixed and the place was found writable: a plain error ("no
// such table", "unsupported file format") or a database that cannot be written
// comes from what stands in the file.
func contentAtFault(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_ERROR, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_FORMAT:
		return &damage{found: []string{err.Error()}}
	}
	return err
}

// explain names the file and what to do about the commonest failures.
func explain(path, doing string, err error) error {
	var e *sqlite.Error
	switch {
	case err == nil:
		return nil
	case errors.Is(err, ErrCorrupt):
		return err
	case damaged(err):
		return fmt.Errorf("%w: %s: %s: %w: keep a copy of the file, then restore a backup or let the daemon set it aside",
			ErrCorrupt, path, doing, err)
	case errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_FULL:
		return fmt.Errorf("%s: %s: %w: the disk is full, free some space: samples are held in memory until then", path, doing, err)
	case errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_BUSY:
		return fmt.Errorf("%s: %s: %w: another program has held the record for long: close it", path, doing, err)
	case errors.As(err, &e) && (e.Code()&0xff == sqlite3.SQLITE_READONLY || e.Code()&0xff == sqlite3.SQLITE_CANTOPEN):
		return fmt.Errorf("%s: %s: %w: the file and its folder must be writable for this user, also to read while the daemon runs", path, doing, err)
	}
	return fmt.Errorf("%s: %s: %w", path, doing, err)
}

// checkPlace finds out before SQLite does whether the file can be kept here,
// because SQLite says only that it is unable to open it.
func checkPlace(path string) error {
	dir := filepath.Dir(path)
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("record %s: there is no folder %s: create it, or choose another place for the record: %w", path, dir, err)
	case err != nil:
		return fmt.Errorf("record %s: folder %s: %w: choose another place for the record", path, dir, err)
	case !info.IsDir():
		return fmt.Errorf("record %s: %s is a file, not a folder: choose another place for the record", path, dir)
	}
	if info, err = os.Stat(path); err == nil && info.IsDir() {
		return fmt.Errorf("record %s: this is a folder: name a file in it, for example %s", path, filepath.Join(path, "nightclamp.db"))
	}
	if err := tryWriting(dir); err != nil {
		return fmt.Errorf("record %s: folder %s: %w: %s", path, dir, err, placeRemedy(err))
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o640) //nolint:gosec // the group reads it beside the daemon
	if err != nil {
		return fmt.Errorf("record %s: %w: %s", path, err, placeRemedy(err))
	}
	return file.Close()
}

// tryWriting makes a file in the folder and takes it away again.
func tryWriting(dir string) error {
	probe, err := os.CreateTemp(dir, ".writable-*")
	if err != nil {
		return err
	}
	return errors.Join(probe.Close(), os.Remove(probe.Name()))
}

// placeRemedy says what to do where no file can be written.
func placeRemedy(err error) string {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return "not writable for this user: give it to the user who runs nightclamp (chown), or choose another place"
	case errors.Is(err, syscall.EROFS):
		return "mounted read-only: choose another place for the record; if it became so by itself, the disk is failing"
	case errors.Is(err, syscall.EIO):
		return "the disk fails: save what is on it, and choose another place for the record"
	}
	return "choose another place for the record"
}

func mustExist(path string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no record yet: it begins with the first start of the daemon: %w", err)
	case err != nil:
		return err
	case info.IsDir():
		return errors.New("this is a folder: name the file in it")
	}
	return nil
}
