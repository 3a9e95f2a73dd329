// Package sensor holds the one Sample type, the one Source interface and a
// folder for each part that can be read.
//
// A Source reads what its part knows, which is seldom a whole sample: a
// pressure part knows the bag, a barometer the room, a thermometer the glue
// line. What a part does not know it leaves as NaN ([Missing]). [Merge] lays
// the partial samples of one press on top of each other.
//
// Everything is SI: pascal, degrees Celsius, UTC.
package sensor

import (
	"context"
	"math"
	"time"
)

// Quality says what is known to be wrong, or merely assumed, about a Sample.
// The zero value is a sample with nothing to remark.
type Quality uint16

// The remarks a Source or the sampling loop can make about a sample.
const (
	// Gauge: the part measured the vacuum itself, against the room. Bag was
	// derived as Ambient minus vacuum and is only as good as Ambient.
	Gauge Quality = 1 << iota
	// AmbientAssumed: no barometer answered; Ambient is the configured station
	// pressure or the standard atmosphere.
	AmbientAssumed
	// BagSilent, AmbientSilent, GlueLineSilent, AirSilent: the part that should
	// have given the quantity did not answer. (A quantity that no part is
	// configured for is missing without being silent.)
	BagSilent
	AmbientSilent
	GlueLineSilent
	AirSilent
	// Saturated: the part says that its reading is at the end of its range.
	Saturated
	// ClockSet: the wall clock was stepped since the sample before.
	ClockSet
	// HumiditySilent is as AirSilent; it stands last because kept samples hold
	// these numbers.
	HumiditySilent
)

// Missing is the value of a quantity that was not read.
var Missing = math.NaN() //nolint:gochecknoglobals // a constant in all but name: Go has no NaN constants.

// Sample is one reading of one press at one moment.
type Sample struct {
	// Time is the wall-clock time of the reading, UTC.
	Time time.Time
	// Mono is a monotonic reading of the same moment, counted from the boot
	// that Boot names. Zero when the source has none (a recorded file).
	Mono time.Duration
	// Boot identifies the boot of the machine that took the reading; empty when
	// the source has none. Mono of two boots cannot be compared.
	Boot string

	// Bag is the absolute pressure in the bag, Pa.
	Bag float64
	// Ambient is the absolute pressure of the room (station pressure, not
	// reduced to sea level), Pa.
	Ambient float64
	// GlueLine is the temperature at the glue line, °C.
	GlueLine float64
	// Air is the temperature of the room's air, °C.
	Air float64
	// Humidity is the relative humidity of the room's air over water, %, to 100. No
	// shop has 0: like NaN it stands for one that was not read; see
	// [Sample.RelativeHumidity].
	Humidity float64

	Quality Quality
}

// Blank returns a sample at t with every quantity missing.
func Blank(t time.Time) Sample {
	return Sample{Time: t, Bag: Missing, Ambient: Missing, GlueLine: Missing, Air: Missing, Humidity: Missing}
}

// Vacuum is what clamps the work: ambient minus bag pressure, Pa. It is NaN
// when either is missing.
func (s Sample) Vacuum() float64 { return s.Ambient - s.Bag }

// RelativeHumidity is that of the room's air, %; NaN when it was not read.
func (s Sample) RelativeHumidity() float64 {
	if s.Humidity <= 0 {
		return Missing
	}
	return s.Humidity
}

// Has reports whether every remark in q was made about the sample.
func (q Quality) Has(remark Quality) bool { return q&remark == remark }

// Merge lays the quantities that over knows on top of s and joins the remarks.
// A gauge part's Bag is merged as its driver derived it; the sampling loop
// corrects it once the barometer's reading is there.
func (s Sample) Merge(over Sample) Sample {
	if !math.IsNaN(over.Bag) {
		s.Bag = over.Bag
	}
	if !math.IsNaN(over.Ambient) {
		s.Ambient = over.Ambient
	}
	if !math.IsNaN(over.GlueLine) {
		s.GlueLine = over.GlueLine
	}
	if !math.IsNaN(over.Air) {
		s.Air = over.Air
	}
	if !math.IsNaN(over.Humidity) {
		s.Humidity = over.Humidity
	}
	s.Quality |= over.Quality
	return s
}

// Source reads one part.
//
// Read returns what the part knows now, as a partial Sample whose Time is the
// moment of the reading. An error means that this reading failed; the caller
// closes the source, waits and opens it again. [io.EOF] means that a recorded
// source is at its end. Read blocks at most as long as the part needs for one
// conversion, or until ctx ends.
type Source interface {
	Read(ctx context.Context) (Sample, error)
	Close() error
}
