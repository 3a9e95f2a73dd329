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
	mean, sd := e.whole.slope(e.in.noise.ofMean(1) * e.excess)
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

// line is a straight line through readings, by least squares. Its sums count
// from the mean so far (Welford 1962), so that they keep their digits.
type line struct{ w, t, y, tt, ty float64 }

// add takes w readings whose mean is y at t.
func (l *line) add(t, y, w float64) {
	l.w += w
	dt, dy := t-l.t, y-l.y
	l.t += dt * w / l.w
	l.y += dy * w / l.w
	l.tt += w * dt * (t - l.t)
	l.ty += w * dt * (y - l.y)
}

// slope is that of the line, and its standard deviation when one reading has
// the variance v. It is not known before there are two moments.
func (l *line) slope(v float64) (b, sd float64) {
	if l.tt <= 0 {
		return 0, math.Inf(1)
	}
	return l.ty / l.tt, math.Sqrt(v / l.tt)
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
