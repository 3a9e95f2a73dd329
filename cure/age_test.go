package cure

import (
	"math"
	"testing"
)

// oneRow is a sheet of which everything outside 20 °C goes by one activation
// energy: progress times hours is then the equivalent age at 20 °C.
func oneRow(activation, hours float64) *Sheet {
	return &Sheet{
		Name: "one-row", MinUseC: -25, MaxUseC: 60,
		PressTime:  []Point{{AtC: 20, Hours: [2]float64{hours, hours}}},
		Activation: [2]float64{activation, activation},
	}
}

func almost(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6g, want %.6g ± %.2g", what, got, want, tolerance)
	}
}

// Source: the equivalent-age function of ASTM C1074 (after Freiesleben Hansen
// and Pedersen 1977), values computed in double precision from the formula.
func TestRateFactorIsTheEquivalentAgeFunction(t *testing.T) {
	at := []float64{0, 5, 10, 15, 20, 23, 25, 30, 35, 40}
	for _, row := range []struct {
		activation float64 // J/mol
		want       [10]float64
	}{
		{33500, [10]float64{.3656, .4765, .6154, .7878, 1, 1.1494, 1.2592, 1.5736, 1.9524, 2.4056}},
		{5000 * gasConstant, [10]float64{.2868, .3986, .5475, .7438, 1, 1.1886, 1.3311, 1.7553, 2.2939, 2.9723}},
		{50000, [10]float64{.2227, .3308, .4846, .7005, 1, 1.2310, 1.4106, 1.9674, 2.7144, 3.7068}},
		{60000, [10]float64{.1649, .2651, .4192, .6524, 1, 1.2832, 1.5111, 2.2525, 3.3144, 4.8172}},
		{70000, [10]float64{.1221, .2125, .3627, .6075, 1, 1.3377, 1.6187, 2.5789, 4.0470, 6.2603}},
		{80000, [10]float64{.0904, .1703, .3137, .5658, 1, 1.3944, 1.7340, 2.9526, 4.9416, 8.1356}},
	} {
		for i, c := range at {
			almost(t, "rate", EquivalentRate(row.activation, c, 20), row.want[i], 6e-5)
		}
	}
}

// Source: the sum t_e = Σ exp(-E/R (1/T - 1/Tr)) Δt of ASTM C1074 over eight
// intervals of 3 h, values computed in double precision from the formula.
func TestProgressIsTheEquivalentAge(t *testing.T) {
	mean := []float64{18, 14, 11, 8, 7, 9, 13, 17}
	for _, row := range []struct {
		activation float64 // kJ/mol
		want       [8]float64
	}{
		{5 * gasConstant, [8]float64{2.6683, 4.7689, 6.5168, 7.9654, 9.3250, 10.8678, 12.8444, 15.3594}},
		{50, [8]float64{2.6057, 4.5599, 6.1264, 7.3763, 8.5343, 9.8826, 11.6989, 14.1255}},
		{60, [8]float64{2.5333, 4.3269, 5.7026, 6.7517, 7.7089, 8.8579, 10.5008, 12.8266}},
		{70, [8]float64{2.4629, 4.1092, 5.3172, 6.1977, 6.9891, 7.9682, 9.4542, 11.6834}},
	} {
		p := NewProgress(oneRow(row.activation, 24), Options{})
		for i, c := range mean {
			at := float64(i) * 3 * 3600
			p.AddBand(at, Exactly(c), true)
			p.AddBand(at+3*3600, Exactly(c), true)
			s := p.State()
			almost(t, "equivalent age, h", s.Clamped.Expected*24, row.want[i], 2e-4)
			almost(t, "its bounds", s.Earned.High-s.Earned.Low, 0, 1e-12)
		}
	}
}

// Source: the same formula; hours at the given temperature that equal 24 h at
// 20 °C, computed in double precision.
func TestPressTimeAtOtherTemperatures(t *testing.T) {
	at := []float64{5, 8, 10, 12, 15, 18, 25}
	for _, row := range []struct {
		activation float64
		want       [7]float64
	}{
		{5 * gasConstant, [7]float64{60.21, 49.70, 43.83, 38.73, 32.27, 26.98, 18.03}},
		{50, [7]float64{72.55, 57.61, 49.53, 42.67, 34.26, 27.63, 17.01}},
		{60, [7]float64{90.52, 68.63, 57.25, 47.88, 36.79, 28.42, 15.88}},
		{70, [7]float64{112.94, 81.76, 66.18, 53.72, 39.50, 29.23, 14.83}},
	} {
		s := oneRow(row.activation, 24)
		for i, c := range at {
			almost(t, "press time, h", s.PressTimeAt(c, Options{}).Expected/3600, row.want[i], 6e-3)
		}
	}
}

// Source: the same formula. 24 h at 20 °C wanted, 9.3 h earned, 8 °C ahead, 60
// kJ/mol: (24 - 9.3)/f(8 °C) = 42.036 h, computed in double precision.
func TestRemainingAtASteadyTemperature(t *testing.T) {
	p := NewProgress(oneRow(60, 24), Options{})
	p.AddBand(0, Exactly(20), true)
	p.AddBand(9.3*3600, Exactly(20), true)
	left := p.Remaining(Steady(Exactly(8)))
	almost(t, "remaining, h", left.Expected/3600, 42.036, 1e-3)
	almost(t, "its bounds", left.High-left.Low, 0, 1)
}

// Source: closed form of da/dt = k(1-a)^n evaluated at the equivalent age
// (k 0.1/h at 20 °C): with one activation energy the path does not matter.
func TestEquivalentAgeGivesTheNonIsothermalConversion(t *testing.T) {
	p := NewProgress(oneRow(60, 24), Options{})
	for i, c := range []float64{18, 14, 11, 8, 7, 9, 13, 17} {
		p.AddBand(float64(i)*10800, Exactly(c), true)
		p.AddBand(float64(i+1)*10800, Exactly(c), true)
	}
	age := p.State().Earned.Expected * 24
	almost(t, "n = 1", conversion(0.1, 1, age), 0.722702, 2e-6)
	almost(t, "n = 2", conversion(0.1, 2, age), 0.561915, 2e-6)
}

// A sinusoid of 10 ± 8 °C at 60 kJ/mol has a mean factor of 0.470319, against
// 0.419211 at its mean: averaging the temperature first understates the age.
// Values computed in double precision.
func TestProgressDoesNotAverageTheTemperature(t *testing.T) {
	p := NewProgress(oneRow(60, 24), Options{})
	for i := range 24*60 + 1 {
		at := float64(i) * 60
		p.Add(at, 10+8*math.Sin(2*math.Pi*at/86400), true)
	}
	almost(t, "mean factor", p.State().Earned.Expected, 0.470319, 2e-5)
}

// conversion is the closed form of da/dt = k(1-a)^n from a = 0.
func conversion(k, n, t float64) float64 {
	if n == 1 {
		return -math.Expm1(-k * t)
	}
	return 1 - math.Pow(1+(n-1)*k*t, -1/(n-1))
}

// Source: the closed forms of the nth-order rate law, k = 0.1 /h; values computed
// in double precision. At the reference temperature the equivalent age is the
// time itself.
func TestIsothermalConversion(t *testing.T) {
	for _, row := range []struct{ t, n1, n15, n2 float64 }{
		{1, .095163, .092971, .090909},
		{5, .393469, .360000, .333333},
		{10, .632121, .555556, .500000},
		{20, .864665, .750000, .666667},
		{24, .909282, .793388, .705882},
	} {
		p := NewProgress(oneRow(60, 30), Options{})
		for at := 0.0; at <= row.t*3600; at += 90 {
			p.Add(at, 20, true)
		}
		age := p.State().Earned.Expected * 30
		almost(t, "n = 1", conversion(.1, 1, age), row.n1, 1e-6)
		almost(t, "n = 1.5", conversion(.1, 1.5, age), row.n15, 1e-6)
		almost(t, "n = 2", conversion(.1, 2, age), row.n2, 1e-6)
	}
}

// Source: the same function. The activation energy at which ten kelvin double
// the rate is 44.574 kJ/mol from 0 °C, 47.837 from 10 °C and 51.216 from 20 °C:
// "ten degrees double" holds near room temperature only. Values computed in
// double precision.
func TestTenKelvinDouble(t *testing.T) {
	for from, activation := range map[float64]float64{0: 44574, 5: 46191, 10: 47837, 15: 49512, 20: 51216, 25: 52949, 30: 54710} {
		almost(t, "factor of ten kelvin", EquivalentRate(activation, from+10, from), 2, 1e-4)
	}
	for activation, want := range map[float64][2]float64{
		30: {1.5445, 1.5008}, 45: {1.9194, 1.8386}, 50: {2.0637, 1.9674}, 60: {2.3854, 2.2525}, 70: {2.7574, 2.5789}, 100: {4.2587, 3.8705},
	} {
		almost(t, "10 to 20 °C", EquivalentRate(activation*1000, 20, 10), want[0], 6e-5)
		almost(t, "20 to 30 °C", EquivalentRate(activation*1000, 30, 20), want[1], 6e-5)
	}
}
