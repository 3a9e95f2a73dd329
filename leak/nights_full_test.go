//go:build full

package leak_test

import (
	"slices"
	"testing"
)

// Over hundreds of nights: quiet, soon and right. The figures of the package's
// documentation come from leak/nights; this holds them.
func TestQuietOverHundredsOfNights(t *testing.T) {
	if wrong := soundNights(t, 5000, 300); wrong > 1 {
		t.Errorf("%d false leaks", wrong)
	}
}

func TestSoonAndRight(t *testing.T) {
	for _, c := range []struct{ rate, within float64 }{{20000, 60}, {5000, 120}, {2000, 240}, {1000, 480}, {500, 1200}} {
		found, off := delays(5000, 21, c.rate, c.within)
		slices.Sort(found)
		slices.Sort(off)
		if m := found[len(found)/2]; !(m > 0 && m <= c.within) {
			t.Errorf("%.0f Pa/h: found after %.0f s (median)", c.rate, m)
		}
		if m := off[len(off)/2]; !(m <= 0.1) {
			t.Errorf("%.0f Pa/h: off by %.0f %% (median)", c.rate, 100*m)
		}
	}
}
