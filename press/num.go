package press

import (
	"math"
	"strconv"
)

// Num is a number that may be unknown. Unknown is NaN in Go and null in JSON,
// so that nothing has to be a pointer and no reader mistakes a missing
// pressure for a perfect vacuum.
type Num float64

// Unknown is the Num that is not known.
func Unknown() Num { return Num(math.NaN()) }

// Known reports whether the number is a finite value.
func (n Num) Known() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// Or returns the number, or other when it is not known.
func (n Num) Or(other float64) float64 {
	if n.Known() {
		return float64(n)
	}
	return other
}

// MarshalJSON writes a plain decimal, or null. Numbers from 100 up are written
// to a thousandth, smaller ones to a millionth, those below a thousandth to a billionth.
func (n Num) MarshalJSON() ([]byte, error) { return n.append(nil), nil }

func (n Num) append(b []byte) []byte {
	if !n.Known() {
		return append(b, "null"...)
	}
	return strconv.AppendFloat(b, rounded(float64(n)), 'f', -1, 64)
}

// rounded drops the digits that no sensor and no forecast has: a millipascal,
// a millisecond, a millionth of the press time, a nanometre of a hole.
func rounded(v float64) float64 {
	unit := 1e6
	switch size := math.Abs(v); {
	case size >= 1e12: // it has no such digits, and times a thousand it might be no number
		return v
	case size >= 100:
		unit = 1e3
	case size < 1e-3: // the flow through a leak and the hole that would let it in
		unit = 1e9
	}
	return math.Round(v*unit) / unit
}

// UnmarshalJSON reads a number, or null as unknown.
func (n *Num) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = Unknown()
		return nil
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		return err
	}
	*n = Num(v)
	return nil
}
