package units

import (
	"fmt"
	"math"
	"strings"
)

// Length is a length in metres.
type Length float64

const lengthNames = "mm, cm, m, in, ft"

// lengthUnit is a unit's size in metres, or how many of it make one, which divides
// to the nearest number: inch and foot are exact (NIST SP 811, appendix B.8).
func lengthUnit(symbol string) (m, perM float64, ok bool) {
	switch strings.ToLower(symbol) {
	case "mm":
		return 1, 1000, true
	case "cm":
		return 1, 100, true
	case "m":
		return 1, 1, true
	case "in", `"`, "″", "inch":
		return 0.0254, 1, true
	case "ft", "'", "′":
		return 0.3048, 1, true
	}
	return 0, 1, false
}

// ParseLength reads a length with its unit, such as "31mm", "1.25 in" or "0.8m".
func ParseLength(text string) (Length, error) {
	v, symbol, err := split(text, "length", lengthNames)
	if err != nil {
		return 0, err
	}
	size, per, ok := lengthUnit(symbol)
	if !ok {
		return 0, fmt.Errorf("length %q: unknown unit %q: use one of %s", text, symbol, lengthNames)
	}
	return Length(v * size / per), nil
}

// M returns the length in metres.
func (l Length) M() float64 { return float64(l) }

// Length writes a length (m) as a ruler is read: to half a millimetre's tenth
// below a tenth of a metre, "31.5 mm", and to the millimetre above, "418 mm".
func (d Display) Length(m float64) string {
	if math.Abs(m) < 0.1 {
		return number(1000*m, 1, " mm")
	}
	return number(1000*m, 0, " mm")
}
