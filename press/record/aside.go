package record

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"
)

// Aside tells what became of a damaged record.
type Aside struct {
	Path     string         // the damaged file, renamed
	Cause    error          // what was wrong with it
	Salvaged map[string]int // rows carried over, by table
	Missed   []string       // the first hundred things that could not be read, for the log
}

// Aside returns what was set aside when the record was opened, or nil.
func (s *Store) Aside() *Aside { return s.aside }

// openAfresh sets the damaged file aside and carries over what can be read.
func openAfresh(ctx context.Context, path string, options Options, cause error) (*Store, error) {
	kept, err := setAside(path, time.Now().UTC())
	if err != nil {
		return nil, errors.Join(cause, err)
	}
	s, err := open(ctx, path, options)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the damaged record is now %s: %w", kept, cause), err)
	}
	s.aside = &Aside{Path: kept, Cause: cause, Salvaged: map[string]int{}}
	s.salvage(ctx)
	return s, nil
}

// setAside renames the file together with its log, which SQLite looks for
// under the file's name.
func setAside(path string, now time.Time) (string, error) {
	kept := freeName(path+".corrupt-", now)
	for _, suffix := range []string{"-wal", "-shm", ""} {
		if err := os.Rename(path+suffix, kept+suffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("set the damaged record aside: %w", err)
		}
	}
	return kept, nil
}

// freeName dates a name that is not taken yet.
func freeName(prefix string, now time.Time) string {
	dated := prefix + now.Format("20060102T150405Z")
	name := dated
	for n := 2; exists(name); n++ {
		name = fmt.Sprintf("%s-%d", dated, n)
	}
	return name
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// salvage carries over what can be read. It never fails: what is missed is told
// in s.aside.
func (s *Store) salvage(ctx context.Context) {
	from, err := connect(s.aside.Path, salvaging)
	if err != nil {
		s.miss("everything", err)
		return
	}
	defer func() {
		if err := from.Close(); err != nil {
			s.miss("close", err)
		}
	}()
	from.SetMaxOpenConns(1)
	form, err := formOf(ctx, from)
	if want, _, wrong := version(); err != nil || wrong != nil || form < 1 || form > want {
		s.miss("everything", errors.Join(err, wrong, fmt.Errorf("form %d", form)))
		return
	}
	s.carryOver(ctx, from)
}

// maxMissed keeps the list of what was missed readable.
const maxMissed = 100

func (s *Store) miss(what string, err error) {
	if len(s.aside.Missed) == maxMissed {
		return
	}
	s.aside.Missed = append(s.aside.Missed, fmt.Sprintf("%s: %v", what, err))
}
