package press

import (
	"math"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

func at(seconds float64, boot string, mono float64) sensor.Sample {
	s := sensor.Blank(time.Unix(1e9, 0).UTC().Add(time.Duration(seconds * float64(time.Second))))
	s.Boot, s.Mono = boot, time.Duration(mono*float64(time.Second))
	return s
}

// steps feeds the clock and returns the last tick.
func steps(c *clock, samples ...sensor.Sample) tick {
	var k tick
	for _, s := range samples {
		k = c.advance(s)
	}
	return k
}

func TestClockOfOneBoot(t *testing.T) {
	for _, test := range []struct {
		name       string
		next       sensor.Sample
		dt, step   float64
		gap        bool
		totalAfter float64
	}{
		{"steady", at(101, "a", 101), 1, 0, false, 101},
		{"stepped forward by an hour", at(3701, "a", 101), 1, 3600, false, 101},
		{"stepped back by an hour", at(-3499, "a", 101), 1, -3600, false, 101},
		{"slewed by half a second", at(101.5, "a", 101), 1, 0, false, 101},
		{"nothing for an hour", at(3700, "a", 3700), 3600, 0, true, 3700},
	} {
		c := clock{}
		for i := range 101 {
			c.advance(at(float64(i), "a", float64(i)))
		}
		c.bootedT = math.Inf(-1)
		k := c.advance(test.next)
		if math.Abs(k.dt-test.dt) > 1e-6 || math.Abs(k.step-test.step) > 1e-6 || k.gap != test.gap {
			t.Errorf("%s: %+v", test.name, k)
		}
		if math.Abs(c.t-test.totalAfter) > 1e-6 {
			t.Errorf("%s: the axis is at %v s, want %v", test.name, c.t, test.totalAfter)
		}
	}
}

// A board without a battery clock boots with the time of its last shutdown and
// learns a minute later that it was off for two hours.
func TestClockLearnsLateThatTheBoardWasOff(t *testing.T) {
	c := clock{}
	steps(&c, at(0, "a", 500), at(1, "a", 501))
	k := c.advance(at(2, "b", 20))
	if !k.gap || k.dt != 1 {
		t.Errorf("first sample after the boot: %+v", k)
	}
	k = steps(&c, at(3, "b", 21), at(7204, "b", 22))
	if !k.gap || math.Abs(k.dt-7201) > 1e-6 || math.Abs(k.step-7200) > 1e-6 {
		t.Errorf("when the clock is set: %+v", k)
	}
	if math.Abs(c.t-7204) > 1e-6 {
		t.Errorf("the axis is at %v s, want 7204", c.t)
	}
}

func TestClockOfAFile(t *testing.T) {
	c := clock{}
	k := steps(&c, at(0, "", 0), at(10, "", 0), at(20, "", 0))
	if k.dt != 10 || k.gap || k.step != 0 {
		t.Errorf("a row every ten seconds: %+v", k)
	}
	if k = c.advance(at(1820, "", 0)); !k.gap || k.dt != 1800 {
		t.Errorf("half an hour missing: %+v", k)
	}
	if k = c.advance(at(1800, "", 0)); k.dt != 0 || k.step != -20 {
		t.Errorf("a row from before: %+v", k)
	}
}

// A slow series is no string of gaps.
func TestClockTakesTheSeriesPace(t *testing.T) {
	c := clock{}
	for i := range 50 {
		if k := c.advance(at(float64(i)*120, "", 0)); k.gap {
			t.Fatalf("row %d of a series with a row every two minutes is a gap", i)
		}
	}
}

func TestWallIsZeroForNever(t *testing.T) {
	c := clock{}
	c.advance(at(0, "", 0))
	for _, never := range []float64{math.Inf(1), math.NaN(), 1e12} {
		if w := c.wall(never); !w.IsZero() {
			t.Errorf("the moment %v is %s", never, w)
		}
	}
	if w := c.wall(60); !w.Equal(time.Unix(1e9+60, 0)) {
		t.Errorf("a minute from the start is %s", w)
	}
}
