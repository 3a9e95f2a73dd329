package press

import "math"

// vacuum follows the vacuum with two short memories: one that forgets a
// reading's noise and one that remembers where it came from.
type vacuum struct {
	raw    float64
	value  float64 // smoothed over quick, Pa
	before float64 // smoothed over slow, Pa
	noise  float64 // smoothed absolute difference of neighbours, Pa
	last   float64 // t
	n      uint64
}

const (
	quick = 3.0  // s
	slow  = 20.0 // s
)

func (v *vacuum) add(t, pa float64) {
	v.n++
	if v.n == 1 {
		v.value, v.before, v.raw, v.last = pa, pa, pa, t
		return
	}
	dt := t - v.last
	v.noise += (math.Abs(pa-v.raw) - v.noise) / 64
	v.value += (pa - v.value) * share(dt, quick)
	v.before += (pa - v.before) * share(dt, slow)
	v.raw, v.last = pa, t
}

// jumpTo forgets the past, after a gap.
func (v *vacuum) jumpTo() {
	if v.n > 0 {
		v.n = 0
	}
}

// share is how much of a step a first-order filter follows in dt. The rational
// form stays stable for any dt and needs no exponential for every sample.
func share(dt, tau float64) float64 { return dt / (dt + tau) }

// stroke is the change, Pa, that pumping makes and noise does not.
func (v *vacuum) stroke() float64 { return max(250, 8*v.noise) }
