package cure

import (
	"math"
	"testing"
)

// Source: response of a first-order system to a step, and to a sine: amplitude
// 1/sqrt(1+(ωτ)²), lag atan(ωτ)/ω. τ 0.45, 1, 2, 3.5, 5 h of a daily swing:
// 99.3, 96.7, 88.6, 73.7, 60.7 %, lags 0.45, 0.98, 1.84, 2.83, 3.51 h.
func TestLagOfADailySwing(t *testing.T) {
	for _, row := range []struct{ tau, swing, lag float64 }{
		{.45, .993, .45}, {1, .967, .98}, {2, .886, 1.84}, {3.5, .737, 2.83}, {5, .607, 3.51},
	} {
		l := NewLag(row.tau*hour, 0)
		most, at := math.Inf(-1), 0.0
		for s := 0.0; s < 6*86400; s += 60 {
			c := l.Add(s, math.Sin(2*math.Pi*s/86400))
			if s > 5*86400 && c > most {
				most, at = c, s
			}
		}
		almost(t, "swing", most, row.swing, 6e-4)
		almost(t, "lag, h", (at-5*86400)/hour-6, row.lag, 0.02)
	}
}

func TestLagStepFromTheMaterialsTemperature(t *testing.T) {
	l := NewLag(hour, 5) // veneer from a cold store
	l.Add(0, 20)
	almost(t, "63.2 %", l.Add(hour, 20), 20-15*math.Exp(-1), 1e-9)
	almost(t, "the same in one step of many", l.Add(10*hour, 20), 20, 1e-3)
}

func TestGlueLineFromAirKeepsTheMaterialCold(t *testing.T) {
	g := NewGlueLine(GlueLineConfig{Lag: 2 * hour, StartC: 4, HasStart: true})
	first := g.Add(0, math.NaN(), 18)
	if first.From != FromAir || first.C.Expected != 4 || first.C.High < 5 {
		t.Errorf("at layup: %+v, want 4 °C with bounds", first)
	}
	var last GlueTemp
	for s := 60.0; s <= 8*hour; s += 60 {
		last = g.Add(s, math.NaN(), 18)
	}
	almost(t, "after four time constants", last.C.Expected, 18-14*math.Exp(-4), 0.01)
	if last.C.High-last.C.Low >= first.C.High-first.C.Low {
		t.Errorf("bounds did not narrow: %+v after %+v", last, first)
	}
}

func TestGlueLinePrefersTheProbe(t *testing.T) {
	g := NewGlueLine(GlueLineConfig{Lag: hour})
	for s := 0.0; s <= 2*hour; s += 30 {
		if got := g.Add(s, 12, 15); got.From != FromProbe || got.C != (Band{11.5, 12, 12.5}) {
			t.Fatalf("at %g s: %+v", s, got)
		}
	}
	got := g.Add(2*hour+30, 85, 15) // the probe restarted
	if got.From != FromAir || math.Abs(got.C.Expected-12) > 0.2 {
		t.Errorf("without the probe: %+v, want the lag to go on from 12 °C", got)
	}
	if got := g.Add(2*hour+60, math.NaN(), -127); got.From != FromNothing || !math.IsNaN(got.C.Expected) {
		t.Errorf("without either: %+v", got)
	}
}

func TestGlueLineDisagreement(t *testing.T) {
	run := func(probe float64, heated bool) (at float64) {
		g := NewGlueLine(GlueLineConfig{Lag: hour, StartC: 10, HasStart: true, Heated: heated})
		for s := 0.0; s <= 3*hour; s += 60 {
			if g.Add(s, probe, 10).Disagree {
				return s
			}
		}
		return math.NaN()
	}
	if at := run(12, false); !math.IsNaN(at) {
		t.Errorf("2 K apart: said to disagree after %g s", at)
	}
	almost(t, "10 K warmer than any air, noticed after, s", run(20, false), 900, 60)
	if at := run(20, true); !math.IsNaN(at) {
		t.Errorf("heated: said to disagree after %g s", at)
	}
	almost(t, "6 K colder, even when heated, s", run(4, true), 900, 60)
}

func BenchmarkGlueLineAdd(b *testing.B) {
	g := NewGlueLine(GlueLineConfig{})
	at := 0.0
	for b.Loop() {
		at++
		g.Add(at, 15, 16)
	}
}
