package record_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

func TestBackupWhileWritingAndRestore(t *testing.T) {
	s, path := fresh(t)
	ctx := t.Context()
	must(t, s.PutRun(ctx, deck()))
	samples := readings(3000)
	feed(t, s, deck().ID, samples[:2000])
	backup := filepath.Join(t.TempDir(), "a backup?#%.db")

	// Somebody goes on writing while it is copied.
	var writing sync.WaitGroup
	writing.Go(func() {
		for i, sample := range samples[2000:] {
			if err := s.AddSample(ctx, deck().ID, sample); err != nil {
				t.Error(err)
			}
			if i%20 == 0 {
				if err := s.Flush(ctx); err != nil {
					t.Error(err)
				}
			}
		}
	})
	must(t, s.Backup(ctx, backup))
	writing.Wait()
	if err := s.Backup(ctx, backup); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over a backup: %v", err)
	}

	if files, err := filepath.Glob(filepath.Join(filepath.Dir(backup), "*")); err != nil || len(files) != 1 {
		t.Errorf("the backup is more than one file: %q, %v", files, err)
	}
	copied, err := record.OpenReadOnly(ctx, backup)
	must(t, err)
	counted := 0
	for _, row := range thinned(t, copied, deck().ID, time.Time{}, time.Time{}, 0) {
		counted += row.Count
	}
	must(t, copied.Close())
	if counted < 2000 {
		t.Errorf("%d samples in the backup, 2000 were taken before it", counted)
	}

	if _, err := s.Restore(ctx, backup); err == nil || !strings.Contains(err.Error(), "a run is on a press") {
		t.Errorf("restore under a run: %v", err)
	}
	ended := deck()
	ended.Ended = evening().Add(time.Hour)
	must(t, s.PutRun(ctx, ended))
	other := ended
	other.ID = "later"
	must(t, s.PutRun(ctx, other))
	before, err := s.Restore(ctx, backup)
	must(t, err)
	if _, err := s.Run(ctx, "later"); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("a run that came after the backup: %v", err)
	}
	restored := 0
	for _, row := range thinned(t, s, deck().ID, time.Time{}, time.Time{}, 0) {
		restored += row.Count
	}
	if restored != counted {
		t.Errorf("%d samples restored, want %d", restored, counted)
	}
	// It goes on from there, and again after the next start.
	must(t, s.AddEvents(ctx, press.Event{Run: deck().ID, Kind: press.Settled}))
	must(t, s.AddSample(ctx, deck().ID, samples[0]))
	must(t, s.Close())
	s = open(t, path)
	if events, err := s.Events(ctx, deck().ID); err != nil || len(events) != 1 {
		t.Errorf("events %v, %v", events, err)
	}
	old, err := record.OpenReadOnly(ctx, before)
	must(t, err)
	defer func() { must(t, old.Close()) }()
	if _, err := old.Run(ctx, "later"); err != nil {
		t.Errorf("what was there before: %v", err)
	}
}

func TestBadBackupsAreRefused(t *testing.T) {
	s, _ := fresh(t)
	content := kept(t)
	dir := t.TempDir()
	place := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		must(t, os.WriteFile(path, b, 0o600))
		return path
	}
	for path, want := range map[string]string{
		filepath.Join(dir, "none"): "no such file",
		dir:                        "this is a folder",
		place("text", []byte("a shopping list: glue, film, sealant tape, and a gasket")): "not a database",
		place("empty", nil): "another program",
		place("cut", content[:len(content)/2/1024*1024]): "malformed",
	} {
		if _, err := s.Restore(t.Context(), path); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", path, err)
		}
	}
	if _, err := s.Runs(t.Context(), record.Filter{}); err != nil {
		t.Errorf("after refused backups: %v", err)
	}
}
