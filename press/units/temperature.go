package units

import (
	"fmt"
	"strings"
)

// Temperature is a temperature in degrees Celsius.
type Temperature float64

// AbsoluteZero is 0 K in degrees Celsius; nothing is colder.
const AbsoluteZero Temperature = -273.15

// TemperatureUnit is a unit that temperatures are read and shown in. The zero
// value is the degree Celsius.
type TemperatureUnit int

// The units of temperature.
const (
	Celsius TemperatureUnit = iota
	Fahrenheit
	Kelvin
)

const temperatureNames = "C, F, K (or °C, °F)"

// String returns the unit's symbol: "°C", "°F" or "K".
func (u TemperatureUnit) String() string {
	switch u {
	case Fahrenheit:
		return "°F"
	case Kelvin:
		return "K"
	case Celsius:
	}
	return "°C"
}

// UnmarshalText reads C, F or K, with or without the degree sign.
func (u *TemperatureUnit) UnmarshalText(text []byte) error {
	unit, ok := temperatureUnit(string(text))
	if !ok {
		return fmt.Errorf("unknown unit of temperature %q: use one of %s", clip(string(text)), temperatureNames)
	}
	*u = unit
	return nil
}

// MarshalText writes the unit's letter.
func (u TemperatureUnit) MarshalText() ([]byte, error) {
	return []byte(strings.TrimPrefix(u.String(), "°")), nil
}

func temperatureUnit(symbol string) (TemperatureUnit, bool) {
	symbol = strings.TrimSpace(symbol)
	switch strings.ToUpper(symbol) {
	case "C", "°C", "º C", "° C", "ºC", "℃":
		return Celsius, true
	case "F", "°F", "° F", "ºF", "℉":
		return Fahrenheit, true
	case "K", "\u212a": // and the Kelvin sign, which looks the same
		return Kelvin, true
	}
	return Celsius, false
}

// toCelsius and fromCelsius follow NIST SP 811, appendix B.8:
// t/°C = (t/°F − 32)/1.8 and t/°C = T/K − 273.15.
func (u TemperatureUnit) toCelsius(v float64) float64 {
	switch u {
	case Fahrenheit:
		return (v - 32) / 1.8
	case Kelvin:
		return v - 273.15
	case Celsius:
	}
	return v
}

func (u TemperatureUnit) fromCelsius(c float64) float64 {
	switch u {
	case Fahrenheit:
		return c*1.8 + 32
	case Kelvin:
		return c + 273.15
	case Celsius:
	}
	return c
}

// ParseTemperature reads a temperature with its unit, such as "12C", "54 °F"
// or "285K". Below absolute zero is an error.
func ParseTemperature(text string) (Temperature, error) {
	v, symbol, err := split(text, "temperature", temperatureNames)
	if err != nil {
		return 0, err
	}
	unit, ok := temperatureUnit(symbol)
	if !ok {
		return 0, fmt.Errorf("temperature %q: unknown unit %q: use one of %s", text, symbol, temperatureNames)
	}
	c := Temperature(unit.toCelsius(v))
	if c < AbsoluteZero {
		return 0, fmt.Errorf("temperature %q is below absolute zero", text)
	}
	return c, nil
}

// C returns the temperature in degrees Celsius.
func (t Temperature) C() float64 { return float64(t) }

// String writes the temperature in °C so that [ParseTemperature] reads the
// very same.
func (t Temperature) String() string { return plain(float64(t)) + "C" }

// Set reads the temperature from a flag.
func (t *Temperature) Set(text string) error {
	v, err := ParseTemperature(text)
	if err != nil {
		return err
	}
	*t = v
	return nil
}

// Type names the kind of value in a command's help.
func (t *Temperature) Type() string { return "temperature" }

// UnmarshalText reads what [ParseTemperature] reads.
func (t *Temperature) UnmarshalText(text []byte) error { return t.Set(string(text)) }

// MarshalText writes what [Temperature.String] writes.
func (t Temperature) MarshalText() ([]byte, error) { return []byte(t.String()), nil }
