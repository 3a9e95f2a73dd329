package units_test

import (
	"testing"

	"github.com/nightclamp/nightclamp/press/units"
)

func TestParseBytes(t *testing.T) {
	for text, want := range map[string]units.Bytes{"200MB": 200e6, "1 GiB": 1 << 30, "1.5 kB": 1500, "0GB": 0, "3mib": 3 << 20} {
		got, err := units.ParseBytes(text)
		if err != nil || got != want {
			t.Errorf("%s is %d, want %d (%v)", text, got, want, err)
		}
		if back, err := units.ParseBytes(got.String()); err != nil || back != got {
			t.Errorf("%s is written as %s, which reads as %d (%v)", text, got, back, err)
		}
	}
	for _, bad := range []string{"200", "-1MB", "2 kg", "1e20GB"} {
		if _, err := units.ParseBytes(bad); err == nil {
			t.Errorf("%q is taken", bad)
		}
	}
}
