package past_test

import (
	"context"
	"encoding/json"
	"errors"
	"iter"
	"math"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/dashboards/web/past"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

var _ web.Records = (*past.Records)(nil)

// kept plays the boat shed's night (invented) to the engine and keeps it in a
// real record, one sample in ten seconds. It returns the engine's own progress
// at the end.
func kept(t testing.TB) (*record.Store, string, press.Num) {
	t.Helper()
	store, err := record.Open(t.Context(), filepath.Join(t.TempDir(), "record.db"), record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := store.Close(); err != nil {
			t.Error(err)
		}
	})
	sheet, text, err := datasheets.Load("uf-two-part")
	if err != nil {
		t.Fatal(err)
	}
	cfg := sim.BoatShed()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	bag := sim.New(cfg)
	run := press.New(press.Config{Site: "boatshed", Press: "deck", Work: "Birch sled deck", Sheet: sheet, FloorPa: 65000})
	keep := func(events []press.Event, final []byte) {
		t.Helper()
		if run.ID() == "" {
			return
		}
		st := run.Status()
		err := store.Commit(context.Background(), record.Batch{Events: events, Run: &record.Run{
			ID: run.ID(), Site: "boatshed", Press: "deck", Work: "Birch sled deck", Glue: "uf-two-part", Sheet: text,
			FloorPa: 65000, Strained: true, Started: st.Started, Stage: st.Stage, Verdict: st.Verdict, Final: final,
		}})
		if err != nil {
			t.Fatal(err)
		}
	}
	run.Advance(bag.Step(cfg.Start))
	keep(run.Start(cfg.Start), nil)
	for at := 10 * time.Second; at < 28*time.Hour; at += 10 * time.Second {
		s := bag.Step(cfg.Start.Add(at))
		if err := store.AddSample(context.Background(), run.ID(), s); err != nil {
			t.Fatal(err)
		}
		if events := run.Advance(s); len(events) > 0 {
			keep(events, nil)
		}
	}
	st := run.Status()
	final, err := json.Marshal(st)
	if err != nil {
		t.Fatal(err)
	}
	keep(nil, final)
	return store, run.ID(), st.ClampedProgress.Expected
}

func TestRunsOfTheRecord(t *testing.T) {
	store, id, progress := kept(t)
	r := past.New(store, units.Display{})
	runs, err := r.Runs(t.Context(), "deck", 10)
	if err != nil || len(runs) != 1 || runs[0].ID != id || runs[0].Work != "Birch sled deck" || runs[0].Sentence == "" {
		t.Fatalf("%v %+v", err, runs)
	}
	if none, err := r.Runs(t.Context(), "keel", 10); err != nil || len(none) != 0 {
		t.Errorf("%v %+v", err, none)
	}
	run, events, err := r.Run(t.Context(), id)
	if err != nil || run.ID != id || len(events) < 4 || events[0].Event.Kind != press.LayupStarted {
		t.Fatalf("%v %+v %d events", err, run, len(events))
	}
	for _, e := range events {
		if e.Words == "" || strings.Contains(e.Words, "_") {
			t.Errorf("%s is told as %q", e.Event.Kind, e.Words)
		}
	}

	s, err := r.RunHistory(t.Context(), id, time.Time{}, time.Time{}, 300)
	if err != nil || len(s.Times) < 200 || len(s.Times) > 300 || len(s.Vacuum.Mean) != len(s.Times) || len(s.Clamped) != len(s.Times) {
		t.Fatalf("%v, %d times, %d vacuum, %d progress", err, len(s.Times), len(s.Vacuum.Mean), len(s.Clamped))
	}
	last := press.Num(0)
	for i, c := range s.Clamped {
		if c.Known() && c < last {
			t.Fatalf("the progress goes back at %v", s.Times[i])
		}
		last = press.Num(c.Or(float64(last)))
	}
	if math.Abs(float64(last-progress)) > 0.01 {
		t.Errorf("the record says %v was earned, the engine said %v", last, progress)
	}
}

func TestNoSuchRun(t *testing.T) {
	store, _, _ := kept(t)
	r := past.New(store, units.Display{})
	if _, _, err := r.Run(t.Context(), "nothing"); press.Code(err) != press.NotFound {
		t.Errorf("got %v", err)
	}
	if _, err := r.RunHistory(t.Context(), "nothing", time.Time{}, time.Time{}, 10); press.Code(err) != press.NotFound {
		t.Errorf("got %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := r.Runs(ctx, "", 10); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// The chart of a run that has ended is remembered, whoever asks; that of an open
// one, or of a stretch, is not.
func TestEndedRunsAreRemembered(t *testing.T) {
	store, id, _ := kept(t)
	c := &counting{Store: store}
	r := past.New(c, units.Display{})
	var first, again web.Series
	for _, into := range []*web.Series{&first, &again} {
		var err error
		if *into, err = r.RunHistory(t.Context(), id, time.Time{}, time.Time{}, 50); err != nil {
			t.Fatal(err)
		}
	}
	run, err := store.Run(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	want := int64(1)
	if run.Ended.IsZero() {
		want = 2
	}
	if n := c.read.Load(); n != want || len(first.Times) != len(again.Times) {
		t.Errorf("the samples were read %d times, want %d", n, want)
	}
	run.Ended = run.Started.Add(time.Hour)
	if err := store.PutRun(t.Context(), run); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, err := r.RunHistory(t.Context(), id, time.Time{}, time.Time{}, 50); err != nil {
			t.Fatal(err)
		}
	}
	if n := c.read.Load(); n != want+1 {
		t.Errorf("after the end the samples were read %d times", n-want)
	}
	if _, err := r.RunHistory(t.Context(), id, run.Started, time.Time{}, 50); err != nil || c.read.Load() != want+2 {
		t.Errorf("a stretch of it: %d readings (%v)", c.read.Load()-want-1, err)
	}
}

// counting counts how often samples are read.
type counting struct {
	*record.Store
	read atomic.Int64
}

func (c *counting) Thinned(ctx context.Context, run string, from, to time.Time, most int) iter.Seq2[record.Thin, error] {
	c.read.Add(1)
	return c.Store.Thinned(ctx, run, from, to, most)
}

func BenchmarkRunHistory(b *testing.B) {
	store, id, _ := kept(b)
	for b.Loop() {
		r := past.New(store, units.Display{}) // remembers nothing
		if _, err := r.RunHistory(b.Context(), id, time.Time{}, time.Time{}, 600); err != nil {
			b.Fatal(err)
		}
	}
}
