package cure

import (
	"math"
	"time"
)

// Families of adhesive that a sheet may name.
const (
	PVA          = "pva"
	PVACross     = "pva-crosslinking"
	Polyurethane = "polyurethane-1c"
	Urea         = "urea-formaldehyde"
	Resorcinol   = "resorcinol"
	Epoxy        = "epoxy"
)

// Families returns the names of the families there are.
func Families() []string {
	return []string{PVA, PVACross, Polyurethane, Urea, Resorcinol, Epoxy}
}

// What becomes of the film below the minimum use temperature while it is wet.
const (
	Lost   = "lost"   // it chalks or dries out, and later warmth does not mend it
	Paused = "paused" // it waits
)

// Defaults for what a sheet leaves out.
const (
	// DefaultActivationLow and High, kJ/mol: least-squares fits to published
	// clamp and press tables of UF, RF and PRF give 51 to 70. Judgement, not a
	// published pair.
	DefaultActivationLow  = 50.0
	DefaultActivationHigh = 70.0
	// DefaultStrained: a joint that is strained soon after has at least double
	// the clamp time (a two-part UF table in a light-aircraft construction
	// manual, 2002).
	DefaultStrained = 2.0
	// DefaultGrace, s, is how long a wet film may be below the minimum in all
	// before it counts as lost. Dry veneer takes most of a glue line's water in
	// about this time, and until then it can be warmed. Common practice, no source.
	DefaultGrace = 15 * 60.0
	// DefaultMaxUse, °C, where a sheet gives no max_use_c.
	DefaultMaxUse = 40.0
)

// Point is one row of a datasheet's press time: how long at what temperature.
type Point struct {
	AtC   float64    // °C
	Hours [2]float64 // low and high; the same when the sheet gives one number
}

// Limit is one row of an assembly time: how long at most, at what temperature.
type Limit struct {
	AtC     float64    // °C
	Minutes [2]float64 // low and high; the same when the sheet gives one number
}

// Sheet is an adhesive datasheet; see the package datasheets for its file.
// A sheet made by [ParseSheet] is complete; in one made by hand, zero in
// StrainedFactor, Activation, MaxUseC or Grace stands for the default.
type Sheet struct {
	Name, Family, Title, Source string
	MinUseC, MaxUseC            float64 // glue line, °C
	PressTime                   []Point // warmest last
	Gas                         bool    // gives off gas while it cures
	Cautions                    []string

	StrainedFactor float64    // press time of bent work over that of flat work, at least 1
	OpenAssembly   []Limit    // glue wet, faces apart
	ClosedAssembly []Limit    // faces together, no pressure
	FullCure       []Point    // service strength, not release from the bag
	Activation     [2]float64 // kJ/mol, low and high
	BelowMin       string     // Lost or Paused
	Grace          float64    // s below MinUseC that a wet film survives, in all
	StopsShortC    float64    // °C below which cure stalls short of full; NaN or 0: not said
	Glass          *Glass     // nil: not said
	Spread         [2]float64 // g/m² of a glue line in total
	WaterFraction  float64    // share of the spread that is water, 0..1
	Moisture       [2]float64 // % of the oven-dry mass the wood should have; zero: not said

	// Assumed are the defaults that [ParseSheet] put in for what the file leaves out.
	Assumed []string
}

// notGiven is the source of a sheet that names none.
const notGiven = "not given"

// Options say how the work is pressed.
type Options struct {
	// Strained: bent work that is unloaded soon after; the sheet's factor applies.
	Strained bool
}

// activation is the band in J/mol.
func (s *Sheet) activation() (low, high float64) {
	low, high = s.Activation[0], s.Activation[1]
	if low <= 0 || high < low {
		low, high = DefaultActivationLow, DefaultActivationHigh
	}
	return low * 1000, high * 1000
}

func (s *Sheet) strained() float64 {
	if s.StrainedFactor < 1 {
		return DefaultStrained
	}
	return s.StrainedFactor
}

func (s *Sheet) factor(o Options) float64 {
	if o.Strained {
		return s.strained()
	}
	return 1
}

func (s *Sheet) maxUse() float64 {
	if s.MaxUseC == 0 {
		return math.Max(DefaultMaxUse, s.MinUseC)
	}
	return s.MaxUseC
}

func (s *Sheet) grace() float64 {
	if s.Grace == 0 {
		return DefaultGrace
	}
	return s.Grace
}

// StopsShort reports whether the glue stalls short of full cure at atC.
func (s *Sheet) StopsShort(atC float64) bool {
	return s.StopsShortC != 0 && atC < s.StopsShortC // false for a NaN on either side
}

// GraceTime is how long a wet film may be below the minimum use temperature, in
// all, before it counts as lost.
func (s *Sheet) GraceTime() time.Duration { return seconds(s.grace()) }

// seconds turns s into a duration; what does not fit becomes the longest there is.
func seconds(s float64) time.Duration {
	if s >= math.MaxInt64/1e9 {
		return math.MaxInt64
	}
	return time.Duration(s * 1e9)
}
