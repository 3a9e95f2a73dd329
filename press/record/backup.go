package record

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
)

// errOpenRun keeps a restore from pulling the record away under a run.
var errOpenRun = errors.New("a run is on a press: release it first")

// Backup writes a copy of the record as it is now to path, which must not be
// there yet. It does not hold up writing, and the copy is checked before it
// gets its name. On a record opened for reading it copies what is in the file;
// the daemon may have some two minutes of samples more in memory.
func (s *Store) Backup(ctx context.Context, path string) error {
	if exists(path) {
		return fmt.Errorf("back up the record: %s is there already: choose another name: %w", path, fs.ErrExist)
	}
	if s.write != nil {
		if err := s.Flush(ctx); err != nil {
			return err
		}
	}
	if err := s.backup(ctx, path); err != nil {
		return fmt.Errorf("back up the record %s to %s: %w", s.path, path, err)
	}
	return nil
}

func (s *Store) backup(ctx context.Context, path string) (err error) {
	draft := path + ".draft"
	defer func() {
		if err != nil {
			err = errors.Join(err, removeDatabase(draft))
		}
	}()
	if err := removeDatabase(draft); err != nil { // of a backup that was cut short
		return err
	}
	if err := s.copyTo(ctx, draft); err != nil {
		return err
	}
	if err := makeSingle(ctx, draft); err != nil {
		return err
	}
	if err := verify(ctx, draft); err != nil {
		return fmt.Errorf("the copy is not good: %w", err)
	}
	if err := syncPath(draft); err != nil {
		return err
	}
	if err := os.Rename(draft, path); err != nil {
		return err
	}
	return errors.Join(removeDatabase(draft), syncPath(filepath.Dir(path)))
}

// copyTo copies page by page. The open transaction keeps the copy from
// beginning anew whenever something is written meanwhile.
func (s *Store) copyTo(ctx context.Context, path string) error {
	conn, err := s.read.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close() //nolint:errcheck // it was only read
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() //nolint:errcheck // it was only read
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&n); err != nil {
		return err
	}
	target, err := uri(path)
	if err != nil {
		return err
	}
	return conn.Raw(func(driver any) error {
		from, ok := driver.(interface {
			NewBackup(uri string) (*sqlite.Backup, error)
		})
		if !ok {
			return errors.New("this SQLite driver cannot copy a database")
		}
		backup, err := from.NewBackup(target)
		if err != nil {
			return err
		}
		const pages = 2048
		more := true
		for more && err == nil && ctx.Err() == nil {
			more, err = backup.Step(pages)
		}
		return errors.Join(err, ctx.Err(), backup.Finish())
	})
}

// makeSingle takes the copy out of WAL mode, so that it is one file that can
// also be read from a medium that cannot be written.
func makeSingle(ctx context.Context, path string) error {
	db, err := connect(path, "mode=rw&_journal_mode=DELETE")
	if err != nil {
		return err
	}
	return errors.Join(db.PingContext(ctx), db.Close())
}

// Restore puts a backup in the place of the record, while it is open. What was
// there before is kept beside it; its name is returned. It is refused while a
// run is on a press, and when the backup is damaged or of another program.
func (s *Store) Restore(ctx context.Context, backup string) (before string, err error) {
	if err := s.writable(); err != nil {
		return "", err
	}
	fail := func(err error) (string, error) {
		return "", fmt.Errorf("restore the record %s from %s: %w", s.path, backup, err)
	}
	if err := mustBeBackup(backup); err != nil {
		return fail(err)
	}
	if err := verify(ctx, backup); err != nil {
		return fail(err)
	}
	if open, err := s.Runs(ctx, Filter{Open: true, Limit: 1}); err != nil || len(open) > 0 {
		return fail(errors.Join(err, errOpenRun))
	}
	before = freeName(s.path+".before-restore-", time.Now().UTC())
	if err := s.Backup(ctx, before); err != nil {
		return fail(err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.overwrite(ctx, backup); err != nil {
		return fail(err)
	}
	clear(s.runs)
	clear(s.boots)
	clear(s.series)
	if err := migrate(ctx, s.write); err != nil {
		return fail(err)
	}
	return before, nil
}

func (s *Store) overwrite(ctx context.Context, backup string) error {
	source, err := uri(backup)
	if err != nil {
		return err
	}
	conn, err := s.write.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close() //nolint:errcheck // it goes back to the pool
	return conn.Raw(func(driver any) error {
		to, ok := driver.(interface {
			NewRestore(uri string) (*sqlite.Backup, error)
		})
		if !ok {
			return errors.New("this SQLite driver cannot copy a database")
		}
		restore, err := to.NewRestore(source + "?mode=ro")
		if err != nil {
			return err
		}
		_, err = restore.Step(-1) // all at once: nobody may see half of it
		return errors.Join(err, restore.Finish())
	})
}

// verify reads through a whole file that should be a record.
func verify(ctx context.Context, path string) (err error) {
	db, err := connect(path, readingOnly)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	form, err := formOf(ctx, db)
	if err != nil {
		return err
	}
	want, _, err := version()
	switch {
	case err != nil:
		return err
	case form > want:
		return errNewer
	case form == 0:
		return errForeign
	}
	return check(ctx, db)
}

func mustBeBackup(path string) error {
	info, err := os.Stat(path)
	if err == nil && info.IsDir() {
		err = errors.New("this is a folder: name the file in it")
	}
	return err
}

// removeDatabase removes a file and what SQLite keeps beside it.
func removeDatabase(path string) error {
	var errs []error
	for _, suffix := range []string{"", "-wal", "-shm", "-journal"} {
		if err := os.Remove(path + suffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

func syncPath(path string) error {
	f, err := os.Open(path) //nolint:gosec // a file or folder of ours
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func uri(path string) (string, error) {
	absolute, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	return "file:" + (&url.URL{Path: filepath.ToSlash(absolute)}).EscapedPath(), nil
}
