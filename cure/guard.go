package cure

import (
	"math"
	"slices"
)

// What a glue line cannot be or do. A one-wire probe says 85 °C after power-on
// and -127 °C through many drivers when it is open; a shed in winter and a
// heated bag stay well inside. A glue line between plies cannot be moved faster
// than a few kelvin a minute; the 1 K forgives a coarse probe.
const (
	coldestPlausible = -30.0      // °C
	hottestPlausible = 70.0       // °C
	jumpForgiven     = 1.0        // K
	fastestChange    = 5.0 / 60.0 // K/s
	newLevelAfter    = 120.0      // s that a new level must hold before it is believed
)

// guard keeps readings that no glue line can have out of the integral.
type guard struct {
	known    bool
	t, c     float64 // last reading believed
	doubt    bool
	since, u float64 // begin and newest moment of a level that is not yet believed
	level    float64
}

// accept returns c when it can be believed, else NaN. A level that jumped and
// stays is believed after two minutes: a probe was moved.
func (g *guard) accept(t, c float64) float64 {
	if !(c >= coldestPlausible && c <= hottestPlausible) { // NaN too
		return math.NaN()
	}
	if !g.known || near(c, g.c, t-g.t) {
		g.known, g.doubt = true, false
		g.t, g.c = t, c
		return c
	}
	if !g.doubt || !near(c, g.level, t-g.u) {
		g.doubt, g.since = true, t
	}
	g.u, g.level = t, c
	if t-g.since >= newLevelAfter {
		g.doubt = false
		g.t, g.c = t, c
		return c
	}
	return math.NaN()
}

// near reports whether a glue line can get from b to a in dt seconds.
func near(a, b, dt float64) bool {
	return math.Abs(a-b) <= jumpForgiven+fastestChange*dt
}

// recent is the coldest and the warmest of the last 24 hours, hour by hour.
type recent struct {
	any              bool
	hour             int // the newest hour, counted from t = 0
	next             float64
	cold, warm       [24]float64
	coldest, warmest float64
}

func (r *recent) add(t, c float64) {
	if t >= r.next || !r.any {
		r.open(t)
	}
	i := slot(r.hour)
	r.cold[i], r.warm[i] = min(r.cold[i], c), max(r.warm[i], c)
	r.coldest, r.warmest = min(r.coldest, c), max(r.warmest, c)
}

// slot is the place of an hour in the ring.
func slot(hour int) int { return (hour%24 + 24) % 24 }

// open begins the hour that t is in and forgets those it has no room for.
func (r *recent) open(t float64) {
	hour := int(math.Floor(t / 3600))
	fresh := hour - r.hour
	if !r.any || fresh > len(r.cold) {
		fresh = len(r.cold)
	}
	for k := range fresh {
		i := slot(hour - k)
		r.cold[i], r.warm[i] = math.Inf(1), math.Inf(-1)
	}
	r.hour, r.next, r.any = hour, float64(hour+1)*3600, true
	r.coldest, r.warmest = slices.Min(r.cold[:]), slices.Max(r.warm[:])
}

// bounds is the coldest and the warmest of the last 24 hours; false before the
// first reading.
func (r *recent) bounds() (coldest, warmest float64, ok bool) {
	return r.coldest, r.warmest, r.any
}
