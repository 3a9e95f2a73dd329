package leak

import (
	"math/rand/v2"
	"testing"
)

// Siegmund's approximation for k = 0.5, one side.
func TestRunLength(t *testing.T) {
	for _, c := range []struct{ h, shift, want float64 }{
		{4, 0, 338.1}, {4, 0.5, 26.69}, {4, 1, 8.34}, {4, 2, 3.22},
		{5, 0, 938.2}, {5, 0.5, 38.02}, {5, 1, 10.34}, {5, 2, 3.89},
	} {
		cusum := Cusum{K: 0.5, H: c.h}
		near(t, "run length", cusum.RunLength(c.shift), c.want, 2e-3)
	}
}

// Average run lengths of the two-sided chart with k = 0.5 in Montgomery,
// Introduction to Statistical Quality Control: 168 and 465 when nothing changed,
// 8.38 and 10.4 at a shift of one standard deviation, for h = 4 and 5.
func TestCusumAgainstPublishedTable(t *testing.T) {
	for _, c := range []struct{ h, shift, want float64 }{{4, 0, 168}, {5, 0, 465}, {4, 1, 8.38}, {5, 1, 10.4}} {
		rng := rand.New(rand.NewPCG(1, uint64(c.h)))
		const runs = 3000
		sum := 0
		for range runs {
			up, down := Cusum{K: 0.5, H: c.h}, Cusum{K: 0.5, H: c.h}
			for alarm := false; !alarm; sum++ {
				x := c.shift + rng.NormFloat64()
				a, b := up.Add(x), down.Add(-x)
				alarm = a || b
			}
		}
		near(t, "run length", float64(sum)/runs, c.want, 0.06)
	}
}

func TestWorsening(t *testing.T) {
	steady := []Past{{300, 250, 350}, {340, 300, 380}, {280, 240, 320}, {310, 270, 350}, {330, 290, 370}, {295, 260, 330}, {320, 280, 360}}
	if worse, _ := Worsening(steady); worse {
		t.Error("a bag that stays as it is gets worse")
	}
	aging := append(steady[:4:4], Past{420, 380, 460}, Past{520, 480, 560}, Past{700, 650, 750}, Past{760, 700, 820})
	worse, factor := Worsening(aging)
	if !worse || factor < 1.5 {
		t.Errorf("a seam that ages is not noticed: %v, factor %.2f", worse, factor)
	}
	if worse, _ := Worsening(steady[:3]); worse {
		t.Error("three runs cannot tell")
	}
}
