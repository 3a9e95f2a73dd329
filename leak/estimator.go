package leak

import "math"

const (
	hour       = 3600.0
	blockTime  = 10.0 // s, at least, between two steps of the filter
	zeroKelvin = 273.15
	lagFast    = 120.0  // s
	lagSlow    = 2400.0 // s
	gapTime    = 300.0  // s without a reading after which the level is doubted
	drift      = 0.02   // Pa²/s: what the model does not know
	fallMemory = 6 * hour
	strayTime  = 1800.0 // s in which the gas strays from the thermometers
)

// Estimator follows one hold. Its zero value is not ready; use [New].
type Estimator struct {
	cfg Config

	noise   noise
	a, b    float64 // the last two good readings of the bag, Pa
	kept    int     // how many of them there are
	pending Reading // the last reading, waiting for its successor

	block block
	bag   bag

	begun            bool
	origin           float64 // the pressure that bag's level is relative to, Pa
	at               float64 // T of the filter's state, s
	from             float64 // T from which the present settling counts, s
	room, roomFrom   float64 // last known, and at the begin, Pa
	warm, slow, ref  float64 // lagged temperatures and the one at the begin, °C
	gasKnown         bool
	gasLast          float64 // T of the last temperature, s
	excess           float64 // mean square of the filter's surprise; 1 when all is well
	rise, fall       float64 // CUSUM of the surprise, either way
	riseFrom         float64 // T since which rise is above nothing, s
	changed          float64 // T of the last rise of the rate, s; NaN before
	leaking, settled bool
	onset            float64
	seen             float64 // readings since changed
	falls            float64 // unexplained falls of late, fading over fallMemory
	quiet            float64 // s for which a leak has read as nothing
}

// block gathers the readings of one step.
type block struct {
	n, t, bag          float64
	gas, gasN          float64
	room, roomN, start float64
}

// New returns an estimator at the begin of a hold.
func New(cfg Config) *Estimator {
	return &Estimator{cfg: cfg, excess: 1, onset: math.NaN(), changed: math.NaN()}
}

// Add takes the next reading. It allocates nothing and takes constant time.
func (e *Estimator) Add(r Reading) {
	if math.IsNaN(r.Bag) || math.IsInf(r.Bag, 0) || math.IsNaN(r.T) {
		return
	}
	if e.kept == 0 {
		e.pending, e.a, e.kept = r, r.Bag, 1
		return
	}
	if e.kept > 1 {
		if e.noise.spiked(e.a, e.pending.Bag, r.Bag) {
			e.pending = r
			return
		}
		e.noise.learn(e.a, e.pending.Bag, r.Bag)
	}
	e.a, e.kept = e.pending.Bag, 2
	e.gather(&e.pending)
	e.pending = r
}

// TopUp says that the pressure up to now has nothing to do with what follows:
// the bag was pumped again. What is known of the leak's conductance is kept.
func (e *Estimator) TopUp() {
	e.block, e.kept = block{}, 0
	e.rise, e.fall = 0, 0
	if e.begun {
		e.from = math.NaN()
		e.bag.unsettle(0.3, e.cfg.Gassing)
	}
}

func (e *Estimator) gather(r *Reading) {
	k := &e.block
	if k.n == 0 {
		k.start = r.T
	}
	k.n++
	k.t += r.T
	k.bag += r.Bag
	if !math.IsNaN(r.Gas) {
		k.gas += r.Gas
		k.gasN++
	}
	if !math.IsNaN(r.Ambient) {
		k.room += r.Ambient
		k.roomN++
	}
	if r.T-k.start >= blockTime || (e.begun && r.T-e.at >= 1.5*blockTime) {
		e.step()
		e.block = block{}
	}
}

// step moves the filter on by one block.
func (e *Estimator) step() {
	k := &e.block
	t, y := k.t/k.n, k.bag/k.n
	if !e.begun {
		e.begin(t, y)
	}
	dt := t - e.at
	if math.IsNaN(e.from) {
		e.from = t
	}
	if dt > gapTime {
		e.rise, e.fall = 0, 0
		e.bag.forget(level, sq(10e3))
	}
	e.follow(k, t, dt)

	h := row(e.warm-e.ref, e.slow-e.ref, e.room-e.roomFrom)
	perKelvin := y / (e.ref + zeroKelvin)
	unsure := drift + 2*sq(e.stray(t)*perKelvin)/strayTime
	e.bag.advance(dt, psi(y/e.room), unsure*e.excess, sq(30.0/hour)/hour)
	seen, v, ph := e.bag.foresee(&h)
	s := v + e.noise.ofMean(k.n)*math.Max(1, e.excess) + 0.1
	d := y - e.origin - seen
	e.surprise(d, s, dt)
	e.bag.learn(d, s, &ph)
	e.at, e.seen = t, e.seen+k.n
	e.judge(dt)
}

func (e *Estimator) begin(t, y float64) {
	k := &e.block
	e.begun, e.at, e.from, e.origin = true, t, t, y
	e.room, e.ref = 101325, 15
	if k.roomN > 0 {
		e.room = k.room / k.roomN
	}
	e.roomFrom = e.room
	if k.gasN > 0 {
		e.ref, e.gasKnown, e.gasLast = k.gas/k.gasN, true, t
	}
	e.warm, e.slow = e.ref, e.ref
	e.bag.restart(y, e.ref+zeroKelvin, e.cfg.Gassing)
}

// follow brings the lagged temperatures and the room's pressure up to t.
func (e *Estimator) follow(k *block, t, dt float64) {
	if k.roomN > 0 {
		e.room = k.room / k.roomN
	}
	if k.gasN == 0 {
		return
	}
	gas := k.gas / k.gasN
	if !e.gasKnown {
		e.ref, e.warm, e.slow, e.gasKnown = gas, gas, gas, true
	}
	e.gasLast = t
	e.warm += (gas - e.warm) * (1 - math.Exp(-dt/lagFast))
	e.slow += (gas - e.slow) * (1 - math.Exp(-dt/lagSlow))
}

// stray is how far the gas may be from where the thermometers put it, K: more
// when they move, much more when there are none.
func (e *Estimator) stray(t float64) float64 {
	if !e.gasKnown || t-e.gasLast > gapTime {
		return 1
	}
	return 0.1 + 0.6*math.Abs(e.warm-e.slow)
}

// surprise watches the differences between readings and filter. A run of them
// to one side means that the rate has changed, and lets the filter learn anew.
func (e *Estimator) surprise(d, s, dt float64) {
	z := d / math.Sqrt(s)
	w := math.Min(1, dt/1800)
	e.excess = math.Max(1, math.Min(50, e.excess+(math.Min(z*z, 16)*e.excess-e.excess)*w))
	if e.rise == 0 {
		e.riseFrom = e.at
	}
	e.rise = math.Max(0, e.rise+z-0.5)
	e.fall = math.Max(0, e.fall-z-0.5)
	if e.rise > 8 {
		e.changed, e.seen = e.riseFrom, 0
	}
	e.falls *= math.Exp(-dt / fallMemory)
	if e.fall > 12 {
		// No leak lowers the pressure: pumped unannounced, or the volume changed.
		// What moves it down may well move it up.
		e.falls++
		e.bag.forget(level, sq(10e3))
	}
	if e.rise > 8 || e.fall > 8 {
		e.bag.p[rate][rate] += sq(3000 / hour)
		e.bag.p[level][level] += s
		e.rise, e.fall = 0, 0
	}
}
