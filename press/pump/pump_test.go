package pump_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/pump"
)

// bag is a bag with a pump, and what may be wrong with them. The pump draws the
// vacuum towards its own end vacuum; the leak lets it go.
type bag struct {
	vacuum   float64 // Pa
	leak     float64 // Pa/s
	end      float64 // the pump's end vacuum, Pa
	tau      float64 // s in which it comes near it
	dead     bool    // it does not start
	welded   bool    // its relay sticks once it was on
	backflow float64 // Pa/s more while it is off
	stuck    bool    // the sensor is found stuck
	ran      bool
	holding  bool
}

func newBag() *bag {
	return &bag{vacuum: 76e3, leak: 1500.0 / 3600, end: 90e3, tau: 60, holding: true}
}

func (b *bag) step(on bool) {
	on = on && !b.dead
	b.ran = b.ran || on
	if on || b.welded && b.ran {
		b.vacuum += (b.end - b.vacuum) / b.tau
	} else {
		b.vacuum -= b.backflow
	}
	b.vacuum = math.Max(0, b.vacuum-b.leak)
}

// at is what a run would tell of the bag.
func (b *bag) at(t float64) press.Clamp {
	c := press.Clamp{T: t, VacuumPa: b.vacuum, Holding: b.holding, Believed: !b.stuck, Open: b.vacuum < 5e3}
	if b.stuck {
		c.VacuumPa = math.NaN()
	}
	return c
}

func config() pump.Config {
	return pump.Config{StartBelow: 72e3, StopAbove: 80e3}
}

// told is a change and when it came.
type told struct {
	t float64
	pump.Change
}

// play runs bag and controller against each other, a sample a second, and lets
// meddle change things.
func play(c *pump.Controller, b *bag, seconds int, meddle func(t int)) (changes []told, least float64) {
	least = math.Inf(1)
	for t := range seconds {
		if meddle != nil {
			meddle(t)
		}
		b.step(c.On())
		least = math.Min(least, b.vacuum)
		for _, change := range c.Advance(b.at(float64(t))) {
			changes = append(changes, told{float64(t), change})
		}
	}
	return changes, least
}

func count(changes []told, what func(told) bool) int {
	n := 0
	for _, c := range changes {
		if what(c) {
			n++
		}
	}
	return n
}

func started(c told) bool { return c.Switched && c.On }

// TestKeepsTheVacuum leaves a bag that leaks 1.5 kPa/h for twelve hours.
func TestKeepsTheVacuum(t *testing.T) {
	c := pump.New(config())
	changes, least := play(c, newBag(), 12*3600, nil)
	if least < 71.9e3 {
		t.Errorf("the vacuum fell to %.0f Pa", least)
	}
	// From 80 to 72 kPa at 1.5 kPa/h takes 5.3 h; the first 4 kPa 2.7 h.
	if n := count(changes, started); n != 2 {
		t.Errorf("%d starts: %v", n, changes)
	}
	for i, change := range changes {
		want := pump.Change{Switched: true, On: i%2 == 0, Why: pump.Low}
		if i%2 == 1 {
			want.Why = pump.Reached
		}
		if change.Change != want {
			t.Errorf("change %d is %+v", i, change)
		}
	}
	if c.Locked() != "" {
		t.Errorf("locked: %s", c.Locked())
	}
}

// lockedBy plays a fault and checks that the pump is locked for the reason, is off,
// and stays off.
func lockedBy(t *testing.T, b *bag, want pump.Reason, meddle func(int)) []told {
	t.Helper()
	c := pump.New(config())
	changes, _ := play(c, b, 4*3600, meddle)
	if c.Locked() != want || c.On() {
		t.Fatalf("locked by %q, on %v: %v", c.Locked(), c.On(), changes)
	}
	at := slices.IndexFunc(changes, func(c told) bool { return c.Locked })
	if at != len(changes)-1 || changes[at].Why != want {
		t.Errorf("the lock is not the last change: %v", changes)
	}
	return changes
}

func TestPumpThatDoesNotStart(t *testing.T) {
	b := newBag()
	b.vacuum, b.dead = 72.5e3, true
	changes := lockedBy(t, b, pump.NoGain, nil)
	if ran := changes[1].t - changes[0].t; ran < 40 || ran > 60 {
		t.Errorf("given up after %v s", ran)
	}
}

func TestPumpThatIsTooWeak(t *testing.T) {
	b := newBag()
	b.vacuum, b.end = 72.5e3, 78e3
	changes := lockedBy(t, b, pump.RanLong, nil)
	if ran := changes[1].t - changes[0].t; ran != pump.DefaultMaxRun.Seconds() {
		t.Errorf("it ran for %v s", ran)
	}
}

func TestRelayThatSticks(t *testing.T) {
	b := newBag()
	b.vacuum, b.welded = 72.5e3, true
	lockedBy(t, b, pump.RunsOn, nil)
}

// TestValveThatLeaksBack has a pump that loses all it has won within minutes.
func TestValveThatLeaksBack(t *testing.T) {
	b := newBag()
	b.vacuum, b.backflow = 72.5e3, 20
	changes := lockedBy(t, b, pump.TooOften, nil)
	if n := count(changes, started); n != pump.DefaultMaxStarts {
		t.Errorf("%d starts before it gave up", n)
	}
	for i, change := range changes {
		if i > 1 && started(change) && change.t-changes[i-1].t < pump.DefaultMinOff.Seconds() {
			t.Errorf("it rested for %v s only", change.t-changes[i-1].t)
		}
	}
}

func TestBagThatOpens(t *testing.T) {
	b := newBag()
	lockedBy(t, b, pump.BagOpen, func(s int) {
		if s == 1800 {
			b.leak = 9000
		}
	})
}

// TestBagThatOpensWhileItRuns opens the bag in the middle of a top-up.
func TestBagThatOpensWhileItRuns(t *testing.T) {
	b := newBag()
	b.vacuum = 72.5e3
	c := pump.New(config())
	var changes []told
	more, _ := play(c, b, 4*3600, func(int) {
		if c.On() {
			b.leak = 5000
		}
	})
	changes = append(changes, more...)
	if c.Locked() != pump.BagOpen || c.On() || count(changes, started) != 1 {
		t.Errorf("locked by %q: %v", c.Locked(), changes)
	}
}

// TestSensorThatSticks takes the pressure away while the pump runs: it stops at
// once, rests, and waits until the pressure has been believed for a while.
func TestSensorThatSticks(t *testing.T) {
	b := newBag()
	b.vacuum = 72.5e3
	c := pump.New(config())
	lostAt, backAt := -1, -1
	changes, _ := play(c, b, 3*3600, func(s int) {
		switch {
		case c.On() && lostAt < 0:
			lostAt, b.stuck = s, true
		case lostAt > 0 && s == lostAt+1200:
			backAt, b.stuck = s, false
		}
	})
	if len(changes) < 3 || changes[1].Why != pump.Disbelief || changes[1].t > float64(lostAt)+1 {
		t.Fatalf("the pressure went at %d: %v", lostAt, changes)
	}
	if again := changes[2]; !started(again) || again.t < float64(backAt)+30 {
		t.Errorf("believed again at %d, started at %v", backAt, again)
	}
	if c.Locked() != "" {
		t.Errorf("locked: %s", c.Locked())
	}
}

func TestOnlyInTheHold(t *testing.T) {
	b := newBag()
	b.vacuum, b.holding = 60e3, false
	c := pump.New(config())
	if changes, _ := play(c, b, 3600, nil); len(changes) > 0 {
		t.Errorf("outside the hold: %v", changes)
	}
	b.vacuum, b.holding = 72e3, true
	changes, _ := play(c, b, 3600, func(int) { b.holding = !c.On() })
	if len(changes) < 2 || changes[1].Why != pump.NotHolding {
		t.Errorf("the hold ended under a running pump: %v", changes)
	}
}

// TestGapStopsIt lets samples be missing while the pump runs.
func TestGapStopsIt(t *testing.T) {
	b := newBag()
	b.vacuum = 71e3
	c := pump.New(config())
	at := 0.0
	for ; !c.On() && at < 1000; at++ {
		c.Advance(b.at(at))
	}
	if !c.On() {
		t.Fatal("it does not start")
	}
	changes := c.Advance(b.at(at + 600))
	if len(changes) != 1 || changes[0].Why != pump.Blind || c.On() {
		t.Errorf("after a gap: %v", changes)
	}
}

// TestFresh rests first: what the pump did before a restart is not known.
func TestFresh(t *testing.T) {
	b := newBag()
	b.vacuum = 71e3
	changes, _ := play(pump.New(config()), b, 400, nil)
	if len(changes) == 0 || changes[0].t < pump.DefaultMinOff.Seconds() {
		t.Errorf("%v", changes)
	}
}

func TestFree(t *testing.T) {
	b := newBag()
	b.vacuum, b.dead = 72.5e3, true
	c := pump.New(config())
	play(c, b, 4*3600, nil)
	c.Free()
	b.dead = false
	var on bool
	for s := range 3600 {
		b.step(c.On())
		c.Advance(b.at(float64(4*3600 + s)))
		on = on || c.On()
	}
	if !on || c.Locked() != "" || b.vacuum < 72e3 {
		t.Errorf("freed and mended: ran %v, locked %q, %.0f Pa", on, c.Locked(), b.vacuum)
	}
}

func TestCheck(t *testing.T) {
	for name, c := range map[string]pump.Config{
		"at the floor":  {StartBelow: 65e3, StopAbove: 80e3},
		"chatters":      {StartBelow: 72e3, StopAbove: 72.5e3},
		"out of reach":  {StartBelow: 72e3, StopAbove: 100e3},
		"no rest":       {StartBelow: 72e3, StopAbove: 80e3, MinOff: time.Second},
		"runs for ever": {StartBelow: 72e3, StopAbove: 80e3, MaxRun: time.Hour},
		"starts":        {StartBelow: 72e3, StopAbove: 80e3, MaxStarts: 99},
	} {
		if err := c.Check(65e3, 101325); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	for _, room := range []float64{101325, 84.6e3} { // sea level, and 1500 m (US Standard Atmosphere 1976)
		c := pump.Config{}.Derived(65e3, room)
		if err := c.Check(65e3, room); err != nil {
			t.Errorf("the derived thresholds %+v in %v: %v", c, room, err)
		}
	}
}
