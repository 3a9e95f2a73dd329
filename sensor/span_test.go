package sensor_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/sensor"
)

// Parts by the ranges that makers sell, in psi and bar, on a bag by the sea.
func TestSpan(t *testing.T) {
	const psi, bar = 6894.757293168, 1e5 // Pa, NIST SP 811
	for _, c := range []struct {
		what      string
		reference string
		a, b      float64
		key       string // of the error; empty: good
		doubt     string // a word of the doubt
	}{
		{"0 to 15 psi absolute", "absolute", 0, 15 * psi, "", ""},
		{"0 to 25 psi absolute", "absolute", 0, 25 * psi, "", ""},
		{"0 to 1.6 bar absolute", "absolute", 0, 1.6 * bar, "", ""},
		{"0.1 to 1.1 bar absolute", "absolute", 0.1 * bar, 1.1 * bar, "", ""},
		{"0 to 1 bar absolute", "absolute", 0, bar, "", "b is 100000 Pa"},
		{"0 to 1 psi absolute", "absolute", 0, psi, "b", ""},
		{"300 to 1100 hPa, a barometer", "absolute", 30000, 110000, "a", ""},
		{"kPa written as Pa", "absolute", 0, 160, "b", ""},
		{"no number", "absolute", math.NaN(), bar, "a", ""},
		{"-15 to 15 psi differential", "gauge", -15 * psi, 15 * psi, "", ""},
		{"-14.5 to 30 psi compound", "gauge", -14.5 * psi, 30 * psi, "", ""},
		{"-1 to 0 bar", "gauge", -bar, 0, "", ""},
		{"-1 to 0 bar, wired the other way", "gauge", 0, -bar, "", ""},
		{"-0.6 to 0.6 bar", "gauge", -0.6 * bar, 0.6 * bar, "", "a is -60000 Pa"},
		{"-0.4 to 0.4 bar", "gauge", -0.4 * bar, 0.4 * bar, "a", ""},
		{"0 to 15 psi gauge", "gauge", 0, 15 * psi, "a", ""},
		{"-1 to 1 psi", "gauge", -psi, psi, "a", ""},
		{"-1 to -0.2 bar", "gauge", -bar, -0.2 * bar, "b", ""},
		{"no number", "gauge", math.NaN(), 0, "a", ""},
	} {
		s := sensor.SpanOf(c.reference, c.a, "a", c.b, "b")
		err := s.Check()
		var wrong *sensor.SpanError
		if c.key == "" && err != nil || c.key != "" && (!errors.As(err, &wrong) || wrong.Key() != c.key || !strings.HasPrefix(wrong.Error(), c.key+" is ")) {
			t.Errorf("%s: got %v", c.what, err)
		}
		if err != nil {
			continue
		}
		key, doubt := s.Doubt(sensor.StandardAtmosphere)
		if (doubt == "") != (c.doubt == "") || !strings.Contains(doubt, c.doubt) || !strings.HasPrefix(doubt, key) {
			t.Errorf("%s: doubt %q", c.what, doubt)
		}
	}
}

// A shop at 900 m has no use for what a part by the sea must have.
func TestSpanInAHighShop(t *testing.T) {
	for what, s := range map[string]sensor.Span{
		"1 bar absolute":  {High: 100000},
		"-85 kPa to room": {Gauge: true, Low: -85000},
	} {
		if _, doubt := s.Doubt(91000); doubt != "" {
			t.Errorf("%s: %s", what, doubt)
		}
		if _, doubt := s.Doubt(sensor.StandardAtmosphere); doubt == "" {
			t.Errorf("%s: no doubt by the sea", what)
		}
	}
}
