package sensor

import (
	"math"
	"time"
)

// StandardAtmosphere is the pressure of the room when nothing better is known,
// Pa (U.S. Standard Atmosphere 1976, sea level).
const StandardAtmosphere = 101325.0

// FromVacuum is the sample of a gauge part, which knows only how far the bag
// is below the room (Pa). Its Bag is what that is under the standard
// atmosphere, until [Sample.In] puts it into the room it was measured in.
func FromVacuum(t time.Time, vacuum float64) Sample {
	s := Blank(t)
	s.Bag = StandardAtmosphere - vacuum
	s.Quality = Gauge
	return s
}

// GaugeVacuum is what a gauge part measured, Pa; NaN for any other sample.
func (s Sample) GaugeVacuum() float64 {
	switch {
	case !s.Quality.Has(Gauge):
		return Missing
	case math.IsNaN(s.Ambient):
		return StandardAtmosphere - s.Bag
	}
	return s.Ambient - s.Bag
}

// In returns the sample with the room at ambient (Pa). A gauge part's Bag
// moves with it, an absolute part's stays.
func (s Sample) In(ambient float64) Sample {
	if v := s.GaugeVacuum(); !math.IsNaN(v) {
		s.Bag = ambient - v
	}
	s.Ambient = ambient
	return s
}
