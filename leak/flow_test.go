package leak

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*math.Abs(want)) {
		t.Errorf("%s: %.8g, want %.8g", what, got, want)
	}
}

// Ideal choked flow of air at 20 °C from 101325 Pa, computed from the formula of
// ISO 9300 in double precision: 10, 50 and 100 µm.
func TestHole(t *testing.T) {
	for d, flow := range map[float64]float64{10e-6: 1.58070e-3, 50e-6: 3.95176e-2, 100e-6: 1.58070e-1} {
		near(t, "hole", Hole(flow, 101325, 20), d, 1e-5)
	}
	// 1 kPa/h in 3 litres is 8.333e-4 Pa·m³/s.
	near(t, "flow", Flow(1000, 0.003), 8.3333e-4, 1e-4)
	near(t, "10 µm in 3 litres", Flow(1896.8, 0.003), 1.58070e-3, 1e-4)
}

// Strokes of 0.2 litres on 5 litres: p0·(V/(V+Vs))ⁿ from 101325 Pa is 68451.5 Pa
// after 10, 46243.4 after 20, 17346.7 after 45.
func TestVolume(t *testing.T) {
	for n, after := range map[int]float64{10: 68451.5, 20: 46243.4, 45: 17346.7} {
		v, low, high := Volume(101325, after, n, 0.2e-3, 20)
		near(t, "volume", v, 5e-3, 1e-4)
		if !(low < v && v < high) {
			t.Errorf("%d strokes: %g is not between %g and %g", n, v, low, high)
		}
	}
	if v, _, _ := Volume(50000, 50000, 3, 0.2e-3, 20); !math.IsInf(v, 1) {
		t.Errorf("no fall, but a volume of %g m³", v)
	}
}

// From 16 kPa at 1 kPa/h a bag is at 63917.9 Pa after 48 h (the orifice law).
func TestAllowed(t *testing.T) {
	near(t, "allowed", Allowed(16000, 101325, 101325-63917.9, 48*hour), 1000, 1e-3)
	near(t, "allowed while choked", Allowed(16000, 101325, 65000, 10*hour), 2032.5, 1e-4)
	if got := Allowed(40000, 101325, 65000, hour); got >= 0 {
		t.Errorf("below the floor, but %g Pa/h are allowed", got)
	}
}

func TestCycles(t *testing.T) {
	var c Cycles
	for _, rest := range []float64{600, 610, 590, 605} {
		c.Add(rest, rest*2000/hour)
	}
	rate, low, high := c.Rate()
	near(t, "rate", rate, 2000, 1e-9)
	near(t, "low", low, 2000, 1e-6)
	near(t, "high", high, 2000, 1e-6)
	c.Add(600, 600*2400/hour)
	if rate, low, high = c.Rate(); !(low < 2080 && 2080 < high) || math.Abs(rate-2080) > 5 {
		t.Errorf("%g (%g to %g)", rate, low, high)
	}
}

// 97.5 % points of Student's distribution, from any table.
func TestStudentT(t *testing.T) {
	for n, want := range map[float64]float64{1: 12.706, 2: 4.303, 3: 3.182, 4: 2.776, 10: 2.228, 30: 2.042} {
		near(t, "t", studentT(n), want, 0.01)
	}
}
