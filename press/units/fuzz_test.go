package units_test

import (
	"testing"

	"github.com/nightclamp/nightclamp/press/units"
)

// What a parser takes it must write so that it reads the very same; what it
// refuses it must refuse with a short error.

func FuzzParsePressure(f *testing.F) {
	for _, s := range []string{"65kPa", "19 inHg", "6.5e4Pa", "-1 kPa", "65", "−1torr", "1e308kPa", "0.1e-320psi"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := units.ParsePressure(s)
		if err != nil {
			checkError(t, err)
			return
		}
		if len(p.String()) > 60 { // longer than what is read; only absurd values are
			return
		}
		if back, err := units.ParsePressure(p.String()); err != nil || back != p {
			t.Errorf("%q reads as %v and back as %v (%v)", s, p, back, err)
		}
	})
}

func FuzzParseTemperature(f *testing.F) {
	for _, s := range []string{"12C", "54 °F", "285K", "-40F", "12", "−5 °C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := units.ParseTemperature(s)
		if err != nil {
			checkError(t, err)
			return
		}
		if len(c.String()) > 60 {
			return
		}
		if back, err := units.ParseTemperature(c.String()); err != nil || back != c {
			t.Errorf("%q reads as %v and back as %v (%v)", s, c, back, err)
		}
	})
}

func FuzzParseDuration(f *testing.F) {
	for _, s := range []string{"36h", "1h30m", "2 d 3 h", "0.1s", "1e3ms", "-5m", "1h30", "106751d23h"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := units.ParseDuration(s)
		if err != nil {
			checkError(t, err)
			return
		}
		if d < 0 {
			t.Fatalf("%q reads as %d ns", s, d)
		}
		if back, err := units.ParseDuration(d.String()); err != nil || !near(back, d) {
			t.Errorf("%q reads as %v and back as %v (%v)", s, d, back, err)
		}
	})
}

// near allows for what a float64 of nanoseconds cannot hold.
func near(a, b units.Duration) bool {
	diff := max(a, b) - min(a, b)
	return diff <= max(a, b)>>52
}

func checkError(t *testing.T, err error) {
	if msg := err.Error(); msg == "" || len(msg) > 600 {
		t.Errorf("an error of %d bytes: %.100s", len(msg), msg)
	}
}
