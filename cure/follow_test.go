package cure

import (
	"math"
	"testing"
)

func TestFollowAStep(t *testing.T) {
	f := Follow(Steady(Exactly(20)), Exactly(5), 7200, 0)
	for _, at := range []float64{0, 900, 3600, 7200, 36000} {
		almost(t, "first-order step, °C", f(at).Expected, 20-15*math.Exp(-at/7200), 0.001)
	}
	almost(t, "kept 8 K warmer", Follow(Steady(Exactly(12)), Exactly(20), 3600, 8)(5*hour).Expected, 20, 1e-9)
	if b := Follow(Steady(Band{10, 12, 14}), Exactly(12), 3600, 8)(48 * hour); b.Low > 16.01 || b.High < 23.99 {
		t.Errorf("bounds %+v: those of the air, and a quarter of what keeps it warm", b)
	}
}

// A daily swing behind a first-order lag of 2 h has 88.6 % of its size and comes
// 1.84 h later: 1/sqrt(1+(ωτ)²) and atan(ωτ)/ω, closed form.
func TestFollowADailySwing(t *testing.T) {
	omega := 2 * math.Pi / 86400
	air := func(at float64) Band { return Exactly(10 + 5*math.Sin(omega*at)) }
	f := Follow(air, Exactly(10), 7200, 0)
	for at := 24 * hour; at < 72*hour; at += 1000 {
		almost(t, "swing, °C", f(at).Expected, 10+5*0.8859*math.Sin(omega*(at-1.839*hour)), 0.02)
	}
}
