package sensor

import "math"

// Quantity names one of the five things a sample holds, in the words of the
// wire.
type Quantity string

// The quantities.
const (
	Bag      Quantity = "bag"
	Ambient  Quantity = "ambient"
	GlueLine Quantity = "glueline"
	Air      Quantity = "air"
	Humidity Quantity = "humidity"
)

// Quantities returns all quantities there are.
func Quantities() []Quantity { return []Quantity{Bag, Ambient, GlueLine, Air, Humidity} }

// Silent is the remark that the part for the quantity did not answer.
func (q Quantity) Silent() Quality {
	switch q {
	case Bag:
		return BagSilent
	case Ambient:
		return AmbientSilent
	case GlueLine:
		return GlueLineSilent
	case Air:
		return AirSilent
	case Humidity:
		return HumiditySilent
	}
	return 0
}

// Of returns the quantity's value in s, NaN when it is missing or unknown.
func (q Quantity) Of(s Sample) float64 {
	switch q {
	case Bag:
		return s.Bag
	case Ambient:
		return s.Ambient
	case GlueLine:
		return s.GlueLine
	case Air:
		return s.Air
	case Humidity:
		return s.Humidity
	}
	return Missing
}

// With returns s with the quantity set to v.
func (q Quantity) With(s Sample, v float64) Sample {
	switch q {
	case Bag:
		s.Bag = v
	case Ambient:
		s.Ambient = v
	case GlueLine:
		s.GlueLine = v
	case Air:
		s.Air = v
	case Humidity:
		s.Humidity = v
	}
	return s
}

// Knows reports whether the sample has a value for the quantity.
func (s Sample) Knows(q Quantity) bool { return !math.IsNaN(q.Of(s)) }
