//go:build full

package cure

import (
	"encoding/json"
	"math"
	"os/exec"
	"testing"
)

// scipy runs one part of testdata/crosscheck.py with a Python that has SciPy.
func scipy(t *testing.T, part string, into any) {
	t.Helper()
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import scipy").Run() != nil {
			continue
		}
		out, err := exec.Command(python, "testdata/crosscheck.py", part).Output()
		if err != nil {
			t.Fatalf("run testdata/crosscheck.py %s: %v", part, err)
		}
		if err := json.Unmarshal(out, into); err != nil {
			t.Fatalf("read what testdata/crosscheck.py %s printed: %v", part, err)
		}
		return
	}
	t.Skip("no Python with SciPy; as root: apt-get install --no-install-recommends python3-scipy")
}

// madeUpNight is the room of testdata/crosscheck.py.
func madeUpNight(t float64) float64 {
	return 12 - 4*math.Sin(2*math.Pi*t/(24*hour)) + 0.7*math.Sin(2*math.Pi*t/(1.7*hour))
}

// Source: SciPy's Runge-Kutta solver (steps of at most 20 s) on the same law:
// the published two-part urea-formaldehyde table, doubled for strained work,
// nothing below 10 °C, over a made-up night that crosses 10 °C several times.
func TestProgressAgainstSciPy(t *testing.T) {
	var want struct {
		Hours   []float64 `json:"hours"`
		Share   []float64 `json:"share"`
		Reached float64   `json:"reached_s"`
	}
	scipy(t, "progress", &want)
	sheet := ufSheet()
	sheet.BelowMin = Paused
	p := NewProgress(sheet, Options{Strained: true})
	at := 0.0
	for i, h := range want.Hours {
		for ; at <= h*hour; at += 60 {
			p.Add(at, madeUpNight(at), true)
		}
		almost(t, "share", p.State().Clamped.Expected, want.Share[i], 1e-4)
	}
	q := NewProgress(sheet, Options{Strained: true})
	q.Add(0, madeUpNight(0), true)
	left := q.Remaining(func(ahead float64) Band { return Exactly(madeUpNight(ahead)) })
	almost(t, "reached, s", left.Expected, want.Reached, 120) // looks ahead in steps of five and of fifteen minutes
}

// Source: SciPy's Runge-Kutta solver on dc/dt = (air - c)/2 h, from 5 °C.
func TestLagAgainstSciPy(t *testing.T) {
	var want struct {
		Hours []float64 `json:"hours"`
		C     []float64 `json:"c"`
	}
	scipy(t, "lag", &want)
	l := NewLag(2*hour, 5)
	at, c := 0.0, 0.0
	for i, h := range want.Hours {
		for ; at <= h*hour; at += 60 {
			c = l.Add(at, madeUpNight(at))
		}
		almost(t, "°C", c, want.C[i], 1e-3)
	}
}
