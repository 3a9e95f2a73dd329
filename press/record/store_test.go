package record_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// evening is when the sled deck of the tests went under the bag.
func evening() time.Time { return time.Date(2026, 10, 17, 18, 40, 0, 0, time.UTC) }

func deck() record.Run {
	return record.Run{
		ID: "shed-20261017-184000", Site: "boatshed", Press: "shed", Work: "sled deck 3", Glue: "pva-d3",
		Sheet: []byte("name = \"pva-d3\"\n"), Layup: []byte("plies = []\n"), FloorPa: 65000, Strained: true, Plies: 4, AreaM2: 0.82,
		Notes: "birch, 1.5 mm", Started: evening(), Stage: press.Layup, Verdict: press.Unsure,
	}
}

func open(t *testing.T, path string) *record.Store {
	t.Helper()
	s, err := record.Open(t.Context(), path, record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil && !strings.Contains(err.Error(), "closed") {
			t.Error(err)
		}
	})
	return s
}

func fresh(t *testing.T) (*record.Store, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "nightclamp.db")
	return open(t, path), path
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestRunIsKeptWhole(t *testing.T) {
	s, path := fresh(t)
	want := deck()
	must(t, s.PutRun(t.Context(), want))
	want.Ended = evening().Add(17*time.Hour + 123456789)
	want.Stage, want.Verdict = press.Release, press.Pressed
	want.Final = []byte(`{"schema":1}`)
	must(t, s.PutRun(t.Context(), want))
	must(t, s.Close())

	again := open(t, path)
	got, err := again.Run(t.Context(), want.ID)
	must(t, err)
	if string(got.Sheet) != string(want.Sheet) || string(got.Final) != string(want.Final) {
		t.Errorf("sheet %q, final %q", got.Sheet, got.Final)
	}
	got.Sheet, got.Final = nil, nil
	want.Sheet, want.Final = nil, nil
	if !equalRuns(got, want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	runs, err := again.Runs(t.Context(), record.Filter{})
	must(t, err)
	if len(runs) != 1 {
		t.Errorf("%d runs, want the one put twice", len(runs))
	}
}

func equalRuns(a, b record.Run) bool {
	same := a.Started.Equal(b.Started) && a.Ended.Equal(b.Ended)
	a.Started, a.Ended, b.Started, b.Ended = time.Time{}, time.Time{}, time.Time{}, time.Time{}
	return same && a.ID == b.ID && a.Site == b.Site && a.Press == b.Press && a.Work == b.Work && a.Glue == b.Glue &&
		sameFloat(a.FloorPa, b.FloorPa) && sameFloat(a.AreaM2, b.AreaM2) && a.Strained == b.Strained &&
		a.Plies == b.Plies && a.Notes == b.Notes && a.Stage == b.Stage && a.Verdict == b.Verdict
}

func sameFloat(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }

func TestRunIsFoundByItsBeginning(t *testing.T) {
	s, _ := fresh(t)
	ctx := t.Context()
	if _, err := s.Run(ctx, "last"); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("last of none: %v", err)
	}
	for i, id := range []string{"shed-1", "shed-12", "loft-1%"} {
		r := deck()
		r.ID, r.Press, r.Started = id, id[:4], evening().Add(time.Duration(i)*time.Hour)
		r.FloorPa = math.NaN()
		if i == 0 {
			r.Ended = evening().Add(time.Minute)
		}
		must(t, s.PutRun(ctx, r))
	}
	for ask, want := range map[string]string{"shed-1": "shed-1", "shed-12": "shed-12", "l": "loft-1%", "last": "loft-1%"} {
		got, err := s.Run(ctx, ask)
		if err != nil || got.ID != want || !math.IsNaN(got.FloorPa) {
			t.Errorf("%q: %q, %v", ask, got.ID, err)
		}
	}
	if _, err := s.Run(ctx, "she"); !errors.Is(err, record.ErrAmbiguous) || !strings.Contains(err.Error(), "shed-12, shed-1") {
		t.Errorf("she: %v", err)
	}
	for _, ask := range []string{"", "%", "x"} {
		if _, err := s.Run(ctx, ask); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("%q: %v", ask, err)
		}
	}
	runs, err := s.Runs(ctx, record.Filter{Press: "shed", Open: true})
	must(t, err)
	if len(runs) != 1 || runs[0].ID != "shed-12" {
		t.Errorf("open on shed: %+v", runs)
	}
	runs, err = s.Runs(ctx, record.Filter{Limit: 2})
	must(t, err)
	if len(runs) != 2 || runs[0].ID != "loft-1%" || runs[1].ID != "shed-12" {
		t.Errorf("newest two: %+v", runs)
	}
}

func TestEventIsKeptOnce(t *testing.T) {
	s, _ := fresh(t)
	ctx := t.Context()
	must(t, s.PutRun(ctx, deck()))
	at := evening().Add(8*time.Minute + 123*time.Millisecond)
	events := []press.Event{
		{Time: at, Site: "boatshed", Press: "shed", Run: deck().ID, Kind: press.HoldStarted, VacuumPa: 84100.5},
		{Time: at, Site: "boatshed", Press: "shed", Run: deck().ID, Kind: press.LeakFound, Onset: evening(),
			RatePaPerH: 2100, RateLow: press.Unknown(), RateHigh: 2500},
		{Time: at, Press: "shed", Run: deck().ID, Kind: press.Noted, Text: "a \"quote\" and ü"},
	}
	must(t, s.AddEvents(ctx, events...))
	must(t, s.AddEvents(ctx, append(events[1:], events[0])...))
	silent := press.Event{Time: at, Press: "shed", Kind: press.SensorSilent, Quantity: "bag"}
	must(t, s.AddEvents(ctx, silent, silent))

	got, err := s.Events(ctx, deck().ID)
	must(t, err)
	if len(got) != len(events) {
		t.Fatalf("%d events, want %d", len(got), len(events))
	}
	for i := range got {
		if g, w := string(got[i].AppendJSON(nil, press.RFC3339)), string(events[i].AppendJSON(nil, press.RFC3339)); g != w {
			t.Errorf("event %d: %s\nwant %s", i, g, w)
		}
	}
	if idle, err := s.Events(ctx, ""); err != nil || len(idle) != 1 || idle[0].Quantity != "bag" {
		t.Errorf("events without a run: %+v, %v", idle, err)
	}
	err = s.AddEvents(ctx, press.Event{Run: "nobody", Kind: press.Settled})
	if !errors.Is(err, record.ErrNotFound) {
		t.Errorf("event of an unknown run: %v", err)
	}
}

func TestCommitIsAllOrNothing(t *testing.T) {
	s, _ := fresh(t)
	ctx := t.Context()
	run := deck()
	err := s.Commit(ctx, record.Batch{
		Run:        &run,
		Events:     []press.Event{{Time: evening(), Run: run.ID, Kind: press.PulldownStarted}},
		Deliveries: []press.Delivery{{Way: "phone"}}, // without a key
	})
	if err == nil || !strings.Contains(err.Error(), "without a key") {
		t.Fatalf("commit of a bad batch: %v", err)
	}
	if _, err := s.Run(ctx, run.ID); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("the run of a bad batch: %v", err)
	}
	// The row number that was learned and undone must not be used.
	if err := s.AddSample(ctx, run.ID, sensor.Blank(evening())); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("sample of an undone run: %v", err)
	}
}

func TestAlertAndOutbox(t *testing.T) {
	s, _ := fresh(t)
	ctx := t.Context()
	at := evening()
	alert := press.Alert{Schema: press.Schema, ID: "shed/margin/1", Name: "margin", Press: "shed", Run: deck().ID,
		Severity: press.Wake, State: press.AlertRaised, Text: "Top up before 04:30.", RaisedAt: at, At: at}
	delivery := press.Delivery{Key: "shed/margin/1 raised phone", AlertID: alert.ID, Way: "phone", Title: "t", Text: "x",
		Severity: press.Wake, Created: at, DueAt: at.Add(time.Minute)}
	second := delivery
	second.Key, second.DueAt = "second", time.Time{}
	must(t, s.Commit(ctx, record.Batch{Alerts: []press.Alert{alert}, Deliveries: []press.Delivery{delivery, second}}))
	must(t, s.Enqueue(ctx, delivery))

	due := func(now time.Time, want ...string) []press.Delivery {
		t.Helper()
		got, err := s.Due(ctx, now, 0)
		must(t, err)
		var keys []string
		for _, d := range got {
			keys = append(keys, d.Key)
		}
		if strings.Join(keys, "|") != strings.Join(want, "|") {
			t.Errorf("due %q, want %q", keys, want)
		}
		return got
	}
	due(at, "second")
	if got := due(at.Add(time.Minute), delivery.Key, "second"); got[0] != delivery {
		t.Errorf("got %+v\nwant %+v", got[0], delivery)
	}
	must(t, s.Retry(ctx, delivery.Key, at.Add(time.Hour), "no route"))
	must(t, s.GiveUp(ctx, "second", "refused"))
	due(at.Add(time.Minute))
	if got := due(at.Add(time.Hour), delivery.Key); got[0].Attempts != 1 || got[0].Error != "no route" {
		t.Errorf("after a failed try: %+v", got[0])
	}
	must(t, s.Sent(ctx, delivery.Key))
	must(t, s.Enqueue(ctx, delivery, second))
	if n, err := s.Pending(ctx); err != nil || n != 0 {
		t.Errorf("pending %d, %v", n, err)
	}
	if err := s.Sent(ctx, delivery.Key); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("sent twice: %v", err)
	}

	active, err := s.Alerts(ctx, record.AlertFilter{Press: "shed", Active: true})
	must(t, err)
	if len(active) != 1 || active[0] != alert {
		t.Errorf("active %+v", active)
	}
	alert.State, alert.Reason, alert.At = press.AlertCleared, "topped_up", at.Add(time.Hour)
	must(t, s.PutAlert(ctx, alert))
	if active, err = s.Alerts(ctx, record.AlertFilter{Active: true}); err != nil || len(active) != 0 {
		t.Errorf("active after clearing %+v, %v", active, err)
	}
	if all, err := s.Alerts(ctx, record.AlertFilter{Run: deck().ID}); err != nil || len(all) != 1 || all[0] != alert {
		t.Errorf("all %+v, %v", all, err)
	}
}

func TestBadPlacesSayWhatToDo(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	must(t, os.WriteFile(file, []byte("this is a shopping list and no database at all"), 0o600))
	for path, want := range map[string]string{
		filepath.Join(dir, "none", "r.db"): "there is no folder " + filepath.Join(dir, "none"),
		filepath.Join(file, "r.db"):        "choose another place",
		dir:                                "this is a folder",
		file:                               "the record is damaged",
	} {
		_, err := record.Open(t.Context(), path, record.Options{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v\nwant %q", path, err, want)
		}
	}
	_, err := record.OpenReadOnly(t.Context(), filepath.Join(dir, "none.db"))
	if err == nil || !strings.Contains(err.Error(), "there is no record yet") {
		t.Errorf("read-only without a file: %v", err)
	}
}

func TestReadOnlyBesideTheDaemon(t *testing.T) {
	s, path := fresh(t)
	ctx := t.Context()
	must(t, s.PutRun(ctx, deck()))
	beside, err := record.OpenReadOnly(ctx, path)
	must(t, err)
	defer func() { must(t, beside.Close()) }()
	r := deck()
	r.ID = "later"
	must(t, s.PutRun(ctx, r))
	if runs, err := beside.Runs(ctx, record.Filter{}); err != nil || len(runs) != 2 {
		t.Errorf("runs seen beside the daemon: %d, %v", len(runs), err)
	}
	if err := beside.PutRun(ctx, r); err == nil {
		t.Error("a record opened for reading took a run")
	}
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := beside.Runs(cancelled, record.Filter{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestHoursAreKept(t *testing.T) {
	s, path := fresh(t)
	first := evening().Truncate(time.Hour)
	for i := range 5 {
		must(t, s.PutHour(t.Context(), "shed", press.HourMean{Hour: first.Add(time.Duration(i) * time.Hour), AirC: 9.5 - float64(i)/8, GluelineC: math.NaN()}))
	}
	must(t, s.PutHour(t.Context(), "other", press.HourMean{Hour: first, AirC: 30, GluelineC: 30}))
	must(t, s.PutHour(t.Context(), "shed", press.HourMean{Hour: first, AirC: 8, GluelineC: -2.5}))
	must(t, s.Close())
	got, err := open(t, path).Hours(t.Context(), "shed", first, first.Add(3*time.Hour))
	must(t, err)
	if len(got) != 3 || got[0].AirC != 8 || got[0].GluelineC != -2.5 || got[1].AirC != 9.375 || !math.IsNaN(got[2].GluelineC) ||
		!got[2].Hour.Equal(first.Add(2*time.Hour)) {
		t.Errorf("kept %+v", got)
	}
}
