package press

import (
	"math"
	"testing"
)

func TestChanceToHold(t *testing.T) {
	never, hour := math.Inf(1), 3600.0
	press := timeBand{8 * hour, 10 * hour, 13 * hour}
	for _, test := range []struct {
		name      string
		floor     timeBand
		low, high float64
	}{
		{"a bag that never gets there", timeBand{never, never, never}, 1, 1},
		{"surely later", timeBand{40 * hour, 60 * hour, never}, 0.99, 1},
		{"surely earlier", timeBand{2 * hour, 3 * hour, 4 * hour}, 0, 0.01},
		{"below already", timeBand{0, 0, 0}, 0, 0},
		{"as likely as not", timeBand{7 * hour, 10 * hour, 17.5 * hour}, 0.35, 0.6},
		{"early bound just short", timeBand{10 * hour, 30 * hour, never}, 0.9, 1},
	} {
		if got := chanceToHold(test.floor, press); got < test.low || got > test.high {
			t.Errorf("%s: %v, want %v to %v", test.name, got, test.low, test.high)
		}
	}
	if got := chanceToHold(timeBand{hour, hour, hour}, timeBand{never, never, never}); got != 0 {
		t.Errorf("a glue that is never done: %v", got)
	}
}

// TestChanceAgainstSampling draws both times ten thousand times from the same
// model and counts, on a lattice of normal quantiles.
func TestChanceAgainstSampling(t *testing.T) {
	floor, press := timeBand{20000, 36000, 120000}, timeBand{25000, 36000, 54000}
	const n = 2000
	held := 0
	for i := range n {
		zRate := normalQuantile((float64(i) + 0.5) / n)
		x := 1/floor.expected + zRate*(1/floor.early-1/floor.expected)/1.959964
		if zRate < 0 {
			x = 1/floor.expected + zRate*(1/floor.expected-1/floor.late)/1.959964
		}
		for j := range 100 {
			if x < 1/press.quantile(normalQuantile((float64(j)+0.5)/100)) {
				held++
			}
		}
	}
	want := float64(held) / (n * 100)
	if got := chanceToHold(floor, press); math.Abs(got-want) > 0.02 {
		t.Errorf("chance %v, counted %v", got, want)
	}
}

func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

func TestPlanTopUps(t *testing.T) {
	const hour = 3600.0
	press := timeBand{8 * hour, 10 * hour, 13 * hour}
	times, enough := planTopUps(timeBand{4 * hour, 5 * hour, 7 * hour}, press, 5*hour)
	if !enough || len(times) != 2 || times[0] != 4*hour || times[1] != 9*hour {
		t.Errorf("every five hours: %v, enough %v", times, enough)
	}
	if times, enough = planTopUps(timeBand{14 * hour, 20 * hour, math.Inf(1)}, press, 15*hour); !enough || len(times) != 0 {
		t.Errorf("none needed: %v, enough %v", times, enough)
	}
	if times, enough = planTopUps(timeBand{hour, hour, hour}, press, hour/2); enough || len(times) != mostTopUps {
		t.Errorf("a bag that leaks too fast: %v, enough %v", times, enough)
	}
}
