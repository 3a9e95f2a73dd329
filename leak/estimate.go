package leak

import "math"

// Estimate returns what is known now.
func (e *Estimator) Estimate() Estimate {
	got := Estimate{Onset: e.said.onset, Noise: e.in.noise.sd(), NoiseLately: math.Sqrt(e.in.noise.lately), Hushed: e.in.noise.hushed(), Settled: e.said.settled, Leaking: e.said.leaking}
	if !e.begun {
		got.Low, got.High = math.Inf(-1), math.Inf(1)
		return got
	}
	mean, sd := e.choked()
	half := twoSided * sd * e.share
	// A leak only goes in.
	got.Rate = max(0, mean*e.share)
	got.Low, got.High = max(0, mean*e.share-half), max(mean*e.share+half, half/2)
	got.Known = half < max(600, 0.5*math.Abs(got.Rate))
	if !got.Known && !got.Settled {
		e.atMost(&got)
	}
	return got
}

// atMost bounds the leak by all of the rise, as long as leak and settling cannot
// be told apart: by the mean rise since the hold began, for what settles only
// adds to that, or by the present one, whichever says more.
func (e *Estimator) atMost(got *Estimate) {
	mean, sd := e.whole.Slope(e.in.noise.ofMean(1) * e.excess)
	high := got.High
	for _, all := range [2][2]float64{{mean, sd}, {e.all, e.allSD}} {
		rate, half := all[0]*hour, twoSided*all[1]*hour
		if !(rate > 0) || half > max(600, 0.5*rate) || got.Known && rate+half > got.High {
			continue
		}
		got.Known, got.Rate = true, min(rate, high)
		got.Low, got.High = min(got.Low, got.Rate), min(high, rate+half)
	}
}

// Forecast says when the vacuum will have fallen to floor (Pa), looking at most
// horizon seconds ahead, at the present barometer.
func (e *Estimator) Forecast(floor, horizon float64) Crossing {
	never := math.Inf(1)
	if !e.begun {
		return Crossing{never, never, never}
	}
	target := e.room - floor
	if e.pressure >= target {
		return Crossing{}
	}
	coming, unsure := e.coming()
	mean, sd := e.choked()
	at := func(p, g float64) float64 {
		t := riseTime(p, target, e.room, g/hour)
		if t > horizon {
			return never
		}
		return t
	}
	c := Crossing{
		Early:    at(e.pressure+max(0, coming+twoSided*unsure), mean+twoSided*sd),
		Expected: never,
		Late:     at(e.pressure, mean-twoSided*sd),
	}
	if e.said.leaking || mean > twoSided*sd {
		c.Expected = at(e.pressure+max(0, coming), mean)
	}
	return c
}

// coming is what the settling will still add, and its standard deviation, Pa.
func (e *Estimator) coming() (mean, sd float64) {
	var h vector
	for i := range settleParts {
		h[settle0+i] = 1
	}
	mean, v, _ := e.bag.foresee(&h)
	return mean, math.Sqrt(max(0, v))
}
