package leak

import (
	"math"
	"testing"
)

// Flow relative to the choked flow of an ideal nozzle, γ = 1.4, computed from
// the isentropic formula in double precision.
func TestPsi(t *testing.T) {
	for r, want := range map[float64]float64{
		0.1: 1, 0.528: 1, 0.6: .988585, 0.7: .932215, 0.8: .818804, 0.9: .617148, 0.95: .449287, 0.99: .205426, 1: 0, 1.1: 0,
	} {
		if got := psi(r); math.Abs(got-want) > 1e-6 {
			t.Errorf("psi(%g) = %.7f, want %.7f", r, got, want)
		}
	}
}

// From 16 kPa at 1 kPa/h and a room of 101325 Pa: choked until 37.528 h, 63917.9
// Pa after 48 h and 85111.2 Pa after 72 h (the orifice law integrated).
func TestRiseTime(t *testing.T) {
	for target, want := range map[float64]float64{
		15000: 0, 26000: 10, 40000: 24, 53528.15: 37.528, 63917.9: 48, 85111.2: 72,
	} {
		if got := riseTime(16000, target, 101325, 1000); math.Abs(got-want) > 2e-3 {
			t.Errorf("to %.1f Pa in %.4f h, want %.3f", target, got, want)
		}
	}
	for _, never := range []float64{riseTime(16000, 20000, 101325, 0), riseTime(16000, 101325, 101325, 1), riseTime(16000, 20000, 101325, -3)} {
		if !math.IsInf(never, 1) {
			t.Errorf("%g, want never", never)
		}
	}
}
