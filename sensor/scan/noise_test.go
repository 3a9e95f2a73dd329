package scan

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

func series(n int, hz float64, value func(seconds float64) float64) ([]time.Time, []float64) {
	start := time.Date(2025, 10, 11, 20, 0, 0, 0, time.UTC)
	at, values := make([]time.Time, n), make([]float64, n)
	for i := range n {
		s := float64(i) / hz
		at[i], values[i] = start.Add(time.Duration(s*1e9)), value(s)
	}
	return at, values
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s: got %g, want %g ± %g", what, got, want, within)
	}
}

// A drift is no noise; white noise has no memory; the sd of n readings is known
// to about 1/√(2n), 1.3 % here.
func TestMeasure(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	z, err := Measure(series(3000, 10, func(s float64) float64 { return 16000 + s*0.5 + 20*r.NormFloat64() }))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sd", z.SD, 20, 1)
	near(t, "Hz", z.Hz, 10, 1e-6)
	near(t, "per hour", z.PerHour, 1800, 60)
	near(t, "lag1", z.Lag1, 0, 0.06)
}

// AR(1) noise has the correlation that it was made with.
func TestMeasureMemory(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	last := 0.0
	z, err := Measure(series(5000, 10, func(float64) float64 {
		last = 0.8*last + r.NormFloat64()
		return last
	}))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lag1", z.Lag1, 0.8, 0.05)
}

// The residual
// sd of a straight line: the numbers are Anscombe's first set (Amer. Statist. 27,
// 1973): slope 0.500, intercept 3.00, residual sd 1.237.
func TestMeasureAnscombe(t *testing.T) {
	x := []float64{4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14}
	y := []float64{4.26, 5.68, 7.24, 4.82, 6.95, 8.81, 8.04, 8.33, 10.84, 7.58, 9.96}
	at := make([]time.Time, len(x))
	for i := range x {
		at[i] = time.Unix(int64(x[i]), 0)
	}
	z, err := Measure(at, y)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sd", z.SD, 1.237, 0.001)
	near(t, "slope", z.PerHour/3600, 0.500, 0.001)
}

func TestMeasureTooFew(t *testing.T) {
	if _, err := Measure(series(2, 1, math.Sqrt)); !errors.Is(err, ErrTooFew) {
		t.Errorf("got %v", err)
	}
	if _, err := Measure(make([]time.Time, 5), make([]float64, 5)); !errors.Is(err, ErrTooFew) {
		t.Errorf("at one moment: got %v", err)
	}
}

// A reading that hardly leaves its step still has the noise of rounding.
func TestSigmaOfRounding(t *testing.T) {
	at, values := series(100, 1, func(s float64) float64 { return 16000 + 13*math.Floor(s/99) })
	z, err := Measure(at, values)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "step", z.Step, 13, 0)
	near(t, "sigma", z.Sigma(), 13/math.Sqrt(12), 1e-9)
}

// By the time that Sees gives, the information of the ramp, summed reading by
// reading as the log likelihood ratio of two normal densities, is ln ARL.
func TestSeesGathersTheInformation(t *testing.T) {
	z := Noise{SD: 20, Hz: 10}
	const rate = 1000.0 / 3600
	sum := 0.0
	for i := 0; float64(i)/z.Hz <= z.Sees(rate).Seconds(); i++ {
		shift := rate * float64(i) / z.Hz
		sum += shift * shift / (2 * z.SD * z.SD)
	}
	near(t, "information", sum, math.Log(1000*12*3600*10), 0.3)
}

// No detector does better: one that is told the rate and the moment at which the
// leak begins (the ramp's likelihood ratio against a limit of ln ARL) takes the
// given time in the middle.
func TestSeesIsWhatAnOracleTakes(t *testing.T) {
	z := Noise{SD: 20, Hz: 10}
	const rate = 1000.0 / 3600
	limit := math.Log(FalseAlarmEvery.Seconds() * z.Hz)
	r := rand.New(rand.NewPCG(5, 6))
	const trials = 400
	sum := 0.0
	for range trials {
		llr, i := 0.0, 0
		for ; llr < limit; i++ {
			shift := rate * float64(i) / z.Hz
			llr += (shift*(shift+z.SD*r.NormFloat64()) - shift*shift/2) / (z.SD * z.SD)
		}
		sum += float64(i) / z.Hz
	}
	best := z.Sees(rate).Seconds()
	if mean := sum / trials; math.Abs(mean/best-1) > 0.05 {
		t.Errorf("an oracle takes %.1f s, the bound is %.1f s", mean, best)
	}
}
