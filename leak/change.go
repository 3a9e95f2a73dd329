package leak

import "math"

// A change is a guess that at some moment the bag began to do something new. It
// follows Willsky and Jones (IEEE Transactions on Automatic Control 21, 1976):
// off is by how much the truth would be away from the filter's state were the
// guess true with size one; what the filter should then see, against what it
// does see, gives the size and how likely the guess is.
type evidence struct{ info, match float64 } // Σ s²/S, Σ s·ν/S

func (e *evidence) add(s, d, perS float64) {
	e.info += s * s * perS
	e.match += s * d * perS
}

// size is the most likely size of the change; its variance is 1/info.
func (e *evidence) size() float64 { return e.match / e.info }

// gain is twice the logarithm of the likelihood ratio: the square of the
// standard deviations by which the change stands out.
func (e *evidence) gain() float64 {
	if e.info <= 0 {
		return 0
	}
	return e.match * e.match / e.info
}

// loud reports whether the change stands out at all.
func (e *evidence) loud() bool { return e.match*e.match > certain*certain*e.info }

// guess is a change of the slow filter: of the leak (a ramp) or of the level.
type guess struct {
	readings float64 // since then
	off      vector
	ramp     evidence
}

// guesses keeps the changes that are thought possible, oldest first. Their
// spacing grows with their age, so that a night fits into a few.
type guesses struct {
	n    int
	born [slowGuesses]float64 // T at which each says that it began, s
	all  [slowGuesses]guess
}

const (
	slowGuesses = 24
	fastGuesses = 16
)

// begin adds a change of the leak at t.
func (g *guesses) begin(t float64) {
	if g.n == slowGuesses {
		i := crowded(t, g.born[:])
		copy(g.born[i:], g.born[i+1:])
		copy(g.all[i:], g.all[i+1:])
		g.n--
	}
	g.born[g.n], g.all[g.n] = t, guess{off: vector{rate: 1}}
	g.n++
}

// crowded is which of the guesses that began at, oldest first, is missed least:
// the one whose neighbours are closest to each other for their age.
func crowded(now float64, at []float64) int {
	best, spread, age := 1, at[2]-at[0], now-at[1]
	for i := 2; i < len(at)-1; i++ {
		if s, a := at[i+1]-at[i-1], now-at[i]; s*age < spread*a {
			best, spread, age = i, s, a
		}
	}
	return best
}

// follow holds every guess against the difference d that the filter saw, of
// variance s, after it was carried on and before it learnt.
func (g *guesses) follow(b *bag, h, ph *vector, dt, share, keeps, d, s, n float64) {
	perS := 1 / s
	for i := range g.n {
		c := &g.all[i]
		b.carry(&c.off, dt, share, keeps)
		see := h.dot(&c.off)
		c.ramp.add(see, d, perS)
		see *= perS
		for j := range states {
			c.off[j] -= ph[j] * see
		}
		c.readings += n
	}
}

// best is the guess that stands out most, if by more than least; -1 for none.
func (g *guesses) best(least float64) int {
	best := -1
	for i := range g.n {
		c := &g.all[i]
		if m := c.ramp.match; m*m > least*c.ramp.info && c.readings >= enough && c.ramp.gain() > least {
			best, least = i, c.ramp.gain()
		}
	}
	return best
}

// near is the guess of a change closest to t, nil when there is none near.
func (g *guesses) near(t float64) *guess {
	best := 0
	for i := range g.n {
		if math.Abs(g.born[i]-t) < math.Abs(g.born[best]-t) {
			best = i
		}
	}
	if g.n == 0 || math.Abs(g.born[best]-t) > 2*slowTime {
		return nil
	}
	return &g.all[best]
}
