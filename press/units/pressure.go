package units

import (
	"fmt"
	"math"
	"strings"
)

// Pressure is a pressure in pascal.
type Pressure float64

// PressureUnit is a unit that pressures are read and shown in. The zero value
// is the kilopascal.
type PressureUnit int

// The units of pressure.
const (
	KPa PressureUnit = iota
	Pa
	HPa
	Mbar
	Bar
	Psi
	InHg
	MmHg
	Torr
	numPressureUnits
)

// pressureNames is the list that errors show.
const pressureNames = "kPa, Pa, hPa, mbar, bar, psi, inHg, mmHg, torr"

// spec returns the unit's symbol, its size in pascal (NIST SP 811, appendix
// B.8), and how many decimals of a pressure and of a rate mean something to
// the reader of a vacuum gauge.
func (u PressureUnit) spec() (symbol string, pa float64, decimals, rateDecimals int) {
	switch u {
	case Pa:
		return "Pa", 1, 0, 0
	case HPa:
		return "hPa", 100, 0, 1
	case Mbar:
		return "mbar", 100, 0, 1
	case Bar:
		return "bar", 1e5, 2, 4
	case Psi: // 1 lbf/in² with lbf 4.448 221 615 260 5 N and in 0.0254 m, both exact
		return "psi", 4.4482216152605 / (0.0254 * 0.0254), 1, 3
	case InHg: // inch of mercury, conventional
		return "inHg", 3386.389, 1, 2
	case MmHg: // millimetre of mercury, conventional
		return "mmHg", 133.3224, 0, 1
	case Torr: // 1/760 of a standard atmosphere, exact
		return "torr", 101325.0 / 760, 0, 1
	case KPa, numPressureUnits:
	}
	return "kPa", 1000, 0, 2
}

// String returns the unit's symbol: "kPa", "inHg" …
func (u PressureUnit) String() string {
	symbol, _, _, _ := u.spec()
	return symbol
}

// UnmarshalText reads a unit's symbol in any case of letters.
func (u *PressureUnit) UnmarshalText(text []byte) error {
	unit, ok := pressureUnit(string(text))
	if !ok {
		return fmt.Errorf("unknown unit of pressure %q: use one of %s", clip(string(text)), pressureNames)
	}
	*u = unit
	return nil
}

// MarshalText writes the unit's symbol.
func (u PressureUnit) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

func pressureUnit(symbol string) (PressureUnit, bool) {
	for u := range numPressureUnits {
		if strings.EqualFold(symbol, u.String()) {
			return u, true
		}
	}
	return KPa, false
}

// ParsePressure reads a pressure with its unit, such as "65kPa", "19 inHg",
// "650mbar" or "9.5psi".
func ParsePressure(text string) (Pressure, error) {
	v, symbol, err := split(text, "pressure", pressureNames)
	if err != nil {
		return 0, err
	}
	unit, ok := pressureUnit(symbol)
	if !ok {
		return 0, fmt.Errorf("pressure %q: unknown unit %q: use one of %s", text, symbol, pressureNames)
	}
	_, pa, _, _ := unit.spec()
	if v *= pa; math.IsInf(v, 0) {
		return 0, fmt.Errorf("pressure %q: the number is out of range", text)
	}
	return Pressure(v), nil
}

// Pa returns the pressure in pascal.
func (p Pressure) Pa() float64 { return float64(p) }

// String writes the pressure so that [ParsePressure] reads the very same:
// in kPa where that is exact, else in Pa.
func (p Pressure) String() string {
	kpa := plain(float64(p)/1000) + "kPa"
	if back, err := ParsePressure(kpa); err == nil && back == p {
		return kpa
	}
	return plain(float64(p)) + "Pa"
}

// Set reads the pressure from a flag.
func (p *Pressure) Set(text string) error {
	v, err := ParsePressure(text)
	if err != nil {
		return err
	}
	*p = v
	return nil
}

// Type names the kind of value in a command's help.
func (p *Pressure) Type() string { return "pressure" }

// UnmarshalText reads what [ParsePressure] reads.
func (p *Pressure) UnmarshalText(text []byte) error { return p.Set(string(text)) }

// MarshalText writes what [Pressure.String] writes.
func (p Pressure) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// clip keeps a message short whatever was typed.
func clip(s string) string {
	if len(s) <= maxText {
		return s
	}
	return strings.ToValidUTF8(s[:maxText], "") + "…"
}
