package sensor

import "fmt"

// Span is the range of a pressure part on a bag, as its config has it.
type Span struct {
	Gauge           bool    // against the room, so negative below it; else absolute
	Low, High       float64 // its ends, Pa
	LowKey, HighKey string  // the options that say so
}

// SpanOf is the span between two ends in any order.
func SpanOf(reference string, a float64, aKey string, b float64, bKey string) Span {
	if b < a {
		a, aKey, b, bKey = b, bKey, a, aKey
	}
	return Span{Gauge: reference == "gauge", Low: a, High: b, LowKey: aKey, HighKey: bKey}
}

// What a part must see to be of use on a bag, Pa. Common practice, no source: a
// workshop pump leaves 5 kPa to 20 kPa in a bag, nobody presses wood where the
// room has less than 50 kPa, and with less than half an atmosphere of vacuum
// hardly a glue is clamped.
const (
	deepestBag    = 10e3
	leastRoom     = 50e3
	leastVacuum   = 50e3
	wholeVacuum   = 90e3
	gaugeOpenSlip = 5e3 // that a part may end below the room, after a calibration by hand
)

// SpanError says which end of a range cannot be, and what kind of part fits.
type SpanError struct {
	key, text string
}

func (e *SpanError) Error() string { return e.text }

// Key is the option that the error is about.
func (e *SpanError) Key() string { return e.key }

// Check refuses a part that cannot see the vacuum of a bag, or not the bag while
// it is open. Its error is a [*SpanError].
func (s Span) Check() error {
	fault := func(key string, pa float64, format string, args ...any) error {
		return &SpanError{key, fmt.Sprintf("%s is %g Pa: ", key, pa) + fmt.Sprintf(format, args...)}
	}
	switch {
	case s.Gauge && !(s.Low <= -leastVacuum):
		return fault(s.LowKey, s.Low, "against the room a vacuum is negative, and of a bag's this part sees %s; take one that measures "+
			"to -100000 Pa, which is a compound, a vacuum or a differential part, or an absolute one (reference = \"absolute\")", portion(-s.Low))
	case s.Gauge && !(s.High >= -gaugeOpenSlip):
		return fault(s.HighKey, s.High, "a bag that is open has the pressure of the room, 0 Pa, and this part does not reach it; give the upper end of its range")
	case !s.Gauge && !(s.Low <= deepestBag):
		return fault(s.LowKey, s.Low, "a bag is drawn down to 10000 Pa and below, which this absolute part does not see; take one whose range "+
			"begins at 0, such as 0 to 160000 Pa; a part that measures against the room is reference = \"gauge\"")
	case !s.Gauge && !(s.High >= leastRoom):
		return fault(s.HighKey, s.High, "an absolute part on a bag also has to read the room, about 100000 Pa, while the bag is open; take one "+
			"whose range ends there or above, such as 0 to 160000 Pa")
	}
	return nil
}

func portion(vacuum float64) string {
	if vacuum <= 0 {
		return "nothing"
	}
	return fmt.Sprintf("no more than %g Pa", vacuum)
}

// Doubt is what must be known about a part that [Span.Check] lets through, in a
// room of that pressure (Pa), and the option that says it; empty: nothing.
func (s Span) Doubt(room float64) (key, text string) {
	whole := min(wholeVacuum, 0.9*room)
	switch {
	case s.Gauge && s.Low > -whole:
		return s.LowKey, fmt.Sprintf("%s is %g Pa: a deeper vacuum is not seen, and a good pump makes one", s.LowKey, s.Low)
	case !s.Gauge && s.High < room:
		return s.HighKey, fmt.Sprintf("%s is %g Pa, and the room has %.0f Pa (station_pressure, or the standard atmosphere): an open bag is beyond the "+
			"range of the part, so that it cannot be zeroed there; under vacuum it reads well", s.HighKey, s.High, room)
	}
	return "", ""
}
