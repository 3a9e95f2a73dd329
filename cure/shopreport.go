package cure

import "math"

// reportSD, K, is by how much a reported low or high is taken to be off: reports are
// wrong by 1.5 K, and by an hour or more in when.
const reportSD = 1.9

// knowledge is a view and what a weather report adds to it.
type knowledge struct {
	view     *view
	surprise float64
	told     []told
}

// told is one extreme of the coming day and the hour at which it is expected.
type told struct {
	hour  int
	c     float64 // °C
	pulls float64 // what a covariance with this hour is to be multiplied with
}

// report is what was told of the hours to come, °C or NaN, and what has come already.
type report struct {
	hours             int // for how many it is good still
	low, high         float64
	pastLow, pastHigh float64
}

func (s *Shop) report() report {
	r := report{hours: 24, low: math.NaN(), high: math.NaN(), pastLow: math.Inf(1), pastHigh: math.Inf(-1)}
	if s.cfg.HasNightLow {
		r.low = s.cfg.NightLow
	}
	if s.cfg.HasDayHigh {
		r.high = s.cfg.DayHigh
	}
	if s.cfg.Until == 0 {
		return r
	}
	r.hours = int(math.Max(0, math.Min(24, (s.cfg.Until-s.t)/3600)))
	for h := s.hour - 1; h > s.hour-shopDay && float64(h)*3600 >= s.cfg.Since-1800; h-- {
		if c := s.means[ofDay(h)]; !math.IsNaN(c) {
			r.pastLow, r.pastHigh = math.Min(r.pastLow, c), math.Max(r.pastHigh, c)
		}
	}
	return r
}

// hear takes what the report says, at the hours at which it is expected to be coldest
// and warmest; it also tells what kind of place this is.
func (k *knowledge) hear(r report) {
	path := &k.view.expects
	lowest, highest := 0, 0
	for i := 1; i <= r.hours; i++ {
		if path[i] < path[lowest] {
			lowest = i
		}
		if path[i] > path[highest] {
			highest = i
		}
	}
	if r.hours > 0 && !math.IsNaN(r.low) && r.pastLow > path[lowest] {
		k.told = append(k.told, told{hour: lowest, c: r.low})
	}
	if r.hours > 0 && !math.IsNaN(r.high) && r.pastHigh < path[highest] {
		k.told = append(k.told, told{hour: highest, c: r.high})
	}
	if len(k.told) == 0 {
		return
	}
	k.recognise()
	for i := range k.told {
		k.told[i].pulls = k.solve(i, func(t *told) float64 { return t.c - path[t.hour] })
	}
}

// recognise weighs the kinds of places by how well the report fits each.
func (k *knowledge) recognise() {
	v := k.view
	sum := 0.0
	for i := range v.of {
		if v.shares[i] == 0 {
			continue
		}
		o := &v.of[i]
		for _, t := range k.told {
			off, variance := t.c-o.expects[t.hour], k.surprise*o.between(t.hour, t.hour)+reportSD*reportSD
			v.shares[i] *= math.Max(math.Exp(-off*off/variance/2)/math.Sqrt(variance), 1e-100)
		}
		sum += v.shares[i]
	}
	for i := range v.shares {
		v.shares[i] /= sum
	}
	v.merge(viewed+1, 1)
}

// move moves the path towards the report: at its hours so far as the report can be
// trusted more than the path there, and around them as far as the hours hang together.
// It returns by how much the last hour was moved, K.
func (k *knowledge) move(path []float64) (last float64) {
	if len(k.told) == 0 {
		return 0
	}
	for i := range path {
		last = 0
		for _, t := range k.told {
			last += k.between(i, t.hour) * t.pulls
		}
		path[i] += last
	}
	return last
}

func (k *knowledge) between(i, j int) float64 { return k.surprise * k.view.between(i, j) }

// solve is the i-th unknown of: the reports' covariances times the unknowns make right.
func (k *knowledge) solve(i int, right func(*told) float64) float64 {
	t := &k.told[i]
	v := k.between(t.hour, t.hour) + reportSD*reportSD
	if len(k.told) == 1 {
		return right(t) / v
	}
	o := &k.told[1-i]
	vo, both := k.between(o.hour, o.hour)+reportSD*reportSD, k.between(t.hour, o.hour)
	return (vo*right(t) - both*right(o)) / (v*vo - both*both)
}

// widths is the half-width of the bounds hour by hour, K: so that the mean of the
// path up to any hour is nineInTen standard errors of that mean away. A report makes
// them narrower, by as much as it knows.
func (k *knowledge) widths() (w [viewed + 1]float64) {
	var with [2]float64 // covariance of the sum with each report
	before := 0.0
	for i := 1; i <= viewed; i++ {
		variance := k.surprise * k.view.sums[i]
		for j, t := range k.told {
			with[j] += k.between(i, t.hour)
		}
		for j := range k.told {
			variance -= with[j] * k.solve(j, func(t *told) float64 {
				if t == &k.told[0] {
					return with[0]
				}
				return with[1]
			})
		}
		sd := math.Sqrt(math.Max(0, variance))
		w[i] = nineInTen * math.Hypot(math.Max(0, sd-before), leastError)
		before = sd
	}
	w[0] = w[1]
	return w
}
