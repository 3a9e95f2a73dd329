// Package cure works out how much of a glue's press time has been earned at the
// temperatures the glue line really had, and how much is left.
//
// It is pure: no I/O, no clock. Time is the sample's own, in seconds;
// temperatures are in degrees Celsius.
package cure

// Band is a number with its bounds, Low <= Expected <= High.
type Band struct{ Low, Expected, High float64 }

// Point is one row of a datasheet's press time: how long at what temperature.
type Point struct {
	AtC   float64    // °C
	Hours [2]float64 // low and high; the same when the sheet gives one number
}

// Sheet is an adhesive datasheet; see the package datasheets for its file.
type Sheet struct {
	Name, Family, Title, Source string
	MinUseC, MaxUseC            float64 // glue line, °C
	PressTime                   []Point
	Gas                         bool
	Cautions                    []string
}

// Options say how the work is pressed.
type Options struct {
	// Strained: bent work that is unloaded soon after; the sheet's factor applies.
	Strained bool
}

// PressTimeAt is how long the sheet wants pressure at a constant glue-line
// temperature, s. Below the minimum use temperature it is +Inf.
func (s *Sheet) PressTimeAt(atC float64, o Options) Band { return Band{} }

// Progress earns press time. Its zero value is not ready; use [NewProgress].
type Progress struct{}

// NewProgress starts at nothing earned.
func NewProgress(s *Sheet, o Options) *Progress { return &Progress{} }

// Add says that the glue line is at glueC at time t (s), and whether the
// vacuum is at or above the floor. The interval since the last Add is
// integrated by the trapezoid rule; the first Add only sets the clock.
// A NaN temperature earns what the coldest plausible temperature would.
func (p *Progress) Add(t, glueC float64, clamped bool) {}

// Skip says that nothing is known between the last Add and t, during which the
// glue line was no colder than coldestC. Nothing is earned under clamp.
func (p *Progress) Skip(t, coldestC float64) {}

// State is what has been earned.
type State struct {
	Earned  Band // share of the press time, 0..1
	Clamped Band // the part of it earned at or above the floor, 0..1
	TooCold bool // now below the minimum use temperature
	Lost    bool // the film was spoiled by cold; it stays so
}

// State returns what has been earned up to the last Add.
func (p *Progress) State() State { return State{} }

// Remaining is how long until the clamped progress reaches 1 if the glue line
// goes on as forecast says, s; +Inf when never within the horizon.
func (p *Progress) Remaining(forecast Forecast) Band { return Band{} }

// Forecast gives the glue-line temperature ahead seconds from now, °C, with bounds.
type Forecast func(ahead float64) Band
