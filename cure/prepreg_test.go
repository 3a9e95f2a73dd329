package cure

import (
	"math"
	"testing"
)

// The rate law of the 3501-6 epoxy of Lee, Loos and Springer, Journal of
// Composite Materials 16 (1982) 510, per minute. It is a resin cured at 177 °C
// and no wood glue: it checks EquivalentRate far from 20 °C, and the trapezoid of
// small steps, against a published law.
func prepregRate(a, c float64) float64 {
	k := func(atReference, activation float64) float64 {
		// A exp(-E/RT), written as the rate at 150 °C times the equivalent rate.
		return atReference * EquivalentRate(activation, c, 150)
	}
	at := func(a, activation float64) float64 { return a * math.Exp(-activation/(8.314*(150+273.15))) }
	if a <= 0.3 {
		k1, k2 := k(at(2.101e9, 8.07e4), 8.07e4), k(at(-2.014e9, 7.78e4), 7.78e4)
		return (k1 + k2*a) * (1 - a) * (0.47 - a)
	}
	return k(at(1.960e5, 5.66e4), 5.66e4) * (1 - a)
}

// integrate follows a rate law along a temperature path by Heun's method.
func integrate(path func(t float64) float64, upTo, dt float64, see func(t, a float64)) {
	a := 0.0
	for i := range int(math.Round(upTo / dt)) {
		t := float64(i) * dt
		r0 := prepregRate(a, path(t))
		r1 := prepregRate(a+r0*dt, path(t+dt))
		a += (r0 + r1) / 2 * dt
		see(t+dt, a)
	}
}

// Source: the law above; values computed by Simpson's rule and RK4.
func TestPrepregIsothermal(t *testing.T) {
	minutes := []float64{5, 10, 20, 30, 60, 90, 120, 180}
	for _, row := range []struct {
		c    float64
		want [8]float64
	}{
		{100, [8]float64{.02331, .04382, .07836, .10643, .16670, .20634, .23473, .27318}},
		{120, [8]float64{.07484, .12533, .19046, .23149, .29797, .40896, .50507, .65295}},
		{140, [8]float64{.17291, .24398, .32155, .40829, .60745, .73958, .82724, .92396}},
		{177, [8]float64{.39002, .53201, .72453, .83785, .96693, .99326, .99862, .99994}},
	} {
		got := map[float64]float64{}
		integrate(func(float64) float64 { return row.c }, 180, 0.01, func(t, a float64) { got[math.Round(t*100)/100] = a })
		for i, at := range minutes {
			almost(t, "degree of cure", got[at], row.want[i], 5e-4)
		}
	}
}

// Source: the same law through two dwells: from 25 °C by 2.5 K/min to 116 °C,
// an hour there, by 2.5 K/min to 177 °C; no heat of reaction. Values computed by
// RK4 at 0.01 and 0.002 min.
func TestPrepregTwoDwells(t *testing.T) {
	path := func(t float64) float64 {
		first := (116.0 - 25) / 2.5
		switch {
		case t < first:
			return 25 + 2.5*t
		case t < first+60:
			return 116
		}
		return math.Min(177, 116+2.5*(t-first-60))
	}
	want := map[float64]float64{
		20: .00353, 36.4: .06848, 40: .09992, 60: .20323, 80: .25522, 96.4: .28248, 100: .28910, 110: .36358,
		120: .54235, 130: .73024, 140: .84121, 160: .94498, 180: .98094, 200: .99340, 240: .99921,
	}
	seen := 0
	integrate(path, 240, 0.01, func(at, a float64) {
		if w, ok := want[math.Round(at*100)/100]; ok {
			seen++
			almost(t, "degree of cure", a, w, 5e-4)
		}
	})
	if seen != len(want) {
		t.Errorf("%d of %d rows seen", seen, len(want))
	}
}
