package daemon

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// benched is a record with a run that came out of the bag at the moment that is
// returned.
func benched(t *testing.T, store *record.Store, id string, ended time.Time) {
	t.Helper()
	must(t, store.PutRun(t.Context(), record.Run{
		ID: id, Site: "boatshed", Press: "sled", Work: id, Started: ended.Add(-15 * time.Hour), Ended: ended,
		FloorPa: 65000, Stage: press.Release, Verdict: press.Pressed,
	}))
}

// life is a daemon that nobody runs, with its board, at a moment of its own.
type life struct {
	*Daemon
	board *alert.Board
	now   time.Time
	told  []string
}

func newLife(t *testing.T, store *record.Store, now time.Time, buildLog string) *life {
	t.Helper()
	l := &life{now: now}
	d, err := New(t.Context(), Config{
		Stations: []StationConfig{{Site: "boatshed", Press: "sled"}}, Feeds: []Feed{&tape{}},
		Store: store, Link: Unlinked{}, Sheets: datasheets.Load, Log: slog.New(slog.DiscardHandler),
		Keeping: Keeping{BuildLog: buildLog, Now: func() time.Time { return l.now }},
	})
	must(t, err)
	l.Daemon = d
	l.board = alert.NewBoard("boatshed", units.Display{}, alert.OutcomeCheck(d.AskedOutcome), alert.BuildLogCheck(d.BuildLogFailing))
	active, err := store.Alerts(t.Context(), record.AlertFilter{Press: alert.BoardName, Active: true})
	must(t, err)
	l.board.Restore(active)
	return l
}

// pass lets time pass in steps of ten minutes; the keeper and the board look.
func (l *life) pass(t *testing.T, store *record.Store, span time.Duration) {
	t.Helper()
	for end := l.now.Add(span); l.now.Before(end); l.now = l.now.Add(10 * time.Minute) {
		must(t, l.keeper.round(t.Context()))
		changed := l.board.Look(l.now)
		must(t, store.Commit(t.Context(), record.Batch{Alerts: changed}))
		for _, a := range changed {
			if a.State == press.AlertRaised {
				l.told = append(l.told, a.Text)
			}
		}
	}
}

// Each question is put once, a day and a week later, also over restarts and beside
// another one; an answer ends it.
func TestQuestionsArePutOnce(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	out := time.Date(2026, 10, 17, 9, 0, 0, 0, time.UTC)
	benched(t, store, "deck-1", out)
	benched(t, store, "deck-2", out.Add(time.Hour))
	l := newLife(t, store, out.Add(23*time.Hour), "")
	l.pass(t, store, 50*time.Minute)
	if len(l.told) != 0 || len(l.Statuses()[0].Todo) != 2 || l.Statuses()[0].Todo[0].After != "release" {
		t.Fatalf("on the first day: %q, %+v", l.told, l.Statuses()[0].Todo)
	}
	l.pass(t, store, 30*time.Minute)
	if len(l.told) != 1 || !strings.Contains(l.told[0], "deck-1") || !strings.Contains(l.told[0], "a day") {
		t.Fatalf("after a day: %q", l.told)
	}
	again := newLife(t, store, l.now, "") // the power was off for a moment
	again.pass(t, store, 3*time.Hour)
	if len(again.told) != 1 || !strings.Contains(again.told[0], "deck-2") {
		t.Fatalf("beside the first: %q", again.told)
	}
	must(t, store.PutOutcome(t.Context(), "deck-2", record.NewOutcome(record.AfterDay), false))
	again.pass(t, store, 5*24*time.Hour+20*time.Hour)
	if len(again.told) != 1 || len(again.Statuses()[0].Todo) != 1 {
		t.Fatalf("asked again: %q, %+v", again.told, again.Statuses()[0].Todo)
	}
	again.pass(t, store, 12*time.Hour)
	if len(again.told) != 3 || !strings.Contains(again.told[1], "a week") || !strings.Contains(again.told[2], "deck-2") {
		t.Fatalf("after a week: %q", again.told)
	}
	for _, id := range []string{"deck-1", "deck-2"} {
		must(t, store.PutOutcome(t.Context(), id, record.NewOutcome(record.AfterWeek), false))
	}
	again.pass(t, store, 20*time.Minute)
	if active := again.board.List(); len(active) != 0 || len(again.Statuses()[0].Todo) != 0 {
		t.Errorf("answered, and yet %+v", active)
	}
}

// A minute of pumping is a test of the bag, not a blank.
func TestShortRunsAreNotAskedAbout(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	out := time.Date(2026, 10, 17, 9, 0, 0, 0, time.UTC)
	must(t, store.PutRun(t.Context(), record.Run{ID: "test", Press: "sled", Started: out.Add(-time.Minute), Ended: out, Verdict: press.OpenedEarly}))
	l := newLife(t, store, out.Add(48*time.Hour), "")
	l.pass(t, store, 30*time.Minute)
	if len(l.told) != 0 || len(l.Statuses()[0].Todo) != 0 {
		t.Errorf("%q, %+v", l.told, l.Statuses()[0].Todo)
	}
}

// A night is in the build log as soon as the bag was opened; what cannot be written
// is kept, said, and written when it can be.
func TestBuildLogIsWrittenOnRelease(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	place := t.TempDir()
	blocked := filepath.Join(place, "log")
	must(t, os.WriteFile(blocked, []byte("a file where the folder should be"), 0o600))
	var sparse []sensor.Sample // one in ten seconds is enough to be released by
	for i, sample := range night(t, 0, 30*3600) {
		if i%10 == 0 {
			sparse = append(sparse, sample)
		}
	}
	d := newDaemon(t, store, sparse)
	d.keeper.BuildLog = blocked
	play(t, d)
	run, _ := lastRun(t, store)
	if due, err := store.Unlogged(t.Context()); err != nil || len(due) != 1 || due[0].Run != run.ID {
		t.Fatalf("due: %+v, %v", due, err)
	}
	l := newLife(t, store, run.Ended.Add(time.Minute), blocked)
	l.pass(t, store, 20*time.Minute)
	if len(l.told) != 1 || !strings.Contains(l.told[0], "build log") {
		t.Errorf("told %q", l.told)
	}
	if todo := l.Statuses()[0].Todo; len(todo) != 2 || todo[0].Kind != press.TodoBuildLog || !strings.Contains(todo[0].Text, blocked) {
		t.Errorf("open: %+v", todo)
	}
	must(t, os.Remove(blocked))
	l.pass(t, store, 30*time.Minute)
	if _, err := os.Stat(filepath.Join(blocked, run.ID, "record.md")); err != nil {
		t.Error(err)
	}
	if due, err := store.Unlogged(t.Context()); err != nil || len(due) != 0 || len(l.board.List()) != 0 || l.BuildLogFailing() != "" {
		t.Errorf("still due: %+v, %v", due, err)
	}
}

// The keeper ends with the daemon.
func TestKeeperEnds(t *testing.T) {
	d := newDaemon(t, openStore(t, filepath.Join(t.TempDir(), "n.db")), nil)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	d.keeper.run(ctx)
}

// Old runs are thinned only where the config asks for it.
func TestOldRunsAreThinnedWhenAsked(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	out := time.Date(2026, 8, 1, 9, 0, 0, 0, time.UTC)
	for _, id := range []string{"old", "older"} {
		benched(t, store, id, out)
		for i := range 60 {
			must(t, store.AddSample(t.Context(), id, sensor.Sample{Time: out.Add(time.Duration(i-900) * 10 * time.Second), Bag: 16000, Ambient: 101000}))
		}
	}
	must(t, store.Flush(t.Context()))
	l := newLife(t, store, out.Add(90*24*time.Hour), "")
	thinned := func() (n int) {
		runs, err := store.Runs(t.Context(), record.Filter{})
		must(t, err)
		for _, r := range runs {
			if r.Thinned {
				n++
			}
		}
		return n
	}
	for _, c := range []struct {
		after time.Duration
		size  int64
		want  int
	}{{0, 0, 0}, {100 * 24 * time.Hour, 0, 0}, {0, 1 << 30, 0}, {0, 1, 2}} {
		l.keeper.ThinAfter, l.keeper.MaxBytes = c.after, c.size
		l.pass(t, store, 7*time.Hour)
		if n := thinned(); n != c.want {
			t.Errorf("%+v: %d are thinned", c, n)
		}
	}
}
