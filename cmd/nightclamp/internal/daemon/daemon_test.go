package daemon

import (
	"context"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// tape plays samples that are there already, and then ends.
type tape struct{ samples []sensor.Sample }

func (t *tape) Run(_ context.Context, take func(sensor.Sample)) error {
	for _, s := range t.samples {
		take(s)
	}
	return nil
}

func (*tape) Health() []press.SensorStatus {
	return []press.SensorStatus{{Name: "tape", Driver: "tape", Healthy: true}}
}

// night is the demo's night from one second to another, a sample a second.
func night(t testing.TB, from, to int) []sensor.Sample {
	t.Helper()
	cfg := sim.BoatShed()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	bag := sim.New(cfg)
	var all []sensor.Sample
	for i := range to {
		s := bag.Step(cfg.Start.Add(time.Duration(i) * time.Second))
		if i >= from {
			all = append(all, s)
		}
	}
	return all
}

func openStore(t testing.TB, path string) *record.Store {
	t.Helper()
	store, err := record.Open(t.Context(), path, record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	return store
}

// newDaemon is a daemon of one press that plays samples.
func newDaemon(t testing.TB, store *record.Store, samples []sensor.Sample) *Daemon {
	t.Helper()
	d, err := New(t.Context(), Config{
		Stations: []StationConfig{{Site: "boatshed", Press: "sled", Glue: "pva-d3"}},
		Feeds:    []Feed{&tape{samples: samples}},
		Store:    store, Link: Unlinked{}, Sheets: datasheets.Load, Log: slog.New(slog.DiscardHandler),
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func play(t testing.TB, d *Daemon) press.Status {
	t.Helper()
	if err := d.Run(t.Context()); err != nil {
		t.Fatal(err)
	}
	return d.Statuses()[0]
}

func lastRun(t testing.TB, store *record.Store) (record.Run, []press.Event) {
	t.Helper()
	run, err := store.Run(t.Context(), "last")
	if err != nil {
		t.Fatal(err)
	}
	events, err := store.Events(t.Context(), run.ID)
	if err != nil {
		t.Fatal(err)
	}
	return run, events
}

func countOf(events []press.Event, kind press.Kind) int {
	n := 0
	for _, e := range events {
		if e.Kind == kind {
			n++
		}
	}
	return n
}

// TestWholeNightIsKept plays the night without a `start`: the run begins by
// itself, and everything about it is in the record.
func TestWholeNightIsKept(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	d := newDaemon(t, store, night(t, 0, 30*3600))
	st := play(t, d)
	run, events := lastRun(t, store)
	if run.Verdict != press.Pressed || run.Stage != press.Release || run.Ended.IsZero() || run.Glue != "pva-d3" {
		t.Errorf("kept: %s in %s, ended %s, glue %s", run.Verdict, run.Stage, run.Ended, run.Glue)
	}
	for _, kind := range []press.Kind{press.PulldownStarted, press.HoldStarted, press.ToppedUp, press.PressTimeReached, press.Released} {
		if n := countOf(events, kind); n != 1 {
			t.Errorf("%d times %s", n, kind)
		}
	}
	if st.Run != run.ID || st.Verdict != press.Pressed {
		t.Errorf("afterwards the press shows run %q, %s", st.Run, st.Verdict)
	}
	if v := st.VacuumPa; v > 1e3 {
		t.Errorf("afterwards the readings are live: the bag is open, but the vacuum shows as %v Pa", v)
	}
	course, err := d.Course(t.Context(), press.CourseOrder{Press: "sled", Points: 100})
	if err != nil || course.Run != run.ID || len(course.Times) < 50 || len(course.Times) > 100 || len(course.VacuumPa) != len(course.Times) {
		t.Errorf("the course has %d points of %q (%v)", len(course.Times), course.Run, err)
	}
	if _, err := d.Course(t.Context(), press.CourseOrder{Points: mostPoints + 1}); press.Code(err) != 400 {
		t.Errorf("too many points: %v", err)
	}
	if active, err := store.Alerts(t.Context(), record.AlertFilter{Active: true}); err != nil || len(active) > 0 {
		t.Errorf("alerts that outlive the run: %v (%v)", active, err)
	}
}

// TestPickedUp stops the daemon in the middle and goes on five minutes later.
func TestPickedUp(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	const cut = 4 * 3600
	store := openStore(t, path)
	before := play(t, newDaemon(t, store, night(t, 0, cut)))
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	store = openStore(t, path)
	d := newDaemon(t, store, night(t, cut+300, 30*3600))
	if st := d.Statuses()[0]; st.Run != before.Run || st.Stage != press.Hold {
		t.Fatalf("picked up %q in %s, was %q in %s", st.Run, st.Stage, before.Run, before.Stage)
	}
	if d := float64(d.Statuses()[0].ClampedProgress.Expected - before.ClampedProgress.Expected); d < -0.002 || d > 0.002 {
		t.Errorf("picking up changed the progress by %v", d)
	}
	play(t, d)
	_, events := lastRun(t, store)
	for kind, want := range map[press.Kind]int{
		press.Gap: 1, press.PulldownStarted: 1, press.HoldStarted: 1, press.Settled: 1,
		press.PressTimeReached: 1, press.Released: 1,
	} {
		if n := countOf(events, kind); n != want {
			t.Errorf("%d times %s, want %d", n, kind, want)
		}
	}
}

// TestOrders gives a builder's orders to a run that began by itself.
func TestOrders(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	samples := night(t, 0, 2*3600)
	d := newDaemon(t, store, samples)
	ctx := t.Context()
	for _, err := range []error{
		second(d.Release(ctx, press.MarkOrder{})),
		second(d.Note(ctx, press.MarkOrder{Text: "nothing there"})),
		second(d.SetGlue(ctx, press.GlueOrder{Glue: "pur-1c"})),
	} {
		if press.Code(err) != press.WrongStage {
			t.Errorf("an order on an idle press: %v", err)
		}
	}
	if _, err := d.Note(ctx, press.MarkOrder{Press: "none"}); press.Code(err) != press.NotFound {
		t.Errorf("a press that is not there: %v", err)
	}
	play(t, d)
	strained := false
	st, err := d.Start(ctx, press.StartOrder{Work: "sled deck 4", Glue: "pur-1c", FloorPa: 60e3, Strained: &strained, Plies: 9})
	if err != nil {
		t.Fatal(err)
	}
	if st.Work != "sled deck 4" || st.Glue != "pur-1c" || st.FloorPa != 60e3 || st.Stage != press.Hold {
		t.Errorf("a start after the pump: %q %q %v in %s", st.Work, st.Glue, st.FloorPa, st.Stage)
	}
	if st.ClampedProgress.Expected < 0.1 {
		t.Errorf("the two hours before are not counted: %v", st.ClampedProgress)
	}
	if _, err := d.Start(ctx, press.StartOrder{Work: "another", FloorPa: press.Unknown()}); press.Code(err) != press.WrongStage {
		t.Errorf("a second start: %v", err)
	}
	if _, err := d.SetGlue(ctx, press.GlueOrder{Glue: "pva-d33"}); press.Code(err) != press.BadOrder {
		t.Errorf("an adhesive that is not there: %v", err)
	}
	if st, err = d.SetGlue(ctx, press.GlueOrder{Glue: "pva-d3"}); err != nil || st.Glue != "pva-d3" {
		t.Errorf("the adhesive corrected: %v, %v", st.Glue, err)
	}
	if st, err = d.Release(ctx, press.MarkOrder{Text: "gave up"}); err != nil || st.Verdict != press.OpenedEarly {
		t.Errorf("released: %s, %v", st.Verdict, err)
	}
	run, events := lastRun(t, store)
	if run.Work != "sled deck 4" || run.Plies != 9 || run.Ended.IsZero() || run.Glue != "pva-d3" {
		t.Errorf("kept: %+v", run)
	}
	if countOf(events, press.Noted) != 3 || countOf(events, press.Released) != 1 {
		t.Errorf("kept events: %v", events)
	}
}

func second(_ press.Status, err error) error { return err }

// TestRecordThatFails: what the record did not take is kept and written later.
func TestRecordThatFails(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	store := openStore(t, path)
	d := newDaemon(t, store, nil)
	s := d.stations[0]
	samples := night(t, 0, 3600)
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	for _, sample := range samples[:1800] {
		s.Take(t.Context(), sample)
	}
	if len(s.owed.Events) == 0 {
		t.Fatal("nothing is owed although the record is closed")
	}
	s.shared.store = openStore(t, path)
	for _, sample := range samples[1800:] {
		s.Take(t.Context(), sample)
	}
	_, events := lastRun(t, s.shared.store)
	if len(s.owed.Events) != 0 || countOf(events, press.PulldownStarted) != 1 || countOf(events, press.HoldStarted) != 1 {
		t.Errorf("still owed: %v; kept: %v", s.owed.Events, events)
	}
}

func TestWatchersAreToldAndLeave(t *testing.T) {
	var w watchers
	ctx, cancel := context.WithCancel(t.Context())
	gone, stays := w.subscribe(ctx), w.subscribe(t.Context())
	w.tell()
	w.tell() // a second word is dropped, not waited for
	<-gone
	<-stays
	cancel()
	if _, open := <-gone; open {
		t.Error("a watcher whose context ended was told something")
	}
	w.tell()
	<-stays
	w.close()
	if _, open := <-stays; open {
		t.Error("a watcher was told something after the end")
	}
	if _, open := <-w.subscribe(t.Context()); open {
		t.Error("who comes after the end is told something")
	}
}
