package leak

import (
	"fmt"
	"math"
	"math/rand/v2"
	"syscall"
	"testing"
)

// sound is a bag that holds, in an unheated shed.
var sound = night{hz: 1, hours: 12, noise: 20, start: 16000, settle: 1500, tau: 500, swing: 5, lag: 600, front: 60, seed: 1}

func TestSoundNightIsSilent(t *testing.T) {
	for name, change := range map[string]func(*night){
		"plain":       func(*night) {},
		"quantised":   func(n *night) { n.noise, n.quantum = 3, 15 },
		"no gas":      func(n *night) { n.noGas = true },
		"slow":        func(n *night) { n.hz = 0.1 },
		"fast":        func(n *night) { n.hz, n.hours = 10, 4 },
		"big swing":   func(n *night) { n.swing = 10 },
		"no settling": func(n *night) { n.settle = 0 },
		"long settle": func(n *night) { n.tau = 2500 },
		"quiet part":  func(n *night) { n.noise = 2 },
		"falling":     func(n *night) { n.front = -150 },
	} {
		t.Run(name, func(t *testing.T) {
			n := sound
			change(&n)
			e := New(Config{})
			n.play(func(r Reading, _ float64) {
				e.Add(r)
				if got := e.Estimate(); got.Leaking {
					t.Fatalf("a leak at %.0f s: %+v", r.T, got)
				}
			})
			t.Logf("%+v", e.Estimate())
		})
	}
}

func TestLeakIsFoundAndMeasured(t *testing.T) {
	for rate, within := range map[float64]float64{500: 3600, 1000: 900, 2000: 300, 5000: 120, 20000: 60} {
		n := sound
		n.leakAt, n.leak, n.hours = 4, rate, 7
		e, found := New(Config{}), math.Inf(1)
		var truth float64
		n.play(func(r Reading, now float64) {
			e.Add(r)
			truth = now
			if e.Estimate().Leaking {
				found = math.Min(found, r.T-1000-4*hour)
			}
		})
		if found < 0 || found > within {
			t.Errorf("%.0f Pa/h: found after %.0f s", rate, found)
		}
		if got := e.Estimate(); got.Low > truth || got.High < truth || math.Abs(got.Rate-truth) > 0.1*truth {
			t.Errorf("%.0f Pa/h: measured as %+v", truth, got)
		}
	}
}

// On a machine that has other things to do, cpu-ns/op tells more than ns/op.
func BenchmarkAdd(b *testing.B) {
	var noise [1024]float64
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range noise {
		noise[i] = 20 * rng.NormFloat64()
	}
	for _, hz := range []float64{0.1, 1, 10, 50} {
		b.Run(fmt.Sprint(hz, "Hz"), func(b *testing.B) {
			e, i, begun := New(Config{}), 0, cpuTime(b)
			b.ReportAllocs()
			for b.Loop() {
				i++
				e.Add(Reading{T: float64(i) / hz, Bag: 16000 + noise[i%1024], Ambient: 101325, Gas: 15, Air: 15})
			}
			b.ReportMetric((cpuTime(b)-begun)/float64(i), "cpu-ns/op")
		})
	}
}

// cpuTime is what the process has used, ns.
func cpuTime(b *testing.B) float64 {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Nano() + u.Stime.Nano())
}

func BenchmarkEstimate(b *testing.B) {
	e := New(Config{})
	sound.play(func(r Reading, _ float64) { e.Add(r) })
	b.ReportAllocs()
	for b.Loop() {
		e.Estimate()
	}
}

func BenchmarkForecast(b *testing.B) {
	e := New(Config{})
	sound.play(func(r Reading, _ float64) { e.Add(r) })
	b.ReportAllocs()
	for b.Loop() {
		e.Forecast(65000, 48*hour)
	}
}
