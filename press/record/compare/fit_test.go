package compare

import (
	"math"
	"math/rand/v2"
	"testing"
)

// norris is the data set "Norris" of the NIST Statistical Reference Datasets for
// linear regression (https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml),
// 36 pairs of y and x.
func norris() (x, y []float64) {
	for _, p := range [][2]float64{
		{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5}, {668.5, 666.3}, {998.5, 996.3},
		{449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4}, {0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0},
		{448.9, 447.5}, {10.8, 11.6}, {557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
		{0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1}, {117.6, 118.3},
		{228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
	} {
		y, x = append(y, p[0]), append(x, p[1])
	}
	return x, y
}

// The certified values of that data set, to nine digits.
func TestNorrisIsCertified(t *testing.T) {
	x, y := norris()
	f := fit(x, y, 500, 0)
	if f.Model != Line || f.N != 36 || !f.Inside {
		t.Fatalf("%+v", f)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"intercept", float64(f.Intercept.Value), -0.262323073774029},
		{"its standard deviation", float64(f.Intercept.SE), 0.232818234301152},
		{"slope", float64(f.Slope.Value), 1.00211681802045},
		{"its standard deviation", float64(f.Slope.SE), 0.429796848199937e-03},
		{"residual standard deviation", float64(f.SD), 0.884796396144373},
		{"R squared", float64(f.RSquared), 0.999993745883712},
	} {
		if math.Abs(c.got/c.want-1) > 1e-9 {
			t.Errorf("%s is %.15g, certified %.15g", c.what, c.got, c.want)
		}
	}
}

// Student's t at 95 % one-sided, as the tables of textbooks have it, from memory:
// 6.314 for one degree of freedom, 2.353 for three, 1.812 for ten, 1.645 for very
// many.
func TestStudent(t *testing.T) {
	for degrees, want := range map[float64]float64{1: 6.314, 3: 2.353, 10: 1.812, 1e6: 1.645} {
		if got := student(degrees); math.Abs(got-want) > 6e-4 {
			t.Errorf("%v degrees: %v, want %v", degrees, got, want)
		}
	}
}

// Nine in ten of what comes next falls within the bounds, also with the fewest
// runs there may be: that is what they say.
func TestBoundsHoldAsOftenAsTheySay(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2)) //nolint:gosec // the same every time
	for _, n := range []int{Fewest, 12} {
		for _, spread := range []float64{0, 0.03} {
			const tries = 4000
			held := 0
			for range tries {
				draw := func() (float64, float64) {
					x := 0.05 + spread*r.Float64()
					return x, 0.01 + 1.3*x + 0.008*r.NormFloat64()
				}
				var x, y []float64
				for range n {
					a, b := draw()
					x, y = append(x, a), append(y, b)
				}
				x0, y0 := draw()
				if f := fit(x, y, x0, 1e-9); y0 >= float64(f.Next.Low) && y0 <= float64(f.Next.High) {
					held++
				}
			}
			// Three standard deviations of a count: 0.014.
			if share := float64(held) / tries; math.Abs(share-Level) > 0.0145 {
				t.Errorf("%d runs, spread %v: the bounds hold in %.3f of the cases", n, spread, share)
			}
		}
	}
}

func TestFewAreTooFew(t *testing.T) {
	if f := fit([]float64{1, 2, 3, 4}, []float64{1, 2, 3, 4}, 5, 0); f.Model != NoModel || f.Next.Expected.Known() || f.N != 4 {
		t.Errorf("%+v", f)
	}
	if f := fit([]float64{1, 2, 3, 4, 5}, []float64{1, 2, 3, 4, 6}, 9, 0); f.Model != Line || f.Inside {
		t.Errorf("far outside: %+v", f)
	}
	if f := fit([]float64{1, 1, 1, 1, 1}, []float64{1, 2, 3, 4, 6}, 1, 0.01); f.Model != Mean || f.Slope.Value.Known() || !f.Inside {
		t.Errorf("all at one x: %+v", f)
	}
}
