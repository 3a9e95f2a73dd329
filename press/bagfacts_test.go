package press_test

import (
	"math"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// handPumped is a bag of 5 litres on a hand pump of 0.3 litres a stroke, pumped up
// again with twelve strokes after an hour and a half.
func handPumped(leak float64, cfg press.Config) *bench {
	b := newBench(leak, func(c *sim.Config) {
		c.Bag.Pockets, c.Bag.WaterActivity = nil, 0
		c.Pump = sim.Pump{StrokeL: 0.3, StrokesPerMin: 40, UltimatePa: 5e3}
		c.Scenario.PumpRuns = []sim.PumpRun{
			{From: time.Minute, To: 2*time.Minute + 30*time.Second},
			{From: 90 * time.Minute, To: 90*time.Minute + 18*time.Second}, // twelve strokes
		}
	})
	cfg.Site, cfg.Press = "boatshed", "sled"
	b.run = press.New(cfg)
	return b
}

// The free volume from strokes is that of the simulated bag, within its bounds,
// whether the strokes are said before they show or after; a miscount is forgiven.
func TestVolumeFromStrokes(t *testing.T) {
	for _, c := range []struct{ said, strokes int }{{5390, 12}, {5500, 12}, {5500, 13}} {
		b := handPumped(4000, press.Config{StrokeM3: 0.3e-3})
		b.play(c.said)
		b.events = append(b.events, b.run.TopUp("pumped", c.strokes)...)
		b.play(5700 - c.said)
		got := b.run.Status()
		if v := got.FreeVolume; got.FreeVolumeFrom != press.VolumeStrokes || !(v.Low < 5e-3 && v.High > 5e-3 && v.High/v.Low < 1.4) {
			t.Errorf("%d strokes: free volume %+v from %q", c.strokes, v, got.FreeVolumeFrom)
		}
	}
	b := handPumped(4000, press.Config{})
	b.play(5500)
	b.run.TopUp("pumped", 12)
	if st := b.run.Status(); st.FreeVolumeFrom != "" || st.FreeVolume.Expected.Known() || st.LeakFlow.Expected.Known() {
		t.Errorf("without the volume of a stroke the bag has %+v", st.FreeVolume)
	}
}

// A hole of known size in a bag of known volume is told with its size: the choked
// flow of an ideal nozzle, ISO 9300 with a discharge coefficient of one.
func TestLeakAsAHole(t *testing.T) {
	const diameter = 12e-6
	b := newBench(0, func(c *sim.Config) { c.Scenario.Leaks = []sim.Leak{{HoleUm: diameter * 1e6, From: time.Hour}} })
	b.run = press.New(press.Config{FreeVolumeM3: 5e-3})
	b.play(2 * 3600)
	st := b.run.Status()
	if h := st.LeakHole; math.Abs(float64(h.Expected)/diameter-1) > 0.05 || !(h.Low < diameter && h.High > diameter) {
		t.Errorf("a hole of %v m is told as %+v", diameter, h)
	}
	if f := st.LeakFlow; math.Abs(float64(f.Expected)/(float64(st.LeakRate.Expected)/3600*5e-3)-1) > 1e-9 {
		t.Errorf("a flow of %+v with a rate of %+v", f, st.LeakRate)
	}
}

// A pump that keeps the vacuum between two marks tells the leak by its rests.
func TestCyclingPump(t *testing.T) {
	const leak = 3000
	b := newBench(leak, func(c *sim.Config) {
		c.Scenario.PumpRuns = []sim.PumpRun{
			{From: time.Minute, To: 6 * time.Minute},
			{From: 6 * time.Minute, To: 12 * time.Hour, ToVacuumPa: 84e3, OnBelowPa: 82e3},
		}
	})
	b.run = press.New(press.Config{})
	b.play(3600)
	if b.run.Status().PumpCycle != nil {
		t.Error("told of a cycle before there were three rests")
	}
	b.play(5 * 3600)
	got := b.run.Status().PumpCycle
	if got == nil || got.Rests < 5 || math.Abs(float64(got.Rate.Expected)/leak-1) > 0.08 || got.Rate.Low > leak || got.Rate.High < leak {
		t.Fatalf("a leak of %d Pa/h is told as %+v", leak, got)
	}
	if !(got.Duty > 0.001 && got.Duty < 0.05) {
		t.Errorf("the pump runs for %v of the time", got.Duty)
	}
	if st := b.run.Status(); st.LineReason != "" {
		t.Errorf("the line counts as blocked: %s", st.LineReason)
	}
}

// The leak of the bag is kept as it was known best.
func TestBagLeakIsKeptWhereItIsKnownBest(t *testing.T) {
	b := newBench(300)
	b.play(4 * 3600)
	got := b.run.Status().BagLeak
	if !(got.Low < 300 && got.High > 300) || got.High-got.Low > 150 {
		t.Errorf("a leak of 300 Pa/h: %+v", got)
	}
}
