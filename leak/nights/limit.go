package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/nightclamp/nightclamp/leak"
)

// The limit: a bag that holds still, a leak that begins at once, white noise.
// Nothing can find it sooner, on average and for the same false alarms, than
// Page's CUSUM for a known change from a known line (Lorden 1971, Moustakides
// 1986), which needs the log likelihood ratio of ln(ARL). For a ramp of slope r
// in noise σ at fs that ratio is r²t³fs/(6σ²), so that t = (6σ²·ln(ARL)/(r²fs))^⅓.
const (
	limitSigma = 20.0          // Pa
	limitARL   = 1000 * 43_200 // readings: one false alarm in 1000 nights of 12 h at 1 Hz
	limitWarm  = 2 * 3600      // s, in which the estimator gets to know the bag
)

func optimum(rate float64) float64 {
	r := rate / 3600
	return math.Cbrt(6 * limitSigma * limitSigma * math.Log(limitARL) / (r * r))
}

// still plays a bag that holds still but for a leak after limitWarm.
func still(seed uint64, rate, length float64, see func(t float64, e *leak.Estimator) bool) {
	rng := rand.New(rand.NewPCG(seed, 0x6c696d6974)) //nolint:gosec // noise, not secrets
	e := leak.New(leak.Config{})
	for t := 0.0; t < length; t++ {
		p := 16000 + limitSigma*rng.NormFloat64() + rate/3600*math.Max(0, t-limitWarm)
		e.Add(leak.Reading{T: t, Bag: p, Ambient: 101325, Gas: 15, Air: 15})
		if !see(t, e) {
			return
		}
	}
}

func limit(first uint64, nights, n int) {
	alarms := 0
	for _, o := range each(first, nights, func(seed uint64) outcome {
		o := outcome{seed: seed, found: math.NaN()}
		still(seed, 0, 12*3600, func(t float64, e *leak.Estimator) bool {
			if math.Mod(t, 10) == 0 && e.Estimate().Leaking {
				o.found = t
				return false
			}
			return true
		})
		return o
	}) {
		if !math.IsNaN(o.found) {
			alarms++
		}
	}
	fmt.Printf("white noise, %d still nights: %d false leaks\n", nights, alarms)
	for _, rate := range []float64{20000, 5000, 2000, 1000, 500} {
		limitAt(first, n, rate)
	}
}

func limitAt(first uint64, n int, rate float64) {
	var delays, later []float64
	best := optimum(rate)
	for _, o := range each(first, n, func(seed uint64) outcome {
		o := outcome{seed: seed, found: math.NaN()}
		still(seed, rate, limitWarm+4*3600, func(t float64, e *leak.Estimator) bool {
			since := t - limitWarm
			if since < 0 {
				return true
			}
			got := e.Estimate()
			if got.Leaking && math.IsNaN(o.found) {
				o.found = since
			}
			if since >= 6*best {
				o.later = got.Rate/rate - 1
				return false
			}
			return true
		})
		return o
	}) {
		delays = append(delays, o.found)
		later = append(later, o.later)
	}
	// Cramér and Rao: a ramp from a known level, its begin unknown, over t.
	t := 6 * best
	bound := limitSigma * math.Sqrt(12/(t*t*t)) * 3600 / rate
	fmt.Printf("%5.0f Pa/h: optimum %.0f s, delay mean %.0f median %.0f s, ratio %.2f; after %.0f s the rate is off by %.2f %% (rms), the bound %.2f %%, ratio %.2f\n",
		rate, best, mean(delays), at(delays, 0.5), mean(delays)/best, t, 100*rms(later), 100*bound, rms(later)/bound)
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}
