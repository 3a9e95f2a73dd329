// Package cure works out how much of a glue's press time has been earned at the
// temperatures the glue line really had, and how much is left.
//
// It is pure: no I/O, no clock. Time is the sample's own, in seconds;
// temperatures are in degrees Celsius.
//
// # What it does
//
// A [Sheet] says how long a glue wants pressure at a constant glue-line
// temperature. [Progress] adds up dt / press_time(T(t)) as the samples come,
// and [Progress.Remaining] carries that on along a temperature [Forecast].
// Every answer is a [Band]: the sheet's own range, the spread of the activation
// energy outside the sheet's table and what is not known about the temperature
// are carried through as bounds, never averaged away.
//
// # What it is worth
//
// No published measurement of cure in a vacuum bag against temperature was
// found. The method is a transfer: the equivalent age of the maturity method
// (the form of ASTM C1074) applied to press-time tables made with clamps. For a
// PVA, which sets by losing water and not by a chemical rate, it is a rule of
// thumb with a hard gate at the minimum temperature. A coupon with squeeze-out,
// kept in the bag, is the arbiter; the maker's datasheet goes before anything
// said here.
package cure

import "math"

// Band is a number with its bounds, Low <= Expected <= High.
type Band struct {
	Low      float64 `json:"low"`
	Expected float64 `json:"expected"`
	High     float64 `json:"high"`
}

// Exactly is the band of a number that is known.
func Exactly(x float64) Band { return Band{x, x, x} }

// Finite reports whether none of the three is NaN or infinite.
func (b Band) Finite() bool {
	sum := b.Low + b.Expected + b.High
	return !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// Forecast gives the glue-line temperature ahead seconds from now, °C, with
// bounds. Low and High are whole paths: the temperature is as likely as not to
// touch them at some moment, but its mean stays between them in about nine
// cases of ten.
type Forecast func(ahead float64) Band

// Steady is the forecast that nothing changes.
func Steady(c Band) Forecast { return func(float64) Band { return c } }

// State is what has been earned.
type State struct {
	Earned  Band // share of the press time, 0..1
	Clamped Band // the part of it earned at or above the floor, 0..1
	// TooCold: the glue line is below the minimum use temperature. It clears a
	// quarter of a kelvin above, so that a noisy probe does not flicker; what is
	// earned goes by the exact limit.
	TooCold bool
	Lost    bool    // the film was spoiled by cold; it stays so
	LostAt  float64 // the t at which it was, s; NaN when it was not
	// MayBeLost: during a gap in the record the wet film may have been below the
	// minimum use temperature for longer than it survives. It stays so.
	MayBeLost bool
	// ColdFor is how long the wet film has been below the minimum use
	// temperature in all, s. A sheet with below_min "lost" forgives Sheet.Grace.
	ColdFor float64
	// StopsShort: at this temperature the glue stalls before it is fully cured,
	// however long one waits. Press time may still be reached; full cure needs
	// warmth.
	StopsShort bool
	// Guessed: the last temperature was missing or impossible and stands for
	// the coldest seen lately.
	Guessed bool
}
