package leak

import (
	"math"
	"math/rand/v2"
	"testing"
)

// laminar is the pressure, Pa, t hours after p1 in a bag whose leak is a long
// narrow path: viscous flow, whose conductance goes with the mean pressure
// (Hagen and Poiseuille for a gas; Lafferty, Foundations of Vacuum Science and
// Technology, 1998, from memory), so that dp/dt = k·(p0²−p²)/(2·p0), which is
// solved by p0·tanh(k·t/2 + artanh(p1/p0)). k follows from the rate at the begin.
func laminar(p0, p1, rate, t float64) float64 {
	k := rate * 2 * p0 / (p0*p0 - p1*p1)
	return p0 * math.Tanh(k*t/2+math.Atanh(p1/p0))
}

// laminarSlope is how fast that rises, Pa/h.
func laminarSlope(p0, p1, rate, p float64) float64 { return rate * (p0*p0 - p*p) / (p0*p0 - p1*p1) }

// From 16 kPa at 1 kPa/h and a room of 101325 Pa, the closed form in double
// precision; the law summed up in steps of a second comes to the same.
func TestLaminarRise(t *testing.T) {
	const p0, p1, rate = 101325.0, 16000.0, 1000.0
	p, at := p1, 0.0
	for _, want := range []struct{ t, p float64 }{{1, 16998.37}, {5, 20956.16}, {10, 25809.74}, {24, 38685.35}, {48, 57587.75}} {
		for ; at < want.t-1e-9; at += 1.0 / 3600 {
			p += laminarSlope(p0, p1, rate, p) / 3600
		}
		near(t, "closed form", laminar(p0, p1, rate, want.t), want.p, 1e-6)
		near(t, "summed up", p, want.p, 1e-5)
	}
}

// A seam leaks less and less long before an orifice would. The estimator, whose
// law is the orifice's, still follows its rate, and errs to the safe side when it
// says how long the vacuum lasts: from 16 kPa at 1 kPa/h to 65 kPa below the room.
func TestLaminarSeamAgainstTheClosedForm(t *testing.T) {
	const p0, p1, rate, floor = 101325.0, 16000.0, 1000.0, 65e3
	crossing := 0.0 // h
	for laminar(p0, p1, rate, crossing) < p0-floor {
		crossing += 1.0 / 3600
	}
	rng := rand.New(rand.NewPCG(1, 2))
	e := New(Config{})
	for s := range 12 * 3600 {
		at := float64(s) / 3600
		p := laminar(p0, p1, rate, at)
		e.Add(Reading{T: float64(s), Bag: p + 10*rng.NormFloat64(), Ambient: p0, Gas: 20, Air: 20})
		if s%3600 != 0 || at < 3 {
			continue
		}
		got, left := e.Estimate(), (crossing-at)*hour
		near(t, "rate", got.Rate, laminarSlope(p0, p1, rate, p), 0.05)
		if f := e.Forecast(floor, 1e7); f.Early > left || f.Early < 0.85*left {
			t.Errorf("after %.0f h the floor comes at the earliest in %.0f s, by the closed form in %.0f s", at, f.Early, left)
		}
	}
}
