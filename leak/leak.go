// Package leak tells a leak from everything else that moves the pressure in a
// sealed bag, and says when the vacuum will cross the floor.
//
// It is pure: no I/O, no clock. Time is the sample's own, in seconds from any
// fixed origin; pressures are absolute, in pascal.
package leak

// Config is what the estimator must know about the bag. The zero value works.
type Config struct {
	// Gassing says that the glue gives off gas while it cures.
	Gassing bool
}

// Reading is one sample as the estimator sees it. NaN is a missing quantity.
type Reading struct {
	T       float64 // s, from a fixed origin; never goes back
	Bag     float64 // absolute pressure in the bag, Pa
	Ambient float64 // absolute pressure of the room, Pa
	Gas     float64 // best temperature known for the gas in the bag, °C
}

// Estimator follows one hold. Its zero value is not ready; use [New].
type Estimator struct {
	cfg  Config
	last Reading
}

// New returns an estimator at the begin of a hold.
func New(cfg Config) *Estimator { return &Estimator{cfg: cfg} }

// Add takes the next reading. It allocates nothing and takes constant time.
func (e *Estimator) Add(r Reading) { e.last = r }

// TopUp says that the pressure up to now has nothing to do with what follows:
// the bag was pumped again. What is known of the leak's conductance is kept.
func (e *Estimator) TopUp() {}

// Estimate is what the readings up to now tell.
type Estimate struct {
	// Settled: the rise after pull-down has died away.
	Settled bool
	// Known: Rate and its bounds mean something.
	Known bool
	// Rate is the leak rate, Pa/h: the rise of bag pressure at the present
	// pressure that does not die away, with settling, temperature and barometer
	// taken out. Low and High bound it at 95 %.
	Rate, Low, High float64
	// Leaking: a leak is certain enough to be said.
	Leaking bool
	// Onset is the T at which the leak began, s; NaN when not leaking.
	Onset float64
	// Noise is the standard deviation of one reading, Pa.
	Noise float64
}

// Estimate returns what is known now.
func (e *Estimator) Estimate() Estimate { return Estimate{} }

// Crossing is when the vacuum falls to the floor, in seconds from now; +Inf
// when it does not within the horizon, 0 when it is below already.
type Crossing struct{ Early, Expected, Late float64 }

// Forecast says when the vacuum will have fallen to floor (Pa), looking at most
// horizon seconds ahead, at the present barometer.
func (e *Estimator) Forecast(floor, horizon float64) Crossing { return Crossing{} }
