package leak

import "math"

// intake lets the readings in one by one, two behind the newest, so that one or
// two that stand alone can be told from a change, and learns the noise.
type intake struct {
	noise noise
	ring  [5]Reading
	n     int     // readings in the ring
	next  int     // where the next one goes
	a, b  float64 // the last two that were good, Pa
	good  int
	same  int     // readings one after the other that were the same to the last digit
	gauge float64 // the newest difference of room and bag, Pa: what a gauge part reads itself
	rest  float64 // T since which that has been the same, s
	stuck bool    // so many that the part must be stuck
	leapt bool    // the reading let in is far from the one before, and not alone
}

// reset forgets the readings but not the noise.
func (k *intake) reset() { k.n, k.next, k.good = 0, 0, 0 }

// stuckFrom is how many readings in a row may be the same where there is noise.
const stuckFrom = 30

// moves reports whether the part shows that it is alive. A part whose steps are
// coarser than its noise may rest on one of them for as long as it likes.
func (k *intake) moves(r *Reading) bool {
	if i := (k.next + len(k.ring) - 1) % len(k.ring); k.n > 0 && k.ring[i].Bag == r.Bag {
		k.same++
	} else {
		k.same = 0
	}
	return k.same < stuckFrom || k.noise.n < noiseMemory/2 || k.noise.v < sq(0.5*k.noise.quantum)
}

// sameGauge is how near two differences are, Pa, that are the same but for rounding.
const sameGauge = 1e-6

// follow keeps since when the difference of room and bag has not moved.
func (k *intake) follow(r *Reading) {
	if g := r.Ambient - r.Bag; !(math.Abs(g-k.gauge) <= sameGauge) { // not a number is never the same
		k.gauge, k.rest = g, r.T
	}
}

// pass takes r and returns the reading that is due, if it is good.
func (k *intake) pass(r *Reading) (*Reading, bool) {
	k.follow(r)
	if !k.moves(r) {
		k.stuck = true
		return nil, false
	}
	k.ring[k.next] = *r
	if k.next++; k.next == len(k.ring) {
		k.next = 0
	}
	if k.n < len(k.ring) {
		if k.n++; k.n < 3 {
			return nil, false
		}
	}
	i := k.next - 3
	if i < 0 {
		i += len(k.ring)
	}
	due := &k.ring[i]
	k.leapt = k.good > 0 && math.Abs(due.Bag-k.b) > k.noise.limit()
	if k.leapt && k.alone(due.Bag) {
		return nil, false
	}
	if k.good > 1 {
		k.noise.learn(k.a, k.b, due.Bag)
	} else {
		k.good++
	}
	k.a, k.b = k.b, due.Bag
	if k.noise.hushed() {
		k.stuck = true
		return nil, false
	}
	return due, true
}

// alone reports whether v is far from the median of the readings in the ring.
func (k *intake) alone(v float64) bool {
	if k.n < len(k.ring) {
		return true
	}
	below, above, limit := 0, 0, k.noise.limit()
	for i := range k.ring {
		switch d := k.ring[i].Bag - v; {
		case d > limit:
			above++
		case d < -limit:
			below++
		}
	}
	return above > len(k.ring)/2 || below > len(k.ring)/2
}
