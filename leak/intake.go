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
	leapt bool // the reading let in is far from the one before, and not alone
}

// reset forgets the readings but not the noise.
func (k *intake) reset() { k.n, k.next, k.good = 0, 0, 0 }

// pass takes r and returns the reading that is due, if it is good.
func (k *intake) pass(r *Reading) (*Reading, bool) {
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
