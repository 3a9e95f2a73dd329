package press

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/sensor"
)

// glue takes an hour at any temperature above 10 °C, and has 10 min of closed
// assembly time. It is invented.
func glue() *cure.Sheet {
	return &cure.Sheet{
		Name: "test", MinUseC: 10, BelowMin: cure.Paused, StrainedFactor: 1,
		PressTime:      []cure.Point{{AtC: 10, Hours: [2]float64{1, 1}}, {AtC: 30, Hours: [2]float64{1, 1}}},
		ClosedAssembly: []cure.Limit{{AtC: 20, Minutes: [2]float64{10, 10}}},
	}
}

// script is a press whose vacuum and temperature a test writes down.
type script struct {
	run    *Run
	t      int
	events []Event
}

func newScript(cfg Config) *script { return &script{run: New(cfg)} }

// hold keeps vacuum (Pa) and glue line (°C) for so many seconds.
func (s *script) hold(seconds int, vacuum, glueC float64) { s.ramp(seconds, vacuum, vacuum, glueC) }

func (s *script) ramp(seconds int, from, to, glueC float64) {
	for i := range seconds {
		sample := sensor.Blank(time.Unix(1e9+int64(s.t), 0).UTC())
		wobble := float64(s.t*7919%41) - 20 // no two neighbours are alike
		sample.Ambient, sample.GlueLine = 101325, glueC
		sample.Bag = 101325 - (from + (to-from)*float64(i)/float64(seconds)) + wobble
		s.events = append(s.events, s.run.Advance(sample)...)
		s.t++
	}
}

func (s *script) count(kind Kind) int {
	n := 0
	for _, e := range s.events {
		if e.Kind == kind {
			n++
		}
	}
	return n
}

func (s *script) first(t *testing.T, kind Kind) Event {
	t.Helper()
	i := slices.IndexFunc(s.events, func(e Event) bool { return e.Kind == kind })
	if i < 0 {
		t.Fatalf("no %s among %v", kind, s.events)
	}
	return s.events[i]
}

func TestStagesWithoutStart(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	s.hold(60, 0, 20)
	if s.run.Stage() != Idle || len(s.events) > 0 {
		t.Fatalf("an open bag is in %s with %v", s.run.Stage(), s.events)
	}
	s.ramp(120, 0, 85e3, 20)
	if s.run.Stage() != Pulldown || s.run.ID() == "" {
		t.Fatalf("while the pump draws the run is in %s", s.run.Stage())
	}
	s.hold(120, 85e3, 20)
	if s.run.Stage() != Hold {
		t.Fatalf("after the pump stopped the run is in %s", s.run.Stage())
	}
	s.hold(3700, 85e3, 20)
	reached := s.first(t, PressTimeReached)
	// The floor of 65 kPa is passed after 60 + 92 s; the press time is an hour.
	if at := reached.Time.Sub(time.Unix(1e9, 0)); math.Abs(at.Seconds()-(60+92+3600)) > 5 {
		t.Errorf("press time reached after %s", at)
	}
	s.hold(20, 0, 20)
	if s.run.Stage() != Release || s.first(t, Released).Verdict != Pressed {
		t.Errorf("opened when done: %s, %v", s.run.Stage(), s.events)
	}
	if s.count(BelowFloor)+s.count(VacuumLost)+s.count(MarginGone) > 0 {
		t.Errorf("a bag that is opened when done alarmed somebody: %v", s.events)
	}
}

func TestLayupCountsDown(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	s.hold(2, 0, 20)
	s.events = append(s.events, s.run.Start(time.Unix(1e9+1, 0).UTC())...)
	limit := s.first(t, LayupStarted).ClosedLimit
	if want := time.Unix(1e9+601, 0); !limit.Equal(want) {
		t.Errorf("assembly limit %s, want %s", limit, want)
	}
	s.hold(410, 0, 20)
	if s.count(AssemblyShort) != 0 {
		t.Error("warned too early")
	}
	s.hold(20, 0, 20)
	if s.count(AssemblyShort) != 1 {
		t.Error("not warned three minutes before the limit")
	}
	s.hold(180, 0, 20)
	if s.count(AssemblyOver) != 1 {
		t.Error("nothing said when the assembly time ran out")
	}
}

func TestAssemblyTimeEndsUnderVacuum(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	s.hold(2, 0, 20)
	s.events = append(s.events, s.run.Start(time.Unix(1e9+1, 0).UTC())...)
	s.hold(300, 0, 20)
	s.ramp(60, 0, 85e3, 20)
	s.hold(900, 85e3, 20)
	if s.count(AssemblyShort)+s.count(AssemblyOver) != 0 {
		t.Errorf("the stack was under vacuum in time: %v", s.events)
	}
}

// TestFloor: progress counts only at or above the floor.
func TestFloor(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	s.hold(1200, 85e3, 20)
	s.ramp(600, 85e3, 60e3, 20)
	s.hold(1200, 60e3, 20)
	below := s.first(t, BelowFloor)
	if below.VacuumPa > 65e3 || below.VacuumPa < 64e3 {
		t.Errorf("below the floor at %v Pa", below.VacuumPa)
	}
	st := s.run.Status()
	// 1200 s and 480 s of the ramp are above 65 kPa; all of 3000 s is earned.
	if got := float64(st.ClampedProgress.Expected); math.Abs(got-1680.0/3600) > 0.005 {
		t.Errorf("clamped progress %v", got)
	}
	if got := float64(st.Progress.Expected); math.Abs(got-2999.0/3600) > 0.005 {
		t.Errorf("progress %v", got)
	}
	if st.Verdict != WillNotHold || s.count(MarginGone) != 1 {
		t.Errorf("below the floor the verdict is %s, margin_gone said %d times", st.Verdict, s.count(MarginGone))
	}
	s.ramp(60, 60e3, 85e3, 20)
	s.hold(1800, 85e3, 20)
	if s.count(AboveFloor) != 1 || s.count(ToppedUp) != 1 {
		t.Errorf("pumped up again: %d above_floor, %d topped_up", s.count(AboveFloor), s.count(ToppedUp))
	}
	up := s.first(t, ToppedUp)
	if up.FromPa > 61e3 || up.ToPa < 84e3 {
		t.Errorf("topped up from %v to %v Pa", up.FromPa, up.ToPa)
	}
}

func TestColdPausesAndIsTold(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	s.hold(600, 85e3, 15)
	s.hold(600, 85e3, 8)
	s.hold(600, 85e3, 15)
	cold := s.first(t, TooCold)
	if cold.GluelineC != 8 || cold.LimitC != 10 {
		t.Errorf("too cold at %v, limit %v", cold.GluelineC, cold.LimitC)
	}
	if s.count(WarmEnough) != 1 {
		t.Errorf("%d times warm enough", s.count(WarmEnough))
	}
	if got := float64(s.run.Status().Progress.Expected); math.Abs(got-1200.0/3600) > 0.01 {
		t.Errorf("progress %v, want a third: nothing is earned in the cold", got)
	}
}

// TestHeatMustCome: a glue whose film is lost in the cold has its grace, less the
// time that warmth takes to reach it; one that waits has as long as the bag holds.
func TestHeatMustCome(t *testing.T) {
	lost := *glue()
	lost.BelowMin, lost.Grace = cure.Lost, 3600
	s := newScript(Config{Press: "bench", Sheet: &lost, Stack: cure.GlueLineConfig{Lag: 1800}})
	s.hold(60, 85e3, 15)
	s.hold(840, 85e3, 9)
	st := s.run.Status()
	// The fall of 6 K is believed after a minute, so the film has been cold for 780 s.
	// To 10 °C from 9 °C in air of 20 °C, by the first-order law: 1800 s · ln(11/10).
	want := 3600 - 780 - 1800*math.Log(1.1)
	if got := st.HeatBy.Sub(st.Time).Seconds(); st.HeatFor != HeatForFilm || math.Abs(got-want) > 15 {
		t.Errorf("film: %v s for %q, want %v", got, st.HeatFor, want)
	}
	if got := st.FilmLostAt.Sub(st.Time).Seconds(); math.Abs(got-2820) > 65 {
		t.Errorf("the film is expected to be lost in %v s, want the 2820 that its grace leaves", got)
	}
	s.hold(2900, 85e3, 9)
	if st = s.run.Status(); !st.Lost || !st.HeatBy.IsZero() {
		t.Errorf("lost %v, heat by %v: nothing can be saved any more", st.Lost, st.HeatBy)
	}

	paused := *glue()
	paused.BelowMin = cure.Paused
	s = newScript(Config{Press: "bench", Sheet: &paused})
	s.hold(60, 85e3, 15)
	s.hold(600, 85e3, 8)
	if st = s.run.Status(); !st.HeatBy.IsZero() {
		t.Errorf("heat by %v for a film that waits in a bag that holds", st.HeatBy)
	}
}

func TestGapIsToldAndBridgedOnlyWhenTheBagHeld(t *testing.T) {
	for _, test := range []struct {
		after    float64 // vacuum after the gap, Pa
		credited bool
	}{{84e3, true}, {86e3, false}, {60e3, false}} {
		s := newScript(Config{Press: "bench", Sheet: glue()})
		s.hold(600, 85e3, 20)
		s.t += 1200
		s.hold(60, test.after, 20)
		gap := s.first(t, Gap)
		if d := gap.To.Sub(gap.From); math.Abs(d.Seconds()-1201) > 1 {
			t.Errorf("gap of %s", d)
		}
		credited := s.run.Status().ClampedProgress.Expected > 0.3
		if credited != test.credited {
			t.Errorf("from 85 kPa to %v kPa over the gap: clamped progress %v", test.after/1e3, s.run.Status().ClampedProgress)
		}
	}
}

func TestAbandonedRunCloses(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	s.hold(600, 85e3, 20)
	s.hold(7300, 0, 20)
	if s.run.Stage() != Release || s.first(t, Released).Verdict != OpenedEarly {
		t.Errorf("a bag left open for two hours: %s", s.run.Stage())
	}
	if s.count(VacuumLost) != 1 {
		t.Errorf("%d times vacuum_lost", s.count(VacuumLost))
	}
}

func TestOrdersOutOfPlaceDoNothing(t *testing.T) {
	s := newScript(Config{Press: "bench", Sheet: glue()})
	if e := s.run.Release(); e != nil {
		t.Errorf("releasing nothing: %v", e)
	}
	s.hold(600, 85e3, 20)
	if e := s.run.Start(time.Unix(1e9+600, 0)); e != nil {
		t.Errorf("starting a run that is under way: %v", e)
	}
	if e := s.run.Release(); len(e) != 1 || e[0].Verdict != OpenedEarly {
		t.Errorf("released after ten minutes: %v", e)
	}
	if e := s.run.Release(); e != nil {
		t.Errorf("released twice: %v", e)
	}
}

// A run without an adhesive is watched for its vacuum.
func TestWithoutGlue(t *testing.T) {
	s := newScript(Config{Press: "bench"})
	s.hold(600, 85e3, 20)
	st := s.run.Status()
	if st.Progress.Expected.Known() || !st.PressTimeAt.Expected.IsZero() || st.Glue != "" {
		t.Errorf("a press time without a glue: %+v", st)
	}
	if e := s.run.Release(); len(e) != 1 || e[0].Verdict != Unsure {
		t.Errorf("released: %v", e)
	}
}
