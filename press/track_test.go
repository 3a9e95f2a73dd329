package press

import (
	"math"
	"testing"
	"time"
)

func TestTrackIsBoundedAndTrue(t *testing.T) {
	var k track
	begin := time.Unix(1e9, 0)
	// Two weeks, a sample every ten seconds, growing evenly from 0 to 1.
	const days = 14 * 24 * 3600
	for i := 0; i <= days; i += 10 {
		k.add(float64(i), begin.Add(time.Duration(i)*time.Second), float64(i)/days)
	}
	if len(k.times) > trackPoints {
		t.Errorf("%d points", len(k.times))
	}
	for _, i := range []int{0, 12345, 600000, days - 3600} {
		got := float64(k.at(begin.Add(time.Duration(i) * time.Second)))
		if math.Abs(got-float64(i)/days) > 1e-6 {
			t.Errorf("after %d s: %v, want %v", i, got, float64(i)/days)
		}
	}
	if k.at(begin.Add(-time.Second)).Known() || k.at(begin.Add(days*2*time.Second)).Known() {
		t.Error("something is known of a time that was not watched")
	}
}
