package leak

import "math"

// Estimate returns what is known now.
func (e *Estimator) Estimate() Estimate {
	got := Estimate{Onset: e.said.onset, Noise: e.in.noise.sd(), Settled: e.said.settled, Leaking: e.said.leaking}
	if !e.begun {
		got.Low, got.High = math.Inf(-1), math.Inf(1)
		return got
	}
	mean, sd := e.choked()
	half := twoSided * sd * e.share
	// A leak only goes in.
	got.Rate = math.Max(0, mean*e.share)
	got.Low, got.High = math.Max(0, mean*e.share-half), math.Max(mean*e.share+half, half/2)
	got.Known = half < math.Max(600, 0.5*math.Abs(got.Rate))
	return got
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
		Early:    at(e.pressure+math.Max(0, coming+twoSided*unsure), mean+twoSided*sd),
		Expected: never,
		Late:     at(e.pressure, mean-twoSided*sd),
	}
	if e.said.leaking || mean > twoSided*sd {
		c.Expected = at(e.pressure+math.Max(0, coming), mean)
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
	return mean, math.Sqrt(math.Max(0, v))
}
