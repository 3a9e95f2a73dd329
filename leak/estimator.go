package leak

import "math"

const (
	hour       = 3600.0
	zeroKelvin = 273.15
	standard   = 101325.0 // Pa, for a room of which nothing is known

	// What lies outside these is no reading: °C, and Pa for the room.
	coldest, hottest  = -80.0, 150.0
	thinnest, densest = 20e3, 200e3

	fastTime    = 5.0   // s, longest block of the fast filter
	fastLeast   = 2.0   // s, shortest
	fastFull    = 16.0  // readings from which a short block will do
	slowTime    = 60.0  // s, block of the slow filter
	earlyShare  = 0.15  // of the age of the hold, until that is more than slowTime
	movedTime   = 15.0  // s, when the air gets warmer or colder
	openRatio   = 0.97  // of the room's pressure
	longWait    = 240.0 // s, while a change is being weighed
	youngShare  = 0.1   // of the age of a change, until that is more than slowTime
	gapTime     = 300.0 // s without a reading after which the level is doubted
	fastMemory  = 1200.0
	driftTime   = 1800.0 // s in which the drift of the fast filter comes and goes
	strayTime   = 1800.0 // s in which the gas strays from the thermometers
	handled     = 0.25   // restlessness of a top-up that no leak asked for
	roughness   = 0.5    // share of the stray part that comes within a minute; the rest is smooth
	levelDrift  = 0.002  // Pa²/s
	settleDoubt = 0.1
	rateWander  = 5.0 // Pa/h in the square root of an hour
	newWander   = 0.2 // and this when it has just begun: a seam that opens may open further
	newTime     = 2 * hour
	leakWander  = 0.05      // and this share of the leak
	excessTime  = 1800.0    // s over which the surprise is averaged
	restlessFor = 12 * hour // s in which an unexplained move is forgotten
)

// Estimator follows one hold. Its zero value is not ready; use [New].
type Estimator struct {
	cfg Config

	in   intake
	fast block
	slow block

	trend   trend
	recent  recent
	foreset float64 // sum of the rise that was foreseen, Pa
	bag     bag
	guesses guesses
	warmth  warmth
	whole   Line // since the level was last anew
	young   young
	said    verdict

	begun          bool
	origin         float64 // the pressure that bag's level is relative to, Pa
	from           float64 // T from which the hold counts, s
	fastAt, slowAt float64 // T of the filters' states, s
	newest         float64 // T of the newest reading that was let in, s
	pressure       float64 // newest knowledge of the bag, Pa
	room, room0    float64 // last known, and at the begin, Pa
	share          float64 // of the choked flow, at present
	steady, wild   float64 // foreseen rise, Pa/s, and the variance of that
	wild0          float64 // the part of that which the thermometers leave open
	leak, leakSD   float64 // were the flow choked, Pa/s
	all, allSD     float64 // rise by leak and settling together, Pa/s
	excess         float64 // mean square of the slow filter's surprise; 1 when all is well
	restless       float64 // moves of late that no leak explains
	moved          bool    // the air has just become warmer or colder
	suspect        bool    // the fast filter is weighing a change
	afresh         bool    // the bag was pumped: a new settling begins
	before         float64 // pressure before that, Pa
}

// block gathers readings, as sums.
type block struct {
	n, t, bag, start float64
	gas, gasN        float64
	air, airN        float64
	room, roomN      float64
}

// New returns an estimator at the begin of a hold.
func New(cfg Config) *Estimator {
	e := &Estimator{cfg: cfg, excess: 1, share: 1, room: standard, young: young{at: math.NaN()}}
	e.said.clear()
	return e
}

// Add takes the next reading. It allocates nothing and takes constant time.
func (e *Estimator) Add(r Reading) {
	if !(math.Abs(r.Bag) < 1e9) || !(math.Abs(r.T) < 1e15) {
		return
	}
	if e.begun && r.T-e.newest > gapTime {
		e.gap(r.T)
	}
	due, ok := e.in.pass(&r)
	if e.in.stuck && ok {
		e.in.stuck = false
		e.renew() // what it reads now has nothing to do with what it read
		return
	}
	if !ok {
		return
	}
	if e.in.leapt && e.fast.n > 0 {
		e.blockDone()
	}
	e.gather(due)
}

// TopUp says that the pressure up to now has nothing to do with what follows:
// the bag was pumped again. What is known of the leak's conductance is kept.
func (e *Estimator) TopUp() {
	if !e.said.leaking && !e.afresh {
		// A bag that is pumped though nothing leaks is a bag with which something
		// is done: what it does next needs more evidence.
		e.restless += handled
	}
	e.renew()
}

// renew forgets the level of the bag, whatever the reason.
func (e *Estimator) renew() {
	if !e.afresh {
		e.before = e.pressure
	}
	e.afresh = true
	e.in.reset()
	e.fast, e.slow = block{}, block{}
}

// gap: nobody knows what was done to the bag before t.
func (e *Estimator) gap(t float64) {
	e.renew()
	e.newest = t
}

func (e *Estimator) gather(r *Reading) {
	e.newest = r.T
	k := &e.fast
	if k.n == 0 {
		k.start = r.T
	}
	k.n++
	k.t += r.T - k.start
	k.bag += r.Bag
	// Not-a-number fails every comparison.
	if r.Gas > coldest && r.Gas < hottest {
		k.gas += r.Gas
		k.gasN++
	}
	if r.Air > coldest && r.Air < hottest {
		k.air += r.Air
		k.airN++
	}
	if r.Ambient > thinnest && r.Ambient < densest {
		k.room += r.Ambient
		k.roomN++
	}
	if long := r.T - k.start; long >= fastTime || (k.n >= fastFull && long >= fastLeast) || (e.begun && r.T-e.fastAt >= 1.6*fastTime) {
		e.blockDone()
	}
}

func (e *Estimator) blockDone() {
	e.slow.join(&e.fast)
	e.fastStep()
	e.fast = block{}
	if e.slowDue() {
		e.slowStep()
		e.slow = block{}
	}
}

// join adds the readings of o.
func (b *block) join(o *block) {
	if b.n == 0 {
		b.start = o.start
	}
	b.t += o.t + o.n*(o.start-b.start)
	b.n += o.n
	b.bag += o.bag
	b.gas += o.gas
	b.gasN += o.gasN
	b.air += o.air
	b.airN += o.airN
	b.room += o.room
	b.roomN += o.roomN
}

func (b *block) mean() (t, bag float64) { return b.start + b.t/b.n, b.bag / b.n }
