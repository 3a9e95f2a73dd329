package pump

import (
	"fmt"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Config is what a pump may do. The zero value of a field is its default.
type Config struct {
	StartBelow float64       // vacuum, Pa, below which the pump starts
	StopAbove  float64       // vacuum, Pa, at which it stops
	MinOff     time.Duration // it rests at least so long; 0: DefaultMinOff
	MaxRun     time.Duration // it runs at most so long; 0: DefaultMaxRun
	MaxStarts  int           // in any hour; 0: DefaultMaxStarts
}

// The defaults. Judgement, no source: small vacuum pumps are rated for a few
// starts an hour, and a bag that needs more of them has a leak to be found.
const (
	DefaultMinOff    = 5 * time.Minute
	DefaultMaxRun    = 3 * time.Minute
	DefaultMaxStarts = 6
)

func (c Config) withDefaults() Config {
	if c.MinOff <= 0 {
		c.MinOff = DefaultMinOff
	}
	if c.MaxRun <= 0 {
		c.MaxRun = DefaultMaxRun
	}
	if c.MaxStarts <= 0 {
		c.MaxStarts = DefaultMaxStarts
	}
	return c
}

const (
	lowFor     = 10.0   // s the vacuum must be low before the pump starts
	trustAfter = 30.0   // s the pressure must have been believed again
	gainWithin = 45.0   // s in which the vacuum must have grown …
	gainLeast  = 300.0  // … by so much, Pa: more than noise and a drift
	restsAfter = 15.0   // s after a stop in which hose and smoothing settle
	runsOnFor  = 120.0  // s after that in which growth means that the pump runs on …
	runsOnGain = 1500.0 // … when it is so much, Pa
	blindAfter = 30.0   // s between two samples from which what was in between is not known
	hour       = 3600.0
)

// Reason is why a pump was switched, or is locked, in a few words.
type Reason string

// The reasons.
const (
	Low        Reason = "the vacuum is low"
	Reached    Reason = "the vacuum is reached"
	NotHolding Reason = "the run is not in its hold"
	Disbelief  Reason = "the bag's pressure is not known for sure"
	Blind      Reason = "samples were missing"
	BagOpen    Reason = "the bag is open"
	NoGain     Reason = "it ran and the vacuum did not grow: it did not start, a valve is shut, or the bag leaks as fast as it draws"
	RanLong    Reason = "it ran as long as it may and did not reach the vacuum"
	TooOften   Reason = "it started too often in an hour: it hides a leak, or its valve leaks back"
	RunsOn     Reason = "the vacuum grew on after it was switched off: its relay sticks, so pull its plug"
	SwitchFail Reason = "its relay cannot be switched"
	Restarted  Reason = "the daemon was restarted"
	Attended   Reason = "somebody has looked after it"
)

// Controller switches one pump. Its zero value is not ready: use [New].
type Controller struct {
	cfg    Config
	t      float64 // of the newest sample; NaN: there was none
	on     bool
	locked Reason // empty: it may run

	sinceT   float64   // of the last start or stop
	from     float64   // vacuum at the last start
	rested   float64   // vacuum a while after the last stop; NaN: not yet, or not to be watched
	watching bool      // for a pump that runs on
	lowT     float64   // since when the vacuum is low; NaN: it is not
	trustT   float64   // since when the pressure is believed; NaN: it is not
	starts   []float64 // of the last hour
}

// New returns a controller whose pump is off, and stays off for Config.MinOff: what
// it did before is not known.
func New(cfg Config) *Controller {
	return &Controller{cfg: cfg.withDefaults(), t: math.NaN(), sinceT: math.NaN(), rested: math.NaN(), lowT: math.NaN(), trustT: math.NaN()}
}

// Change is something that the controller decided.
type Change struct {
	Switched bool   // the pump is switched, to On
	On       bool   // what it is switched to
	Locked   bool   // it is locked from now on
	Why      Reason // for either
}

// On reports whether the pump is to run.
func (c *Controller) On() bool { return c.on }

// Locked is why the pump may not run; empty: it may.
func (c *Controller) Locked() Reason { return c.locked }

// Starts is how often it started in the last hour.
func (c *Controller) Starts() int { return len(c.starts) }

// Lock keeps the pump off until [Controller.Free].
func (c *Controller) Lock(why Reason) []Change {
	var out []Change
	if c.on {
		out = c.stop(why)
	}
	if c.locked == "" {
		c.locked = why
		out = append(out, Change{Locked: true, Why: why})
	}
	return out
}

// Free lets a locked pump run again, after its rest.
func (c *Controller) Free() {
	c.locked, c.starts, c.watching = "", nil, false
}

// Advance takes what the run knows at a sample and returns what comes of it.
func (c *Controller) Advance(now press.Clamp) []Change {
	blind := now.T-c.t > blindAfter
	c.t = now.T
	if math.IsNaN(c.sinceT) {
		c.sinceT = now.T
	}
	c.follow(now, blind)
	if c.on {
		return c.whileOn(now, blind)
	}
	return c.whileOff(now)
}

// follow keeps the times since when things hold.
func (c *Controller) follow(now press.Clamp, blind bool) {
	c.lowT = since(c.lowT, now.T, now.VacuumPa < c.cfg.StartBelow, blind)
	c.trustT = since(c.trustT, now.T, now.Believed, blind)
	for len(c.starts) > 0 && now.T-c.starts[0] > hour {
		c.starts = c.starts[1:]
	}
}

// since is t from the moment on at which holds became true, NaN while it is not.
func since(before, t float64, holds, afresh bool) float64 {
	switch {
	case !holds:
		return math.NaN()
	case afresh || math.IsNaN(before):
		return t
	}
	return before
}

func (c *Controller) whileOn(now press.Clamp, blind bool) []Change {
	ran := now.T - c.sinceT
	switch {
	case blind:
		return c.stop(Blind)
	case !now.Holding:
		return c.stop(NotHolding)
	case !now.Believed:
		return c.stop(Disbelief)
	case now.Open:
		return c.Lock(BagOpen)
	case now.VacuumPa >= c.cfg.StopAbove:
		return c.stop(Reached)
	case ran >= gainWithin && now.VacuumPa-c.from < gainLeast:
		return c.Lock(NoGain)
	case ran >= c.cfg.MaxRun.Seconds():
		return c.Lock(RanLong)
	}
	return nil
}

func (c *Controller) whileOff(now press.Clamp) []Change {
	if c.runsOn(now) {
		c.watching = false
		return c.Lock(RunsOn)
	}
	if c.locked != "" || !now.Holding {
		return nil
	}
	if now.Believed && now.Open {
		return c.Lock(BagOpen)
	}
	ready := now.T-c.lowT >= lowFor && now.T-c.trustT >= trustAfter && now.T-c.sinceT >= c.cfg.MinOff.Seconds()
	switch {
	case !ready:
		return nil
	case len(c.starts) >= c.cfg.MaxStarts:
		return c.Lock(TooOften)
	}
	c.on, c.sinceT, c.from, c.watching = true, now.T, now.VacuumPa, false
	c.starts = append(c.starts, now.T)
	return []Change{{Switched: true, On: true, Why: Low}}
}

// runsOn reports whether the vacuum grows although the pump is off. Hose, valve
// and smoothing have a while to come to rest first.
func (c *Controller) runsOn(now press.Clamp) bool {
	if !c.watching || !now.Believed {
		return false
	}
	off := now.T - c.sinceT
	switch {
	case off < restsAfter:
		return false
	case math.IsNaN(c.rested):
		c.rested = now.VacuumPa
	case off > restsAfter+runsOnFor:
		c.watching = false
	}
	return now.VacuumPa-c.rested > runsOnGain
}

func (c *Controller) stop(why Reason) []Change {
	c.on, c.sinceT, c.watching, c.rested = false, c.t, true, math.NaN()
	return []Change{{Switched: true, On: false, Why: why}}
}

// Check reports what is wrong with a config for a floor and a room, all in Pa.
func (c Config) Check(floor, room float64) error {
	c = c.withDefaults()
	switch {
	case c.StartBelow <= floor:
		return fmt.Errorf("start_below is %.1f kPa, and the floor %.1f: start above the floor, or the clamp is lost before the pump runs", c.StartBelow/1e3, floor/1e3)
	case c.StopAbove < c.StartBelow+1e3:
		return fmt.Errorf("stop_above is %.1f kPa, and start_below %.1f: keep 1 kPa and more between them, or the pump chatters", c.StopAbove/1e3, c.StartBelow/1e3)
	case c.StopAbove > 0.97*room:
		return fmt.Errorf("stop_above is %.1f kPa, which no usual pump reaches in a room of %.1f", c.StopAbove/1e3, room/1e3)
	case c.MinOff < 30*time.Second || c.MinOff > 2*time.Hour:
		return fmt.Errorf("min_off is %s: use 30s to 2h", c.MinOff)
	case c.MaxRun < 10*time.Second || c.MaxRun > 15*time.Minute:
		return fmt.Errorf("max_run is %s: use 10s to 15m", c.MaxRun)
	case c.MaxStarts > 30:
		return fmt.Errorf("max_starts is %d an hour: use 1 to 30", c.MaxStarts)
	}
	return nil
}

// Derived fills StartBelow and StopAbove where they are 0: 4 and 12 kPa above the
// floor, as far as the room lets.
func (c Config) Derived(floor, room float64) Config {
	if c.StartBelow == 0 {
		c.StartBelow = floor + 4e3
	}
	if c.StopAbove == 0 {
		c.StopAbove = math.Max(c.StartBelow+1e3, math.Min(floor+12e3, 0.93*room))
	}
	return c
}
