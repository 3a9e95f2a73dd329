package units

import (
	"math"
	"strconv"
	"time"
)

// Display writes quantities for one reader. Its zero value shows kPa, °C and
// UTC on a 24-hour clock.
type Display struct {
	PressureUnit    PressureUnit
	TemperatureUnit TemperatureUnit
	Location        *time.Location // nil: UTC
	Clock12         bool           // "9:50 am" instead of "09:50"
}

// Pressure writes a pressure (Pa) with as many digits as a gauge is read to:
// "84 kPa", "24.8 inHg", "840 mbar". Below ten units one more digit is given.
func (d Display) Pressure(pa float64) string {
	symbol, size, decimals, _ := d.PressureUnit.spec()
	v := pa / size
	if math.Abs(v) < 9.95 && d.PressureUnit != Pa {
		decimals = max(decimals, 1)
	}
	return number(v, decimals, " "+symbol)
}

// PressureNumber converts a pressure (Pa), unrounded, and names its unit.
func (d Display) PressureNumber(pa float64) (value float64, unit string) {
	symbol, size, _, _ := d.PressureUnit.spec()
	return pa / size, symbol
}

// TemperatureNumber converts a temperature (°C), unrounded, and names its unit.
func (d Display) TemperatureNumber(c float64) (value float64, unit string) {
	return d.TemperatureUnit.fromCelsius(c), d.TemperatureUnit.String()
}

// Rate writes a rate of pressure (Pa/h) to two significant digits, but none
// smaller than a bag shows: "2.1 kPa/h", "0.35 kPa/h", "12 mbar/h".
func (d Display) Rate(paPerH float64) string {
	symbol, size, _, finest := d.PressureUnit.spec()
	v := paPerH / size
	return number(v, min(twoDigits(v), finest), " "+symbol+"/h")
}

// twoDigits is how many decimals show two significant digits of v.
func twoDigits(v float64) int {
	decimals := 1
	for a := math.Abs(v); a < 0.995 && decimals < 6; a *= 10 {
		decimals++
	}
	if math.Abs(v) >= 9.95 {
		decimals = 0
	}
	return decimals
}

// Temperature writes a temperature (°C) to a tenth of a degree: "11.5 °C".
func (d Display) Temperature(c float64) string {
	return number(d.TemperatureUnit.fromCelsius(c), 1, " "+d.TemperatureUnit.String())
}

// Humidity writes a relative humidity (%) in whole per cent: "78 %".
func Humidity(percent float64) string { return number(percent, 0, " %") }

// number writes v with the decimals and the unit, or [Missing].
func number(v float64, decimals int, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Missing
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if back, err := strconv.ParseFloat(s, 64); err == nil && back == 0 {
		s = strconv.FormatFloat(0, 'f', decimals, 64) // never "-0"
	}
	return s + unit
}
