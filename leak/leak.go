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
	Gas     float64 // best temperature known for the gas in the bag, °C: the glue line's, else the air's
	Air     float64 // temperature of the room's air, °C: the gas follows it sooner than the glue does
}

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

// Crossing is when the vacuum falls to the floor, in seconds from now; +Inf
// when it does not within the horizon, 0 when it is below already.
type Crossing struct{ Early, Expected, Late float64 }
