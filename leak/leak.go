// Package leak tells a leak from everything else that moves the pressure in a
// sealed bag, says how big it is and when it began, and when the vacuum will
// cross the floor.
//
// It is pure: no I/O, no clock. Time is the sample's own, in seconds from any
// fixed origin; pressures are absolute, in pascal; temperatures in °C. It takes
// readings from 0.1 to 50 Hz, irregular ones too, allocates nothing and takes
// constant memory.
//
//	e := leak.New(leak.Config{})
//	e.Add(leak.Reading{T: t, Bag: bag, Ambient: room, Gas: glueline, Air: air}) // every sample
//	e.TopUp()                                                                   // after pump strokes
//	now := e.Estimate()                                                         // as often as you like
//	floor := e.Forecast(65e3, 48*3600)
//
// # The model
//
// The pressure in the bag is the sum of a level, which a leak raises; a settling
// of five exponentials (1 min to 3 h) that can only come out, for trapped air and
// moisture, or of slower ones for a glue that gives off gas; the gas's answer to
// the temperatures, (p/T)·dT, each with its own lag and a share that is learnt in
// the night; water vapour, up to saturation at the glue's temperature; the room's
// pressure, for a part or a bag that feels it; and a stray part for what no
// thermometer shows. A leak flows as through an orifice (ISO 9300): steadily while
// the bag is below 0.528 of the room, then less and less.
//
// Two Kalman filters follow that. The slow one takes a block of a minute and
// knows all of the above; the fast one takes a block of seconds and knows only a
// level and a drift beside what the slow one foresees. Their noise comes from the
// readings themselves, and a part that reads in coarse steps is not taken for one
// without noise.
//
// # The test
//
// Beside each filter stand guesses that the leak changed at some moment, spaced
// by their age, so that a few dozen span a night. How a change would show in what
// surprises the filter is known, so each guess gathers the likelihood ratio for
// its own size of change (Willsky and Jones, IEEE Trans. Automatic Control 21,
// 1976). A change that stands out by 5.7 standard deviations is then weighed
// against other stories by least squares over the blocks still kept: a jump (a
// part, a valve), a rise that is over (a pinched hose let go). Only one that goes
// on is a leak. Its size is refined by least squares over all its blocks for a
// quarter of an hour, its onset with it. A leak that was there from the start is
// said when the settling is over and it is five standard deviations from none.
// Moves that no leak explains (a fall, a jump, a top-up nobody needed) make the
// estimator ask for more for some hours.
//
// # What it cannot know
//
// Before the settling is over nothing tells a leak from it: Rate is then all of
// the rise that might be a leak, Low is nothing, and Known says only that this
// bound is good. A moisture-cured polyurethane gives off gas for hours, and a
// steady leak hides behind that as long. Without a thermometer in the air a
// heater looks like a small leak for half an hour, so small leaks take longer. A
// gauge part without a barometer takes a front for a leak or hides one. A drift
// of the part itself is a leak to it. Nothing below 150 Pa/h is called a leak.
// A pinched hose is noticed by its silence only when the noise came from the
// bag. After a gap nothing is assumed of what happened meanwhile.
//
// # Figures
//
// Measured by the command in leak/nights and the benchmarks; the README beside
// this file has the tables and the commands.
//
// [DropTest] guides a drop test, [Flow], [Hole], [Volume] and [Cycles] put a leak
// in other terms, [Worsening] compares runs.
package leak

// Config is what the estimator must know about the bag. The zero value works.
type Config struct {
	// Gassing says that the glue gives off gas while it cures.
	Gassing bool
}

// Reading is one sample as the estimator sees it. NaN is a missing quantity;
// mind that a field left out is a zero, which is a reading.
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
	// taken out. Low and High bound it at 95 %. Until the settling can be told
	// apart Rate is all of the rise that might be a leak, and Low is 0.
	Rate, Low, High float64
	// Leaking: a leak is certain enough to be said.
	Leaking bool
	// Onset is the T at which the leak began, s; NaN when not leaking.
	Onset float64
	// Noise is the standard deviation of one reading, Pa; NoiseLately the same of
	// the last few dozen.
	Noise, NoiseLately float64
	// Hushed: the readings have become far quieter than they were, so that they
	// hardly come from the bag. They are not believed.
	Hushed bool
}

// Crossing is when the vacuum falls to the floor, in seconds from now; +Inf
// when it does not within the horizon, 0 when it is below already.
type Crossing struct{ Early, Expected, Late float64 }
