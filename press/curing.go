package press

import (
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// warmBy is how far above the minimum use temperature, K, the glue line must be
// to be warm enough again.
const warmBy = 0.5

// curing follows the glue. Press time is earned from the moment the pressure is
// reached, never from pump start.
type curing struct {
	sheet    *cure.Sheet
	options  cure.Options
	progress *cure.Progress
	reached  bool // the vacuum was at the floor once
	done     bool
	clamped  bool // at the newest look
	cold     bool
	coldest  float64 // coldest glue line of the run, °C
	earlyT   float64 // t at which the press time can have been earned at the earliest; NaN: not yet
	doneT    float64 // t at which it is expected to have been earned
	lateT    float64 // t at which it surely has; NaN: not yet
	track    track
	// unclampedFrom is the progress at which the clamp was first lost; NaN: never.
	unclampedFrom float64
}

func newCuring(cfg Config) curing {
	c := curing{sheet: cfg.Sheet, options: cure.Options{Strained: !cfg.Relaxed}, coldest: math.NaN(), earlyT: math.NaN(), lateT: math.NaN(), unclampedFrom: math.NaN()}
	if cfg.Sheet != nil {
		c.progress = cure.NewProgress(cfg.Sheet, c.options)
	}
	return c
}

func (c *curing) chosen() bool { return c.sheet != nil }

// clampedNow reports whether the vacuum is known to be at or above the floor.
func (r *Run) clampedNow() bool {
	return r.vac.n > 0 && r.vac.value >= r.floor && !math.IsNaN(r.bag.value) && !r.hose.blocked
}

// advanceCure earns press time for the interval up to now.
func (r *Run) advanceCure(k tick) {
	c := &r.cure
	glueC := r.glueTemperature()
	if !c.chosen() || r.stage == Idle || r.Closed() {
		return
	}
	c.coldest = minKnown(c.coldest, glueC)
	r.judgeCold(glueC)
	clamped := r.clampedNow()
	c.clamped = clamped
	if !c.reached && !clamped {
		c.progress.Wait(r.clock.t, r.glueNow.C)
		return
	}
	c.reached = true
	if k.gap {
		c.progress.Bridge(r.clock.t, c.coldest, r.heldThrough())
	}
	c.progress.AddBand(r.clock.t, r.glueNow.C, clamped)
	if !clamped && !c.done && math.IsNaN(c.unclampedFrom) {
		c.unclampedFrom = c.earned()
	}
	clampedProgress := c.progress.State().Clamped
	c.track.add(r.clock.t, r.clock.now, clampedProgress.Expected)
	if math.IsNaN(c.earlyT) && clampedProgress.High >= 1 {
		c.earlyT = r.clock.t
	}
	if math.IsNaN(c.lateT) && clampedProgress.Low >= 1 {
		c.lateT = r.clock.t
	}
	if !c.done && clampedProgress.Expected >= 1 {
		r.pressTimeReached()
	}
}

func (r *Run) pressTimeReached() {
	c := &r.cure
	c.done, c.doneT, r.hold.needsForecast = true, r.clock.t, true
	left := r.remaining(r.warmthAhead())
	r.emit(Event{Kind: PressTimeReached, Early: r.clock.wall(c.earlyT), Late: r.ahead(left.late)})
}

// judgeCold compares the glue line with the sheet's minimum use temperature
// from the first glue on: a wet film is spoiled by cold under clamp or not.
func (r *Run) judgeCold(glueC float64) {
	c := &r.cure
	if math.IsNaN(glueC) || c.done {
		return
	}
	limit := c.sheet.MinUseC
	switch {
	case !c.cold && glueC < limit:
		c.cold, r.hold.needsForecast = true, true
		r.emit(Event{Kind: TooCold, GluelineC: Num(glueC), LimitC: Num(limit)})
	case c.cold && glueC > limit+warmBy:
		c.cold, r.hold.needsForecast = false, true
		r.emit(Event{Kind: WarmEnough, GluelineC: Num(glueC), LimitC: Num(limit)})
	}
}

// remaining is how long until the press time is earned, s from now, along f.
func (r *Run) remaining(f cure.Forecast) timeBand {
	c := &r.cure
	if !c.chosen() {
		never := math.Inf(1)
		return timeBand{never, never, never}
	}
	b := c.progress.Remaining(f)
	return timeBand{b.Low, b.Expected, b.High}
}

// earned is the share of the press time that the glue has had, clamped or not.
func (c *curing) earned() float64 {
	if !c.chosen() {
		return 0
	}
	return c.progress.State().Earned.Expected
}

// closing is the verdict on a run that ends now. What the glue earned after the
// bag opened is not counted.
func (r *Run) closing() Verdict {
	c := &r.cure
	if r.stage != Hold {
		return OpenedEarly
	}
	if !c.chosen() {
		return Unsure
	}
	st, earned := c.progress.State(), c.earned()
	if r.hold.lost {
		earned = r.hold.lostEarned
	}
	switch {
	case st.Lost:
		return FilmLost
	case st.Clamped.Expected >= 1:
		return Pressed
	case earned >= 1:
		return PartClamped
	}
	return OpenedEarly
}

func minKnown(a, b float64) float64 {
	if math.IsNaN(a) || b < a {
		return b
	}
	return a
}

// heldThrough reports whether the bag was surely clamped during the gap that
// just ended: it was above the floor before and after, and nobody pumped in
// between, for the vacuum did not grow. A vacuum does not come back by itself.
func (r *Run) heldThrough() bool {
	before, now := r.vacBefore, r.amb.value-r.bag.value
	return before >= r.floor && now >= r.floor && now <= before+backAbove
}
