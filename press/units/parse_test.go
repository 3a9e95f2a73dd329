package units_test

import (
	"encoding"
	"flag"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/units"
)

// Every type reads itself from text and from a flag.
var (
	_ encoding.TextUnmarshaler = (*units.Pressure)(nil)
	_ encoding.TextUnmarshaler = (*units.Temperature)(nil)
	_ encoding.TextUnmarshaler = (*units.Duration)(nil)
	_ flag.Value               = (*units.Pressure)(nil)
	_ flag.Value               = (*units.Temperature)(nil)
	_ flag.Value               = (*units.Duration)(nil)
)

// The sizes are those of NIST SP 811 (2008), appendix B.8, as given there to
// seven digits; torr is also given there as 1.333224 E+02.
func TestPressureFactors(t *testing.T) {
	for text, pa := range map[string]float64{
		"1Pa":     1,
		"1hPa":    100,
		"1mbar":   1.0e2,
		"1bar":    1.0e5,
		"1kPa":    1.0e3,
		"1psi":    6.894757e3,
		"1inHg":   3.386389e3,
		"1mmHg":   1.333224e2,
		"1torr":   1.333224e2,
		"760torr": 101325, // the standard atmosphere, by definition of the torr
	} {
		p, err := units.ParsePressure(text)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Pa(); math.Abs(got/pa-1) > 3e-7 {
			t.Errorf("%s = %.9g Pa, want %.9g", text, got, pa)
		}
	}
}

func TestParsePressure(t *testing.T) {
	for text, pa := range map[string]float64{
		"65kPa": 65000, "19inHg": 64341.391, "650mbar": 65000, "9.5psi": 65500.194,
		"65000Pa": 65000, "650 hPa": 65000, " 65 kPa ": 65000, "65KPA": 65000,
		"6.5e4Pa": 65000, "+65kPa": 65000, "-1kPa": -1000, "−1 kPa": -1000, ".5bar": 50000, "5.bar": 5e5,
	} {
		p, err := units.ParsePressure(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if math.Abs(p.Pa()-pa) > 0.001 {
			t.Errorf("%s = %v Pa, want %v", text, p.Pa(), pa)
		}
	}
}

// 0 °C and 100 °C are 32 °F and 212 °F, 273.15 K and 373.15 K (NIST SP 811,
// appendix B.8); -40 is the same in both scales.
func TestParseTemperature(t *testing.T) {
	for text, c := range map[string]float64{
		"12C": 12, "54F": 12.2222222, "12 °C": 12, "285K": 11.85, "32F": 0, "212 °F": 100,
		"-40F": -40, "−5 °C": -5, "373.15K": 100, "20 °c": 20, "0K": -273.15,
	} {
		got, err := units.ParseTemperature(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if math.Abs(got.C()-c) > 1e-6 {
			t.Errorf("%s = %v °C, want %v", text, got.C(), c)
		}
	}
}

func TestParseDuration(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"36h": 36 * time.Hour, "90m": 90 * time.Minute, "90min": 90 * time.Minute, "2d": 48 * time.Hour,
		"1h30m": 90 * time.Minute, "45s": 45 * time.Second, "1 h 30 min": 90 * time.Minute, "0.1s": 100 * time.Millisecond,
		"2d3h": 51 * time.Hour, "100ms": 100 * time.Millisecond, " 5 s ": 5 * time.Second, "0s": 0, "1.5h": 90 * time.Minute,
	} {
		got, err := units.ParseDuration(text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if got.Std() != want {
			t.Errorf("%s = %v, want %v", text, got.Std(), want)
		}
	}
}

// What cannot be read is refused with the words that help.
func TestRefused(t *testing.T) {
	parse := map[string]func(string) error{
		"p": func(s string) error { _, err := units.ParsePressure(s); return err },
		"t": func(s string) error { _, err := units.ParseTemperature(s); return err },
		"d": func(s string) error { _, err := units.ParseDuration(s); return err },
	}
	for _, c := range []struct{ kind, text, says string }{
		{"p", "65", `pressure "65" has no unit: add one of kPa, Pa, hPa, mbar, bar, psi, inHg, mmHg, torr`},
		{"p", "65 furlong", `unknown unit "furlong": use one of kPa`},
		{"p", "", "does not begin with a number"},
		{"p", "kPa", "does not begin with a number"},
		{"p", "infkPa", "does not begin with a number"},
		{"p", "NaN kPa", "does not begin with a number"},
		{"p", "1e999kPa", "out of range"},
		{"p", "1e306bar", "out of range"},
		{"p", "65,5kPa", `unknown unit ",5kPa"`},
		{"p", "0x10Pa", `unknown unit "x10Pa"`},
		{"p", strings.Repeat("9", 100), "pressure of 100 characters"},
		{"t", "12", `temperature "12" has no unit: add one of C, F, K`},
		{"t", "12R", `unknown unit "R"`},
		{"t", "-300C", "below absolute zero"},
		{"d", "36", `has no unit: add one of d, h, min (or m), s, ms`},
		{"d", "3 fortnights", `unknown unit "fortnights"`},
		{"d", "-5m", "is negative"},
		{"d", "1h-5m", "is negative"},
		{"d", "30m1h", "the largest first"},
		{"d", "1h1h", "the largest first"},
		{"d", "999999d", "at most 292 years"},
		{"d", "1h30", "has no unit"},
		{"d", "", "does not begin with a number"},
	} {
		err := parse[c.kind](c.text)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want an error that says %q", c.text, err, c.says)
		}
	}
}

func TestUnitNames(t *testing.T) {
	var p units.PressureUnit
	if err := p.UnmarshalText([]byte("INHG")); err != nil || p != units.InHg {
		t.Errorf("INHG: %v, %v", p, err)
	}
	if err := p.UnmarshalText([]byte("ton")); err == nil || !strings.Contains(err.Error(), "use one of kPa") {
		t.Errorf("ton: %v", err)
	}
	var c units.TemperatureUnit
	if err := c.UnmarshalText([]byte("°F")); err != nil || c != units.Fahrenheit {
		t.Errorf("°F: %v, %v", c, err)
	}
	if err := c.UnmarshalText([]byte("R")); err == nil {
		t.Error("R was taken for a unit of temperature")
	}
}

// What is written reads back as the very same value.
func TestRoundTrip(t *testing.T) {
	for _, text := range []string{"65kPa", "19inHg", "9.5psi", "1torr", "-1kPa", "0Pa"} {
		p, err := units.ParsePressure(text)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := units.ParsePressure(p.String()); err != nil || back != p {
			t.Errorf("%s: %q reads back as %v (%v)", text, p, back, err)
		}
	}
	for text, want := range map[string]string{"36h": "36h", "2d": "48h", "90m": "1h30m", "100ms": "0.1s", "0s": "0s", "1h5s": "1h5s"} {
		d, err := units.ParseDuration(text)
		if err != nil || d.String() != want {
			t.Errorf("%s is written %q (%v), want %q", text, d, err, want)
		}
	}
}

func TestFlag(t *testing.T) {
	p, d, c := units.Pressure(65000), units.Duration(0), units.Temperature(0)
	fs := flag.NewFlagSet("", flag.ContinueOnError)
	fs.Var(&p, "floor", "")
	fs.Var(&d, "for", "")
	fs.Var(&c, "at", "")
	if err := fs.Parse([]string{"-floor", "19inHg", "-for", "2d", "-at", "54F"}); err != nil {
		t.Fatal(err)
	}
	if p.Pa() != 19*3386.389 || d.Std() != 48*time.Hour || math.Abs(c.C()-12.2222) > 1e-3 {
		t.Errorf("floor %v, for %v, at %v", p, d, c)
	}
	if p.Type() != "pressure" || d.Type() != "duration" || c.Type() != "temperature" {
		t.Errorf("types %s, %s, %s", p.Type(), d.Type(), c.Type())
	}
}
