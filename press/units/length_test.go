package units_test

import (
	"math"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press/units"
)

// Inch, foot, ounce and pound to the digits of NIST SP 811 (2008), appendix B.8.
func TestLengthAndMassFactors(t *testing.T) {
	for text, m := range map[string]float64{
		"31mm": 0.031, "3.1 cm": 0.031, "0.031m": 0.031, "1in": 2.54e-2, `1.25"`: 3.175e-2, "1ft": 3.048e-1, "−2 mm": -0.002,
	} {
		if l, err := units.ParseLength(text); err != nil || math.Abs(l.M()-m) > 1e-12 {
			t.Errorf("%s is %v m, want %v (%v)", text, l.M(), m, err)
		}
	}
	for text, kg := range map[string]float64{
		"1850g": 1.85, "1.85 kg": 1.85, "1lb": 4.535924e-1, "1oz": 2.834952e-2, "4 lbs": 1.8143695,
	} {
		if m, err := units.ParseMass(text); err != nil || math.Abs(m.Kg()/kg-1) > 3e-7 {
			t.Errorf("%s is %v kg, want %v (%v)", text, m.Kg(), kg, err)
		}
	}
	for _, bad := range []string{"31", "mm", "31 kg", "1 1/4in", strings.Repeat("1", 99)} {
		if _, err := units.ParseLength(bad); err == nil {
			t.Errorf("length %q is taken", bad)
		}
	}
	for _, bad := range []string{"2", "2 mm", "two kg"} {
		if _, err := units.ParseMass(bad); err == nil {
			t.Errorf("weight %q is taken", bad)
		}
	}
}

func TestDisplayLengthAndMass(t *testing.T) {
	d := units.Display{}
	for got, want := range map[string]string{
		d.Length(0.0315): "31.5 mm", d.Length(0.4182): "418 mm", d.Length(math.NaN()): "–",
		d.Mass(1.854): "1.85 kg", d.Mass(0.85): "850 g", d.Mass(math.NaN()): "–",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"31mm", "1.25 in", "−2cm", "", "1e400m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if l, err := units.ParseLength(text); err == nil && (math.IsNaN(l.M()) || math.IsInf(l.M(), 0)) {
			t.Errorf("%q is %v", text, l)
		}
	})
}
