package press

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

const (
	// stepSeen is the disagreement of wall and monotonic clock, s, from which a
	// step of the wall clock is spoken of. Slewing stays far below it.
	stepSeen = 2.0
	// gapAtLeast and gapTimes say from when a pause between two samples is a
	// gap: both a while, and many times the usual interval of the series.
	gapAtLeast = 90.0
	gapTimes   = 10.0
	// lateStep is how long after a boot, s, a forward step of the wall clock is
	// taken for the time the machine was off. A board without a battery clock
	// boots with the time of its last shutdown and learns the true one later.
	lateStep = 900.0
)

// clock makes one steady time axis, in seconds from the first sample, out of
// wall clocks that step and machines that reboot.
type clock struct {
	started  bool
	t        float64 // s from the first sample, never goes back
	now      time.Time
	mono     time.Duration
	boot     string
	interval float64 // usual interval of the series, s
	bootedT  float64 // t of the first sample of this boot, when it was not the first
	broken   bool    // nobody watched since the newest sample
}

// tick is what the clock has to say about one sample.
type tick struct {
	dt   float64 // s since the sample before; 0 for the first
	gap  bool    // nothing was recorded in between
	from time.Time
	step float64 // s by which the wall clock was stepped; 0 when it was not
}

func (c *clock) advance(s sensor.Sample) tick {
	if !c.started {
		c.started, c.bootedT = true, math.Inf(-1)
		c.keep(s)
		return tick{}
	}
	k := tick{from: c.now}
	wall := s.Time.Sub(c.now).Seconds()
	switch {
	case s.Boot != "" && s.Boot == c.boot:
		k.dt = (s.Mono - c.mono).Seconds()
		if step := wall - k.dt; math.Abs(step) > stepSeen {
			k.step = step
		}
	case wall < 0:
		k.step = wall
	default:
		k.dt = wall
	}
	rebooted := s.Boot != c.boot && c.boot != ""
	if k.step > 0 && c.t-c.bootedT < lateStep {
		k.dt += k.step // the board was off for longer than it knew at first
		k.gap = true
	}
	k.dt = max(k.dt, 0)
	k.gap = k.gap || rebooted || c.broken || c.isGap(k.dt)
	c.broken = false
	c.t += k.dt
	if rebooted {
		c.bootedT = c.t
	}
	if !k.gap {
		c.learn(k.dt)
	}
	c.keep(s)
	return k
}

func (c *clock) isGap(dt float64) bool {
	if c.interval == 0 {
		return dt > 600
	}
	return dt > max(gapAtLeast, gapTimes*c.interval)
}

// learn follows the usual interval; a series may change its pace once, as when
// a run picked up from the record goes on live.
func (c *clock) learn(dt float64) {
	if c.interval == 0 {
		c.interval = dt
		return
	}
	c.interval += (dt - c.interval) / 16
}

func (c *clock) keep(s sensor.Sample) {
	c.now, c.mono, c.boot = s.Time, s.Mono, s.Boot
}

// wall is the wall-clock time of t on the axis, by the clock as it is now. It
// is the zero time for a t that never comes.
func (c *clock) wall(t float64) time.Time {
	ahead := t - c.t
	if math.IsNaN(ahead) || math.Abs(ahead) > farthest {
		return time.Time{}
	}
	return c.now.Add(time.Duration(ahead * float64(time.Second)))
}

// farthest is what a time.Duration and a person's patience can hold, s.
const farthest = 400 * 24 * 3600.0
