package leak

import "math"

const (
	certain = 6.3 // standard deviations by which a change must stand out
	sure    = 5.0 // standard deviations that a leak must be from none
	// sureOfChange is the same for a leak whose growth was seen.
	sureOfChange = 3.0
	jumped       = 8.0   // standard deviations of a jump of the reading
	apart        = 4.0   // how much likelier (twice the log) one story must be than the other
	youngest     = 180.0 // s: younger changes are the fast filter's to find
	// modelDoubt is the share of a leak by which its law may be another one.
	modelDoubt = 0.02
	// unsettledShare is how much faster than the settling a leak must be to be said
	// before that is over.
	unsettledShare = 1.0
	steep          = 6.0    // standard deviations of a reading: what rises so high …
	steepFor       = 30.0   // s: … must do so for as long as this, or it is a valve or a hand on the bag
	gone           = 3000.0 // Pa: what has lost so much in that time does not wait
	enough         = 12.0   // readings that a change must last: a thing that moves once is no leak
	// newcomerSD is how uncertain, Pa/h, the leak is in a bag that is not known yet.
	newcomerSD = 2500.0
	least      = 150.0 // Pa/h: a smaller rate is not called a leak
	twoSided   = 1.959964
	calmFor    = 600.0 // s for which the rate must be back at nothing
)

// verdict is what has been said of the bag.
type verdict struct {
	leaking, settled bool
	onset            float64
	changed          float64 // T of the last growth of the leak, s; NaN before any
	rate0, var0      float64 // the leak before that, Pa/s, and its variance
	calm             float64 // T since which the rate has been back at nothing, s
}

func (v *verdict) clear() { *v = verdict{onset: math.NaN(), changed: math.NaN(), calm: math.NaN()} }

// patience is by how much more than usual something must stand out in a bag
// that has moved without a leak.
func (e *Estimator) patience() float64 { return 1 + e.restless }

// judgeFast looks for something new in the fast filter.
func (e *Estimator) judgeFast(t, y float64) {
	ramp, jump := e.trend.best()
	var g, j float64
	if ramp >= 0 {
		g = e.trend.at(ramp).ramp.gain()
	}
	if jump >= 0 {
		j = e.trend.at(jump).jump.gain()
	}
	if e.newcomer(ramp) {
		e.suspect = false
		return
	}
	e.suspect = max(g, j) > sq(certain)
	switch {
	case g > sq(certain*e.patience()):
		e.weigh(ramp, t, y)
	case j > sq(jumped*e.patience()) && j-g > apart && e.trend.at(jump).readings >= enough:
		e.stumble(0.25, y)
	}
}

// newcomer reports whether so little is known of the bag yet that what stands
// out, unless it is a burst, may be how the bag is.
func (e *Estimator) newcomer(ramp int) bool {
	v := max(0, e.bag.p[rate][rate])
	return math.IsNaN(e.young.at) && v > sq(newcomerSD/hour) && !(ramp >= 0 && e.trend.at(ramp).ramp.size() > 4*math.Sqrt(v))
}

// weigh decides whether the ramp that stands out is a change of the leak: it
// must be a better story than a jump or a rise that is over.
func (e *Estimator) weigh(i int, t, y float64) {
	if e.onlyTheRoom(e.trend.born[i]) {
		return
	}
	s := e.recent.stories(e.trend.born[i], 3*e.in.noise.sd()+2*e.in.noise.quantum)
	if height := math.Abs(e.trend.at(i).ramp.size() * (t - e.trend.born[i])); height > steep*e.in.noise.sd() && height < gone && t-e.trend.born[i] < steepFor {
		return
	}
	told := s.jump > apart && s.small > -2 && s.late > -5
	switch {
	case told && e.trend.fits(i) && e.clearOfSteps(i, t):
		e.changeFast(i, t, y)
	case min(s.jump, s.small) < -4*apart, s.late < -9*apart:
		e.stumble(0.25, y)
	}
}

// onlyTheRoom reports whether a gauge part has read one and the same for most of
// the time since at: what moved is the barometer, which the bag's pressure is
// reckoned from. The part may rest on a coarse step, or be stuck; it has not seen
// the leak yet.
func (e *Estimator) onlyTheRoom(at float64) bool { return e.in.rest-at <= resting*(e.newest-at) }

// resting is the share of that time in which the part may still have moved.
const resting = 0.3

// stumble takes note of a move that no leak explains, and begins anew.
func (e *Estimator) stumble(by, y float64) {
	e.restless += by
	e.anew(y)
}

// clearOfSteps reports whether a ramp is more than a coarse part stepping on.
func (e *Estimator) clearOfSteps(i int, t float64) bool {
	q := e.in.noise.quantum
	return q < e.in.noise.sd() || math.Abs(e.trend.at(i).ramp.size()*(t-e.trend.born[i])) > 2.5*q
}

// changeFast takes a change of the leak that the fast filter saw.
func (e *Estimator) changeFast(i int, t, y float64) {
	size, v, at := e.trend.blend(i)
	if e.unexplained(size, v) {
		e.stumble(1, y)
		return
	}
	was, wasVar := e.bag.x[rate], e.bag.p[rate][rate]
	off := vector{rate: 1}
	if g := e.guesses.near(at); g != nil {
		off = g.off
	}
	e.trend.accept(i, size, v)
	e.slow, e.guesses.n = block{}, 0
	// The change has led the rest of the slow filter astray since it began.
	e.bag.shift(&off, size, 0)
	e.bag.advance(max(0, t-e.slowAt), e.share, 0)
	e.slowAt = t
	e.young = young{at: at, rate0: was, var0: wasVar}
	e.refit()
	at = e.young.at
	if wasVar > sq(size/2) {
		// Too little was known before: let the slow filter sort it out.
		e.young.at = math.NaN()
	}
	e.foretell(1)
	e.noteChange(was, wasVar, size, at)
}

// unexplained reports whether a change would make a leak that blows outward.
func (e *Estimator) unexplained(size, v float64) bool {
	sum := e.bag.x[rate] + size
	return size < 0 && sum < -(100/hour+3*math.Sqrt(v+max(0, e.bag.p[rate][rate])))
}

// noteChange keeps when the leak began to grow.
func (e *Estimator) noteChange(was, wasVar, size, at float64) {
	if size > 0 && (math.IsNaN(e.said.changed) || was < max(least/hour, 0.2*size)) {
		e.said.changed, e.said.rate0, e.said.var0 = at, was, wasVar
	}
	e.judge()
}

// judgeSlow looks for something new in the slow filter.
func (e *Estimator) judgeSlow() {
	i := e.guesses.best(sq(certain * e.patience()))
	if i < 0 || e.suspect || e.newcomer(-1) || e.slowAt-e.guesses.born[i] < youngest || e.onlyTheRoom(e.guesses.born[i]) {
		e.judge()
		return
	}
	c, at := &e.guesses.all[i], e.guesses.born[i]
	size, v := c.ramp.size(), 1/c.ramp.info
	was, wasVar := e.bag.x[rate], e.bag.p[rate][rate]
	if e.unexplained(size, v) {
		e.stumble(1, e.pressure)
		return
	}
	e.bag.shift(&c.off, size, v)
	e.guesses.n = 0
	e.trend.n, e.trend.drift, e.trend.ld, e.trend.dd = 0, 0, 0, e.wild
	e.foretell(1)
	e.noteChange(was, wasVar, size, at)
}

// choked is the leak's rate were the flow choked, and its standard deviation, Pa/h.
func (e *Estimator) choked() (mean, sd float64) { return e.leak * hour, e.leakSD * hour }

// grown reports whether the growth of the leak that was seen is certain and
// known well enough to be said, however little is known of the leak before it.
func (e *Estimator) grown(settling float64) bool {
	by := e.leak - e.said.rate0
	if !e.said.settled && unsettledShare*settling > by*hour {
		return false
	}
	v := max(e.bag.p[rate][rate]-e.said.var0, sq(0.02*by))
	if by < least/hour || by < 1.5*math.Sqrt(e.said.var0) {
		return false
	}
	return by > sureOfChange*e.patience()*math.Sqrt(v)
}

// judge says whether the settling is over and whether the bag leaks.
func (e *Estimator) judge() {
	s := &e.said
	e.leak, e.leakSD = e.bag.possible(), math.Sqrt(max(0, e.bag.p[rate][rate]))
	e.leakSD = math.Hypot(e.leakSD, modelDoubt*e.leak)
	e.all, e.allSD = e.bag.rising(e.share)
	// No leak is more than all of the rise.
	if most := (e.all + twoSided*e.allSD) / max(e.share, 0.05); e.leak > most {
		e.leak = max(0, most)
	}
	g, sd := e.choked()
	mean, unsure := e.bag.settling()
	still := (math.Abs(mean) + twoSided*unsure) * hour
	s.settled = still < max(150, 0.2*math.Abs(g))
	if !s.leaking {
		if g > least && g > twoSided*sd && (s.settled && g > sure*e.patience()*sd || s.changed > e.from && e.grown(still)) {
			s.leaking, s.calm = true, math.NaN()
			s.onset = e.from
			if s.changed > e.from {
				s.onset = s.changed
			}
		}
		return
	}
	if g+sd > least {
		s.calm = math.NaN()
		return
	}
	if math.IsNaN(s.calm) {
		s.calm = e.slowAt
	}
	if e.slowAt-s.calm >= calmFor {
		settled := s.settled
		s.clear()
		s.settled = settled
	}
}
