package press

import (
	"math"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/sensor"
)

// warmed plays hours of a bag under vacuum whose glue line and air are given, °C,
// a sample a minute; NaN is missing.
func warmed(run *Run, hours float64, at func(h float64) (glueC, airC float64)) {
	begin := time.Date(2026, 10, 5, 18, 0, 0, 0, time.UTC)
	for m := 0.0; m <= 60*hours; m++ {
		s := sensor.Blank(begin.Add(time.Duration(m) * time.Minute))
		s.Ambient, s.Bag = 100e3, 16e3+math.Mod(m, 7)
		s.GlueLine, s.Air = at(m / 60)
		run.Advance(s)
	}
}

// A glue line under a blanket stays as much warmer than the air as it is now; one
// that only follows the air goes where the air goes.
func TestTheGlueLineFollowsTheAirAhead(t *testing.T) {
	run := New(Config{Press: "bench", Sheet: glue(), Stack: cure.GlueLineConfig{Lag: 3600, Heated: true}})
	warmed(run, 12, func(h float64) (float64, float64) { return 12 + 13*(1-math.Exp(-h/2)), 12 })
	if got := run.warmthAhead()(6 * 3600).Expected; math.Abs(got-25) > 0.8 {
		t.Errorf("a bag heated to 25 °C is expected at %.1f °C in six hours", got)
	}
	run = New(Config{Press: "bench", Sheet: glue(), Stack: cure.GlueLineConfig{Lag: 2 * 3600}})
	warmed(run, 3, func(h float64) (float64, float64) { return 18 - 6*math.Exp(-h/2), 18 }) // a cold stack in a warm room
	f := run.warmthAhead()
	if now, later := f(0).Expected, f(4*3600).Expected; math.Abs(now-16.66) > 0.1 || math.Abs(later-17.8) > 0.3 {
		t.Errorf("a cold stack in a room of 18 °C: %.1f °C now, %.1f °C in four hours", now, later)
	}
}

// The part that reads the air may answer some seconds after the others; one that
// falls silent later leaves the forecast where it was.
func TestTheAirMayBeLateAndLeave(t *testing.T) {
	run := New(Config{Press: "bench", Sheet: glue()})
	warmed(run, 4, func(h float64) (float64, float64) {
		switch {
		case h < 0.1 || h > 2:
			return 15, math.NaN()
		}
		return 15, 14
	})
	if !run.warm.ofAir {
		t.Error("the shop does not learn the air")
	}
	if got := run.warmthAhead()(3600).Expected; math.Abs(got-15) > 0.6 {
		t.Errorf("without news of the air the glue line is expected at %.1f °C", got)
	}
}
