package units

import (
	"fmt"
	"math"
	"strings"
)

// Mass is a mass in kilograms.
type Mass float64

const massNames = "g, kg, oz, lb"

// massUnit is a unit's size in kilograms, or how many of it make one: ounce and pound are avoirdupois, exact
// (NIST SP 811, appendix B.8).
func massUnit(symbol string) (kg, perKg float64, ok bool) {
	switch strings.ToLower(symbol) {
	case "g":
		return 1, 1000, true
	case "kg":
		return 1, 1, true
	case "oz":
		return 0.45359237, 16, true
	case "lb", "lbs":
		return 0.45359237, 1, true
	}
	return 0, 1, false
}

// ParseMass reads a mass with its unit, such as "1.85kg" or "4 lb".
func ParseMass(text string) (Mass, error) {
	v, symbol, err := split(text, "weight", massNames)
	if err != nil {
		return 0, err
	}
	size, per, ok := massUnit(symbol)
	if !ok {
		return 0, fmt.Errorf("weight %q: unknown unit %q: use one of %s", text, symbol, massNames)
	}
	return Mass(v * size / per), nil
}

// Kg returns the mass in kilograms.
func (m Mass) Kg() float64 { return float64(m) }

// Mass writes a mass (kg) as kitchen and shop scales show it: "1.85 kg", "850 g".
func (d Display) Mass(kg float64) string {
	if math.Abs(kg) < 0.9995 {
		return number(1000*kg, 0, " g")
	}
	return number(kg, 2, " kg")
}
