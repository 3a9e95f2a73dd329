package daemon

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// benchBag is a sound bag that is pumped down after a minute and opened after
// two hours.
func benchBag(seconds int) []sensor.Sample {
	cfg := sim.Plain()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	cfg.Bag.Pockets = []sim.Pocket{{Share: 0.005, Lag: 3 * time.Minute}}
	cfg.Part = sim.Part{NoisePa: 10, StepPa: 1, AmbientNoisePa: 2, TempNoiseC: 0.02}
	cfg.Scenario.PumpRuns = []sim.PumpRun{{From: time.Minute, To: 5 * time.Minute}}
	cfg.Scenario.Leaks = []sim.Leak{{PaPerH: 60}}
	cfg.Scenario.Release = 2 * time.Hour
	bag := sim.New(cfg)
	var all []sensor.Sample
	for i := range seconds {
		all = append(all, bag.Step(cfg.Start.Add(time.Duration(i)*time.Second)))
	}
	return all
}

func order(hold press.Num) press.DropTestOrder {
	return press.DropTestOrder{HoldS: hold, FloorPa: press.Unknown(), WithinS: press.Unknown()}
}

// TestDropTestOfTheEmptyBagIsKept: it is in the record as what it was, with its
// verdict, wakes nobody, and leaves an idle press.
func TestDropTestOfTheEmptyBagIsKept(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	d := newDaemon(t, store, nil)
	s := d.stations[0]
	for i, sample := range benchBag(2*3600 + 120) {
		if s.Take(t.Context(), sample); i == 10 {
			st, err := d.DropTest(t.Context(), order(press.Unknown()))
			// The glue of the config is done in the shed's 20 °C after hours.
			if err != nil || st.Work != press.EmptyBag || st.DropTest.HoldS < 3600 || st.DropTest.HoldS == 24*3600 {
				t.Fatalf("ordered: %v, %+v", err, st.DropTest)
			}
		}
		if n := len(s.Alerts()); n > 0 {
			t.Fatalf("second %d: %v", i, s.Alerts())
		}
	}
	run, events := lastRun(t, store)
	if run.Work != press.EmptyBag || run.Glue != "" || run.Verdict != press.Unsure || run.Ended.IsZero() {
		t.Errorf("kept as %+v", run)
	}
	if n := countOf(events, press.DropTestEnded); n != 1 || countOf(events, press.PulldownStarted) > 0 {
		t.Errorf("kept events: %v", events)
	}
	st := s.Status()
	if st.DropTest == nil || st.DropTest.Outcome != press.DropHolds || s.run.Stage() != press.Idle {
		t.Errorf("afterwards: %s, %+v", s.run.Stage(), st.DropTest)
	}
}

// A bag that counted as empty and had glue in it becomes a run with a start, and
// the time under vacuum counts.
func TestStartAfterTheDropTest(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	d := newDaemon(t, store, nil)
	for i, sample := range benchBag(3600) {
		d.stations[0].Take(t.Context(), sample)
		if i == 10 {
			if _, err := d.DropTest(t.Context(), order(24*3600)); err != nil {
				t.Fatal(err)
			}
		}
	}
	st, err := d.Start(t.Context(), press.StartOrder{Work: "sled deck 4", FloorPa: press.Unknown()})
	if err != nil || st.Work != "sled deck 4" || st.Glue != "pva-d3" || st.Stage != press.Hold {
		t.Fatalf("%v: %+v", err, st)
	}
	if !(st.Progress.Expected > 0.01) {
		t.Errorf("an hour under vacuum earned %v", st.Progress)
	}
	if _, err := d.DropTest(t.Context(), press.DropTestOrder{HoldS: 3600, FloorPa: press.Unknown(), WithinS: press.Unknown(), Empty: true}); press.Code(err) != press.WrongStage {
		t.Errorf("a run that has a name counts as empty: %v", err)
	}
}

// A run that began by itself is none when the builder says that the bag is empty.
func TestRunThatBeganByItselfIsATest(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	store := openStore(t, path)
	d := newDaemon(t, store, nil)
	for i, sample := range benchBag(700) {
		d.stations[0].Take(t.Context(), sample)
		if i == 600 {
			o := order(24 * 3600)
			o.Empty = true
			if st, err := d.DropTest(t.Context(), o); err != nil || st.Work != press.EmptyBag || st.Glue != "" {
				t.Fatalf("%v: %+v", err, st)
			}
		}
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	store = openStore(t, path)
	st := newDaemon(t, store, nil).Statuses()[0]
	if st.Work != press.EmptyBag || st.DropTest == nil || st.DropTest.State != press.DropOver || len(st.Alerts) > 0 {
		t.Errorf("after a restart: %s, %+v", st.Work, st.DropTest)
	}
	rows, err := store.Runs(t.Context(), record.Filter{Open: true})
	if err != nil || len(rows) != 1 || rows[0].Glue != "" {
		t.Errorf("kept: %+v, %v", rows, err)
	}
}
