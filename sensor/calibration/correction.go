package calibration

import (
	"fmt"
	"math"
	"strings"

	"github.com/nightclamp/nightclamp/sensor"
)

// Correction is what is in force for one sensor. The zero value changes nothing.
type Correction struct{ bag, ambient terms }

// terms correct one quantity.
type terms struct {
	zero, span, temperature *Entry
}

// For is what is in force for a sensor.
func (b Book) For(press, name string) Correction {
	var c Correction
	for i := range b.Entries {
		e := &b.Entries[i]
		if !e.about(press, name) || !e.InForce() {
			continue
		}
		t := &c.bag
		if e.Quantity == sensor.Ambient {
			t = &c.ambient
		}
		switch e.Kind {
		case Zero:
			t.zero = e
		case Span:
			t.span = e
		case Temperature:
			t.temperature = e
		}
	}
	return c
}

// AmbientError is how sure the barometer's own zero is, Pa, one standard deviation;
// false when it has none.
func (c Correction) AmbientError() (pa float64, calibrated bool) {
	if c.ambient.zero == nil {
		return 0, false
	}
	return c.ambient.zero.ErrorPa, true
}

// Apply takes the errors out of what a sensor read. airC is the newest known
// temperature of the air, NaN: none is.
func (c Correction) Apply(s sensor.Sample, airC float64) sensor.Sample {
	s.Ambient = c.ambient.absolute(s.Ambient, airC)
	vacuum := s.GaugeVacuum()
	if math.IsNaN(vacuum) {
		s.Bag = c.bag.absolute(s.Bag, airC)
		return s
	}
	room := s.Bag + vacuum
	s.Bag = room - c.bag.gauge(vacuum, airC)
	return s
}

func (t terms) absolute(pa, airC float64) float64 {
	pa += t.offset(airC)
	if t.span != nil {
		pa = t.span.PivotPa + (pa-t.span.PivotPa)*t.span.Factor
	}
	return pa
}

// gauge corrects a vacuum: what is added to the pressure is taken from it, but for
// the zero, which was taken as vacuum.
func (t terms) gauge(vacuum, airC float64) float64 {
	if t.zero != nil {
		vacuum += t.zero.OffsetPa
	}
	vacuum -= t.drift(airC)
	if t.span != nil {
		vacuum *= t.span.Factor
	}
	return vacuum
}

func (t terms) offset(airC float64) float64 {
	if t.zero == nil {
		return t.drift(airC)
	}
	return t.zero.OffsetPa + t.drift(airC)
}

func (t terms) drift(airC float64) float64 {
	if t.temperature == nil || math.IsNaN(airC) {
		return 0
	}
	return t.temperature.PaPerK * (airC - t.temperature.AtC)
}

// ZeroFor is the offset of a new zero of a quantity, with which a reading becomes
// known: a pressure, or for a gauge part a vacuum; all in Pa.
func (c Correction) ZeroFor(q sensor.Quantity, gauge bool, read, known, airC float64) float64 {
	t := c.of(q)
	factor, pivot := 1.0, 0.0
	if t.span != nil {
		factor, pivot = t.span.Factor, t.span.PivotPa
	}
	if gauge {
		return known/factor - read + t.drift(airC)
	}
	return pivot + (known-pivot)/factor - read - t.drift(airC)
}

// SpanFor is the factor and the pivot of a new span with which a reading becomes
// known. The pivot is where the zero was taken, else room.
func (c Correction) SpanFor(q sensor.Quantity, gauge bool, read, known, room, airC float64) (factor, pivot float64) {
	t := c.of(q)
	bare := terms{zero: t.zero, temperature: t.temperature}
	if gauge {
		return known / bare.gauge(read, airC), 0
	}
	pivot = room
	if t.zero != nil {
		pivot = t.zero.KnownPa
	}
	return (known - pivot) / (bare.absolute(read, airC) - pivot), pivot
}

func (c Correction) of(q sensor.Quantity) terms {
	if q == sensor.Ambient {
		return c.ambient
	}
	return c.bag
}

// Drift is the temperature coefficient in force for the bag, Pa/K, and the newest of
// the entries in force.
func (c Correction) Drift() (paPerK float64, newest Entry) {
	for _, e := range []*Entry{c.bag.zero, c.bag.span, c.bag.temperature} {
		if e != nil && e.At.After(newest.At) {
			newest = *e
		}
	}
	if t := c.bag.temperature; t != nil {
		paPerK = t.PaPerK
	}
	return paPerK, newest
}

// String says what is in force in one line; empty when nothing is.
func (c Correction) String() string {
	var parts []string
	for _, q := range []struct {
		name sensor.Quantity
		terms
	}{{sensor.Bag, c.bag}, {sensor.Ambient, c.ambient}} {
		for _, e := range []*Entry{q.zero, q.span, q.temperature} {
			if e != nil {
				parts = append(parts, fmt.Sprintf("%s %s", q.name, e.Short()))
			}
		}
	}
	return strings.Join(parts, ", ")
}

// Short says an entry in a few words.
func (e Entry) Short() string {
	what := ""
	switch e.Kind {
	case Zero:
		what = fmt.Sprintf("zero %+.0f Pa", e.OffsetPa)
	case Span:
		what = fmt.Sprintf("span %+.2f %%", 100*(e.Factor-1))
	case Temperature:
		what = fmt.Sprintf("temperature %+.1f Pa/K about %.0f °C", e.PaPerK, e.AtC)
	}
	return fmt.Sprintf("%s of %s against %s", what, e.At.UTC().Format("2006-01-02"), e.Against)
}
