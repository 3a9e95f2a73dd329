package leak

import "math"

const (
	certain  = 5.0  // standard deviations before a leak is said
	least    = 60.0 // Pa/h: a smaller rate is not called a leak
	twoSided = 1.96
	enough   = 12.0 // readings that a change must last: a thing that moves once is no leak
)

// judge decides, after a step, whether the settling is over and whether the bag
// leaks.
func (e *Estimator) judge(dt float64) {
	g, sd := e.bag.x[rate]*hour, math.Sqrt(math.Max(0, e.bag.p[rate][rate]))*hour
	mean, unsure := e.bag.settling()
	e.settled = (math.Abs(mean)+unsure)*hour < math.Max(150, 0.2*math.Abs(g))
	switch {
	case !e.leaking && e.settled && e.seen >= enough && g-certain*(1+e.falls/2)*sd > 0 && g > least:
		e.leaking, e.quiet = true, 0
		e.onset = e.from
		if e.changed > e.from {
			e.onset = e.changed
		}
	case e.leaking && g+twoSided*sd < math.Max(least, 3*sd):
		if e.quiet += dt; e.quiet > 600 {
			e.leaking, e.onset = false, math.NaN()
		}
	default:
		e.quiet = 0
	}
}

// Estimate returns what is known now.
func (e *Estimator) Estimate() Estimate {
	got := Estimate{Onset: e.onset, Noise: e.noise.sd(), Settled: e.settled, Leaking: e.leaking}
	if !e.begun {
		got.Low, got.High = math.Inf(-1), math.Inf(1)
		return got
	}
	share := psi((e.pressure()) / e.room)
	sd := math.Sqrt(math.Max(0, e.bag.p[rate][rate])) * hour * share
	got.Rate = e.bag.x[rate] * hour * share
	got.Low, got.High = got.Rate-twoSided*sd, got.Rate+twoSided*sd
	got.Known = twoSided*sd < math.Max(600, 0.5*math.Abs(got.Rate))
	return got
}

// pressure is the best knowledge of the pressure in the bag now, Pa.
func (e *Estimator) pressure() float64 {
	h := row(e.warm-e.ref, e.slow-e.ref, e.room-e.roomFrom)
	y, _, _ := e.bag.foresee(&h)
	return e.origin + y
}

// Forecast says when the vacuum will have fallen to floor (Pa), looking at most
// horizon seconds ahead, at the present barometer.
func (e *Estimator) Forecast(floor, horizon float64) Crossing {
	never := math.Inf(1)
	if !e.begun {
		return Crossing{never, never, never}
	}
	p, target := e.pressure(), e.room-floor
	if p >= target {
		return Crossing{}
	}
	mean, sd := e.bag.x[rate], math.Sqrt(math.Max(0, e.bag.p[rate][rate]))
	at := func(g float64) float64 {
		t := riseTime(p, target, e.room, g)
		if t > horizon {
			return never
		}
		return t
	}
	c := Crossing{Early: at(mean + twoSided*sd), Expected: never, Late: at(mean - twoSided*sd)}
	if e.leaking || mean > twoSided*sd {
		c.Expected = at(mean)
	}
	return c
}
