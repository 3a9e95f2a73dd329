package press

import (
	"math"
	"time"
)

// outlook is what the two forecasts mean for the night: how likely the bag holds
// without a hand, and which hands it needs.
type outlook struct {
	chance float64   // that the floor is not crossed before the press time, 0..1; NaN: not known
	topUps []float64 // s from forecastT at which to top up at the latest; empty: none is needed
	enough bool      // with those the bag gets there
}

// mostTopUps is how many top-ups are planned for; a bag that needs more needs a
// new seam.
const mostTopUps = 6

// quantiles of a standard normal at 5, 15, … 95 %, each standing for a tenth.
func deciles() [10]float64 {
	return [10]float64{-1.644854, -1.036433, -0.674490, -0.385320, -0.125661, 0.125661, 0.385320, 0.674490, 1.036433, 1.644854}
}

// chanceToHold is the probability that the floor is crossed after the press
// time. The crossing is treated by its inverse, which goes with the leak rate:
// the rate's bounds are 95 % bounds of a normal, on either side its own. The
// press time's bounds hold in nine cases of ten.
func chanceToHold(floor, press timeBand) float64 {
	if math.IsInf(press.expected, 1) {
		return 0
	}
	if press.expected <= 0 {
		return 1
	}
	sum := 0.0
	for _, z := range deciles() {
		sum += crossesAfter(floor, press.quantile(z))
	}
	return sum / 10
}

// quantile of a two-sided normal with 90 % bounds.
func (b timeBand) quantile(z float64) float64 {
	const bound = 1.644854
	if z < 0 {
		return max(0, b.expected+z/bound*(b.expected-b.early))
	}
	return b.expected + z/bound*(b.latest()-b.expected)
}

// crossesAfter is the probability that the floor is crossed later than p.
func crossesAfter(floor timeBand, p float64) float64 {
	if floor.early <= 0 {
		return 0
	}
	if math.IsInf(p, 1) {
		return 0
	}
	const bound = 1.959964
	x, mid, low, high := 1/p, inverse(floor.expected), inverse(floor.late), inverse(floor.early)
	sd := (high - mid) / bound
	if x < mid {
		sd = (mid - low) / bound
	}
	if sd <= 0 {
		if x >= mid {
			return 1
		}
		return 0
	}
	return 0.5 * math.Erfc(-(x-mid)/sd/math.Sqrt2)
}

func inverse(s float64) float64 {
	if math.IsInf(s, 1) {
		return 0
	}
	return 1 / s
}

// planTopUps says when to top up at the latest: each time before the floor can
// be crossed at the earliest, from now and then from the level that pumping gave.
// fresh is how long the bag lasts at the earliest after a top-up, s.
func planTopUps(floor, press timeBand, fresh float64) (times []float64, enough bool) {
	need := press.latest()
	for at := floor.early; at < need; at += fresh {
		if len(times) == mostTopUps || math.IsInf(need, 1) || fresh <= 0 {
			return times, false
		}
		times = append(times, at)
	}
	return times, true
}

// lookAhead makes the outlook of the margin's forecasts.
func (r *Run) lookAhead() outlook {
	m, h := &r.margin, &r.hold
	if r.cure.done || !r.cure.chosen() || !h.est.Known {
		return outlook{chance: math.NaN(), enough: true}
	}
	floor := timeBand{m.floor.Early, m.floor.Expected, m.floor.Late}
	o := outlook{chance: chanceToHold(floor, m.press)}
	o.topUps, o.enough = planTopUps(floor, m.press, r.freshLasts())
	return o
}

// freshLasts is how long, s, the vacuum takes at the earliest from the level that
// pumping gives down to the floor. While the flow is choked the rate is constant.
func (r *Run) freshLasts() float64 {
	h := &r.hold
	if !h.est.Known || h.est.High <= 0 {
		return math.Inf(1)
	}
	return max(0, h.level-r.floor) / h.est.High * time.Hour.Seconds()
}
