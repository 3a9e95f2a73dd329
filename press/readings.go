package press

import (
	"math"

	"github.com/nightclamp/nightclamp/sensor"
)

const (
	silentAfter = 30.0  // s without a reading, from which a quantity is silent
	backAfter   = 5.0   // s of good readings, from which it is back
	stuckAfter  = 600.0 // s of one and the same value that can mean a stuck part …
	stuckTimes  = 50.0  // … when it is this many times the longest that was seen before
	stuckLearns = 50    // changes to learn from before anything can be called stuck
)

// quantity follows one column of the samples: is it there, is it believable?
// Its value is NaN unless it can be believed.
type quantity struct {
	name string
	// rests: barometers and thermometers resolve too little, and their rooms rest
	// too long, for "the same for long" to mean a fault.
	rests   bool
	value   float64
	ever    bool    // was there at least once
	seenT   float64 // t of the newest believable reading
	goodT   float64 // t from which it has been believable without a break
	silent  bool
	stuck   bool
	jumped  bool
	raw     float64 // the newest raw value
	sameT   float64 // t from which raw has not changed
	longest float64 // longest time, s, that raw stayed the same while it was well
	changes int
}

func newQuantity(name string) quantity {
	return quantity{name: name, rests: name != "bag", value: math.NaN(), raw: math.NaN()}
}

// verdict of one reading, before the events are made of it.
type reading struct {
	value    float64 // as read; NaN: missing
	part     float64 // what the part itself shows, by which it is found stuck
	possible bool    // within what the quantity can be at all
	patience float64 // s without a reading that this series allows
}

// take judges a reading at t and returns the kind of event that it caused, or "".
func (q *quantity) take(t float64, in reading) Kind {
	missing := math.IsNaN(in.value)
	if missing && !q.ever {
		return ""
	}
	if !missing {
		q.ever = true
		q.followSame(t, in.part)
	}
	good := !missing && in.possible && !q.isStuck(t)
	if !good {
		return q.bad(t, missing, in)
	}
	if q.goodT < 0 {
		q.goodT = t
	}
	q.value, q.seenT = in.value, t
	if (q.silent || q.stuck || q.jumped) && t-q.goodT >= backAfter {
		q.silent, q.stuck, q.jumped = false, false, false
		return SensorBack
	}
	return ""
}

// bad takes a reading that cannot be believed. A short lapse keeps the value,
// so that one lost conversion does not look like a change of the bag.
func (q *quantity) bad(t float64, missing bool, in reading) Kind {
	q.goodT = -1
	if q.stuck || q.jumped || q.silent {
		q.value = math.NaN()
		return ""
	}
	switch {
	case !missing && !in.possible:
		q.jumped, q.value = true, math.NaN()
		return SensorJumped
	case !missing:
		q.stuck, q.value = true, math.NaN()
		return SensorStuck
	case t-q.seenT > in.patience:
		q.silent, q.value = true, math.NaN()
		return SensorSilent
	}
	return ""
}

// followSame learns how long the raw value usually stays the same. A part that
// resolves only 10 Pa or 0.1 K stays the same for long and is not stuck.
func (q *quantity) followSame(t, v float64) {
	if v != q.raw { // NaN at first: unequal to everything
		if !math.IsNaN(q.raw) && !q.stuck {
			q.longest = max(q.longest, t-q.sameT)
		}
		q.raw, q.sameT = v, t
		q.changes++
	}
}

func (q *quantity) isStuck(t float64) bool {
	if q.rests || q.changes < stuckLearns {
		return false
	}
	return t-q.sameT > max(stuckAfter, stuckTimes*q.longest)
}

// judgeReadings takes the sample's four quantities and reports whether bag and
// ambient pressure can be used.
func (r *Run) judgeReadings(s sensor.Sample, k tick) bool {
	t := r.clock.t
	patience := max(silentAfter, 5*r.clock.interval)
	if k.gap { // the silence of a gap is not the part's
		for _, q := range []*quantity{&r.bag, &r.amb, &r.glue, &r.air} {
			q.seenT, q.sameT = t, t
		}
	}
	bag, jumped := r.believe(s, k)
	if jumped && r.underWay() && !r.bag.jumped {
		r.bag.jumped, r.bag.goodT = true, t
		r.emit(Event{Kind: SensorJumped, Quantity: r.bag.name})
	}
	ambient := s.Ambient
	if s.Quality.Has(sensor.AmbientSilent) {
		ambient = math.NaN() // what stands in the sample is not the barometer's
	}
	r.takeReading(&r.amb, t, reading{ambient, ambient, ambient > 45e3 && ambient < 112e3, patience})
	if math.IsNaN(ambient) && !math.IsNaN(s.Ambient) {
		r.amb.value = s.Ambient // the reader's stand-in: better than to watch nothing
	}
	r.takeReading(&r.bag, t, reading{bag, ownReading(s, bag), bag > -2e3 && !(bag > r.amb.value+5e3), patience})
	r.takeReading(&r.glue, t, reading{s.GlueLine, s.GlueLine, plausibleC(s.GlueLine), 4 * patience})
	r.takeReading(&r.air, t, reading{s.Air, s.Air, plausibleC(s.Air), 4 * patience})
	return !math.IsNaN(bag) && !math.IsNaN(r.bag.value) && !math.IsNaN(r.amb.value)
}

// ownReading is what the part on the bag shows: a gauge part measures against the
// room, so that the barometer moves the bag's pressure when the part is stuck.
func ownReading(s sensor.Sample, bag float64) float64 {
	if s.Quality.Has(sensor.Gauge) {
		return math.Round((s.Ambient-bag)*1e3) / 1e3
	}
	return bag
}

// believe returns the bag pressure, NaN where the sample's cannot be believed,
// and whether it jumped in between.
func (r *Run) believe(s sensor.Sample, k tick) (bag float64, jumped bool) {
	if s.Quality.Has(sensor.Saturated) || math.IsNaN(s.Bag) {
		return math.NaN(), false
	}
	if k.gap {
		r.spike.reset()
	}
	ok, jumped := r.spike.pass(s.Bag)
	if !ok {
		return math.NaN(), false
	}
	return s.Bag, jumped
}

func (r *Run) takeReading(q *quantity, t float64, in reading) {
	if q.rests {
		q.sameT = t
	}
	if kind := q.take(t, in); kind != "" && r.underWay() {
		r.emit(Event{Kind: kind, Quantity: q.name})
	}
}

// plausibleC says whether a shop or a glue line can have this temperature, °C.
func plausibleC(c float64) bool { return c > -30 && c < 60 }
