package press

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/cure"
)

// HourMean is how warm one hour was where a press stands; NaN is not known.
type HourMean struct {
	Hour      time.Time // its begin, a full hour
	AirC      float64   // °C
	GluelineC float64   // °C
}

// ShopMemory is how far back the forecast of the shop looks.
const ShopMemory = cure.ShopDays * 24 * time.Hour

// airMayBeLate is how long, s, after the first temperature the air's may come and
// still be what the shop learns: parts do not all answer at once.
const airMayBeLate = 600.0

// warmth is what the run knows of the shop and of how its glue line follows it.
// The shop learns the air's temperature; where no air is measured, the glue line's.
type warmth struct {
	shop     *cure.Shop
	began    float64 // the shop's t at the run's t of 0, s since 1970
	midnight float64 // the shop's t of a midnight
	ofAir    bool
	first    float64   // the run's t when the shop was begun
	t        float64   // the run's t at the newest temperature that the shop was given
	follow   *cure.Lag // what the glue line would be from the air alone
	alone    float64   // its newest value, °C
}

// followWarmth works out the glue line's temperature from the probe, or from the
// air through the lag of the stack, and lets the shop's forecast learn.
func (r *Run) followWarmth() {
	t, w := r.clock.t, &r.warm
	doubted := r.glueNow.Disagree
	r.glueNow = r.line.Add(t, r.glue.value, r.air.value)
	if w.shop == nil && !math.IsNaN(r.glueNow.C.Expected) {
		r.beginShop()
	}
	if w.shop != nil {
		if !w.ofAir && !math.IsNaN(r.air.value) && t-w.first < airMayBeLate {
			r.beginShop()
		}
		r.learnShop()
	}
	if r.glueNow.Disagree != doubted && r.underWay() {
		kind := SensorDisagrees
		if doubted {
			kind = SensorBack
		}
		r.emit(Event{Kind: kind, Quantity: r.glue.name})
	}
}

// beginShop makes the shop's forecast with what is on record of the time before
// the run.
func (r *Run) beginShop() {
	w := &r.warm
	w.ofAir, w.first = !math.IsNaN(r.air.value), r.clock.t
	w.began = float64(r.clock.now.UnixMilli())/1000 - r.clock.t
	w.midnight = w.began + r.clock.t - r.sinceMidnight()
	w.shop = cure.NewShop(r.shopKnown())
	for _, h := range r.cfg.Before {
		c := h.GluelineC
		if w.ofAir && !math.IsNaN(h.AirC) {
			c = h.AirC
		}
		if middle := float64(h.Hour.Unix()) + 1800; middle < w.began+r.clock.t {
			w.shop.Add(middle, c)
		}
	}
}

func (r *Run) learnShop() {
	w, c := &r.warm, r.glueNow.C.Expected
	if w.ofAir {
		c = r.air.value
	}
	if !math.IsNaN(c) {
		w.t = r.clock.t
		w.shop.Add(w.began+r.clock.t, c)
	}
	if w.follow == nil && !math.IsNaN(r.glue.value) {
		start := r.glue.value
		if r.cfg.Stack.HasStart {
			start = r.cfg.Stack.StartC
		}
		w.follow = cure.NewLag(r.lag(), start)
	}
	if w.follow != nil {
		if alone := w.follow.Add(r.clock.t, r.air.value); !math.IsNaN(alone) {
			w.alone = alone
		}
	}
}

// newStack forgets how the last stack followed the air.
func (r *Run) newStack() {
	r.line = cure.NewGlueLine(r.cfg.Stack) // as cold as its wood and mould
	r.warm.follow, r.warm.alone = nil, math.NaN()
	if r.samples == 0 { // nothing was read: not 0 °C
		r.glueNow.C = cure.Exactly(math.NaN())
	}
}

// warmthAhead is what the glue line is expected to do if the shop goes on as its
// record and the builder's knowledge of the night say.
func (r *Run) warmthAhead() cure.Forecast {
	w := &r.warm
	if w.shop == nil {
		return cure.Steady(cure.Exactly(math.NaN()))
	}
	shop, since := w.shop.Forecast(), r.clock.t-w.t
	ahead := func(s float64) cure.Band { return shop(s + since) }
	if !w.ofAir || math.IsNaN(r.glueNow.C.Expected) {
		return ahead
	}
	return cure.Follow(ahead, r.glueNow.C, r.lag(), r.keptWarmer())
}

// keptWarmer is by how much, K, the glue line is warmer than the air alone would
// have it: under a blanket, or in a heated mould.
func (r *Run) keptWarmer() float64 {
	if r.glueNow.From != cure.FromProbe || math.IsNaN(r.warm.alone) {
		return 0
	}
	return r.glueNow.C.Expected - r.warm.alone
}

// Warmth is what the run believes of the air and of the probe at the glue line
// now, °C; NaN where nothing is believed.
func (r *Run) Warmth() (airC, gluelineC float64) { return r.air.value, r.glue.value }
