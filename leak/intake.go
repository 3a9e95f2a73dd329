package leak

import "math"

// intake lets the readings in one by one, two behind the newest, so that one or
// two that stand alone can be told from a change, and learns the noise.
type intake struct {
	noise  noise
	ring   [5]Reading
	n      int     // readings in the ring
	next   int     // where the next one goes
	a, b   float64 // the last two that were good, Pa
	good   int
	rests  repeats
	newest float64 // what was read last, good or not, Pa
	gauge  float64 // the newest difference of room and bag, Pa: what a gauge part reads itself
	rest   float64 // T since which that has been the same, s
	stuck  bool    // so many that the part must be stuck
	leapt  bool    // the reading let in is far from the one before, and not alone
}

// reset forgets the readings but not the noise.
func (k *intake) reset() { k.n, k.next, k.good = 0, 0, 0 }

// repeats counts readings one after the other that are the same, and how unlikely
// that is for this part: one whose steps are coarser than its noise may rest on
// one of them for as long as it likes, one that is read faster than it measures
// repeats itself, and any other hardly ever does.
type repeats struct {
	share float64 // of readings that were the same as the one before
	seen  float64 // readings that tells of, up to repeatMemory
	odds  float64 // of a run as long as the present one, did each reading stand alone
}

const (
	repeatMemory = 300.0
	repeatKnown  = 100.0 // readings from which share means something
	repeatLeast  = 0.05  // a share is not believed to be smaller: the noise may have been larger lately
	repeatMost   = 0.5   // a part that rests as often as this may rest for the whole night
	stuckOdds    = 1e-10 // of a run, from which on the part is stuck: once in a thousand years at 1 Hz
)

func (r *repeats) note(same bool) {
	switch {
	case !same:
		r.odds = 1
	case r.share < repeatMost:
		r.odds *= max(r.share, repeatLeast)
	}
	got := 0.0
	if same {
		got = 1
	}
	if r.seen < repeatMemory {
		r.seen++
		r.share += (got - r.share) / r.seen
	} else {
		r.share += (got - r.share) * (1 / repeatMemory)
	}
}

func (r *repeats) stuck() bool { return r.odds < stuckOdds && r.seen >= repeatKnown }

// sameGauge is how near two differences are, Pa, that are the same but for rounding.
const sameGauge = 1e-6

// moves reports whether the part shows that it is alive, and keeps since when what
// it reads has not moved: the bag's pressure, or the difference to the room.
func (k *intake) moves(r *Reading) bool {
	g := r.Ambient - r.Bag
	rests := math.Abs(g-k.gauge) <= sameGauge // not a number is never the same
	if !rests {
		k.gauge, k.rest = g, r.T
	}
	k.rests.note(rests || k.newest == r.Bag)
	k.newest = r.Bag
	return !k.rests.stuck()
}

// pass takes r and returns the reading that is due, if it is good.
func (k *intake) pass(r *Reading) (*Reading, bool) {
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
