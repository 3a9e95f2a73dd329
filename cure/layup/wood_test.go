package layup

import (
	"math"
	"strings"
	"testing"
)

func almost(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6g, want %.6g ± %.2g", what, got, want, tolerance)
	}
}

// Source: Wood Handbook (FPL-GTR-190), Table 4-2, the row at 70 °F (21.1 °C),
// from memory. The table is rounded to 0.1.
func TestEMCWoodHandbookRow(t *testing.T) {
	row := []float64{1.3, 2.5, 3.5, 4.5, 5.4, 6.2, 6.9, 7.7, 8.5, 9.2, 10.1, 11.0, 12.0, 13.1, 14.4, 16.0, 17.9, 20.5, 23.9}
	for i, want := range row {
		rh := float64(i+1) * 0.05
		almost(t, "EMC", EMC(rh, (70-32)/1.8), want, 0.053)
		almost(t, "back", Humidity(EMC(rh, 21.1), 21.1), rh, 1e-9)
	}
}

// Source: the Hailwood and Horrobin formula with Simpson's coefficients
// (FPL-RN-0268), values computed in double precision.
func TestEMCFormula(t *testing.T) {
	rh := []float64{.30, .40, .50, .60, .65, .70, .80, .90, .95}
	for c, row := range map[float64][]float64{
		0:  {6.32, 7.90, 9.52, 11.33, 12.37, 13.55, 16.53, 21.03, 24.34},
		10: {6.31, 7.87, 9.47, 11.24, 12.27, 13.43, 16.38, 20.89, 24.27},
		20: {6.19, 7.72, 9.27, 11.00, 12.00, 13.13, 16.04, 20.53, 23.94},
		30: {5.99, 7.47, 8.97, 10.64, 11.61, 12.71, 15.55, 19.99, 23.41},
	} {
		for i, want := range row {
			almost(t, "EMC", EMC(rh[i], c), want, 0.006)
		}
	}
	for mc, want := range map[float64]float64{6: .2881, 8: .4183, 10: .5441, 12: .6502, 16: .7989} {
		almost(t, "humidity", Humidity(mc, 20), want, 6e-5)
	}
	almost(t, "bone dry", Humidity(0, 20), 0, 0)
	almost(t, "wetter than fibre saturation", Humidity(40, 20), 1, 0)
}

// Source: Wood Handbook equations 4-15 to 4-18; sugar maple at 12 % and 20 °C,
// and the check values of an open implementation: c_p at 12 % and 340 K 1.91
// kJ/(kg K).
func TestHeatOfWood(t *testing.T) {
	almost(t, "k", Conductivity(.63, 12), .171647, 1e-6)
	almost(t, "c", HeatCapacity(12, 20), 1620.19, 0.05)
	almost(t, "c at 340 K", HeatCapacity(12, 340-273.15), 1910, 5)
}

func TestWoods(t *testing.T) {
	for _, name := range Species() {
		w, err := FindWood(name)
		if err != nil {
			t.Fatal(err)
		}
		if w.OvenDry < w.Gravity*1000*0.98 || w.OvenDry > w.Gravity*1000*1.12 {
			t.Errorf("%s: oven-dry density %g against G12 %g", name, w.OvenDry, w.Gravity)
		}
		if w.Source == "" {
			t.Errorf("%s: no source", name)
		}
	}
	_, err := FindWood("brich")
	if err == nil || !strings.Contains(err.Error(), `did you mean "birch"?`) {
		t.Errorf("got %v", err)
	}
}

// Nine plies of 1.5 mm, 180 g/m² a line, half of it water. Oven-dry mass of a
// ply 1000·G12·t; values computed in double precision.
func TestWaterInTheStack(t *testing.T) {
	for gravity, want := range map[float64]float64{.63: 8.466, .62: 8.602, .64: 8.333, .60: 8.889, .55: 9.697, .50: 10.667, .42: 12.698} {
		dry := make([]float64, 9)
		for i := range dry {
			dry[i] = 1000 * gravity * .0015
		}
		w := wet(.180, .5, dry)
		almost(t, "mean rise", w.mean, want, 6e-4)
		if gravity == .63 {
			almost(t, "inner", w.inner, 9.524, 6e-4)
			almost(t, "face", w.face, 4.762, 6e-4)
		}
	}
}
