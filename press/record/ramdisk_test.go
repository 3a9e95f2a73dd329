package record_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// sparing opens a record whose samples wait on a ramdisk for an hour.
func sparing(t *testing.T, path, folder string) (s *record.Store, warned *[]error) {
	t.Helper()
	warned = new([]error)
	s, err := record.Open(t.Context(), path, record.Options{
		Flush: time.Hour, Ramdisk: folder, Warn: func(err error) { *warned = append(*warned, err) },
	})
	must(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s, warned
}

func onDisk(t *testing.T, path string) int {
	t.Helper()
	s, err := record.OpenReadOnly(t.Context(), path)
	must(t, err)
	defer func() { must(t, s.Close()) }()
	return len(thinned(t, s, deck().ID, time.Time{}, time.Time{}, 0))
}

// waitingFile is the one file on the ramdisk.
func waitingFile(t *testing.T, folder string) string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "nightclamp.db-*.waiting"))
	must(t, err)
	if len(files) != 1 {
		t.Fatalf("on the ramdisk are %q, want one file", files)
	}
	return files[0]
}

// What waits on the ramdisk outlives a daemon that is killed, and only once.
func TestRamdiskOutlivesTheDaemon(t *testing.T) {
	path, folder := filepath.Join(t.TempDir(), "nightclamp.db"), t.TempDir()
	s, warned := sparing(t, path, folder)
	must(t, s.PutRun(t.Context(), deck()))
	feed(t, s, deck().ID, readings(18000)) // half an hour at 10 Hz: 179 full buckets and one that is not
	if n := onDisk(t, path); n != 0 {
		t.Fatalf("%d buckets are on the disk before the flush", n)
	}
	file := waitingFile(t, folder)
	content, err := os.ReadFile(file)
	must(t, err)

	// The daemon is gone without a word, in the middle of writing a bucket.
	must(t, os.WriteFile(file, content[:len(content)-20], 0o600))
	again, more := sparing(t, path, folder)
	rows := thinned(t, again, deck().ID, time.Time{}, time.Time{}, 0)
	if len(rows) != 178 {
		t.Errorf("%d buckets were carried over, want 178", len(rows))
	}
	for i, row := range rows {
		if row.Count != 100 || i > 0 && !row.First.Equal(rows[i-1].First.Add(10*time.Second)) {
			t.Fatalf("bucket %d: %d samples from %v", i, row.Count, row.First)
		}
	}
	if info, err := os.Stat(file); err != nil || info.Size() != 0 {
		t.Errorf("the ramdisk is not empty after that: %v, %v", info, err)
	}
	if len(*warned)+len(*more) > 0 {
		t.Errorf("warnings %v %v", *warned, *more)
	}

	// Once more, with nothing new: the same.
	third, _ := sparing(t, path, folder)
	if n := len(thinned(t, third, deck().ID, time.Time{}, time.Time{}, 0)); n != 178 {
		t.Errorf("after another start %d buckets", n)
	}
}

// An event is written at once, and takes with it what waits; a bucket that was
// half full then is written anew.
func TestRamdiskIsEmptiedByAnEvent(t *testing.T) {
	path, folder := filepath.Join(t.TempDir(), "nightclamp.db"), t.TempDir()
	s, _ := sparing(t, path, folder)
	must(t, s.PutRun(t.Context(), deck()))
	samples := readings(1200)
	feed(t, s, deck().ID, samples[:450])
	must(t, s.AddEvents(t.Context(), press.Event{Time: evening(), Run: deck().ID, Press: "shed", Kind: press.Noted}))
	if n := onDisk(t, path); n != 5 {
		t.Errorf("%d buckets on the disk after an event, want 5", n)
	}
	feed(t, s, deck().ID, samples[450:])
	again, _ := sparing(t, path, folder)
	count := 0
	for _, row := range thinned(t, again, deck().ID, time.Time{}, time.Time{}, 0) {
		count += row.Count
	}
	if count != 1100 { // all but the bucket that was being filled
		t.Errorf("%d samples are kept, want 1100", count)
	}
}

// Without its ramdisk the record goes on, writes more often, and says so.
func TestRamdiskThatIsNotThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "nightclamp.db")
	s, warned := sparing(t, path, filepath.Join(t.TempDir(), "none"))
	must(t, s.PutRun(t.Context(), deck()))
	feed(t, s, deck().ID, readings(6000))
	if n := onDisk(t, path); n < 40 {
		t.Errorf("%d buckets are on the disk after ten minutes", n)
	}
	if len(*warned) != 1 || !strings.Contains((*warned)[0].Error(), "every 2m0s") || !strings.Contains((*warned)[0].Error(), "none") {
		t.Errorf("warned of %v", *warned)
	}
}

// What another run left, or another program, is no concern of this one.
func TestRamdiskOfStrangers(t *testing.T) {
	folder := t.TempDir()
	path, other := filepath.Join(t.TempDir(), "nightclamp.db"), filepath.Join(t.TempDir(), "nightclamp.db")
	first, _ := sparing(t, other, folder)
	must(t, first.PutRun(t.Context(), deck()))
	feed(t, first, deck().ID, readings(6000))
	theirs := waitingFile(t, folder)
	second, warned := sparing(t, path, folder)
	must(t, second.PutRun(t.Context(), deck()))
	if n := onDisk(t, path); n != 0 || len(*warned) > 0 {
		t.Errorf("%d buckets came from a record that is not ours, warned of %v", n, *warned)
	}
	again, _ := sparing(t, other, folder)
	if n := len(thinned(t, again, deck().ID, time.Time{}, time.Time{}, 0)); n != 59 {
		t.Errorf("%d buckets of the first record were carried over, want 59: the second must leave them alone", n)
	}
	must(t, os.WriteFile(theirs, []byte(strings.Repeat("a shopping list ", 100)), 0o600))
	_, warned = sparing(t, other, folder)
	if len(*warned) > 0 {
		t.Errorf("warned of %v", *warned)
	}
}
