package scan

import (
	"errors"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/leak"
)

// Noise is how a series of readings scatters.
type Noise struct {
	N       int     `json:"n"`
	Seconds float64 `json:"seconds"` // from the first reading to the last
	Hz      float64 `json:"hz"`      // readings a second
	Mean    float64 `json:"mean"`
	SD      float64 `json:"sd"`    // about the straight line through the readings, so that a drift is no noise
	Step    float64 `json:"step"`  // the smallest change between two readings; 0: none changed
	PerHour float64 `json:"per_h"` // slope of that line
	Lag1    float64 `json:"lag1"`  // correlation of each reading with the next, about the line; 0 for white noise
}

// least is how few readings tell nothing about their scatter.
const least = 3

// ErrTooFew means that there are not enough readings.
var ErrTooFew = errors.New("too few readings to tell the noise: measure longer")

// Measure judges the values read at the given times, which must rise.
func Measure(at []time.Time, values []float64) (Noise, error) {
	n := len(values)
	if n < least || n != len(at) {
		return Noise{N: n}, ErrTooFew
	}
	x := make([]float64, n)
	for i, t := range at {
		x[i] = t.Sub(at[0]).Seconds()
	}
	z := Noise{N: n, Seconds: x[n-1]}
	if z.Seconds <= 0 {
		return z, ErrTooFew
	}
	z.Hz = float64(n-1) / z.Seconds
	var line leak.Line
	for i, v := range values {
		line.Add(x[i], v, 1)
	}
	_, z.Mean = line.Mean()
	slope, _ := line.Slope(0)
	z.PerHour = slope * 3600
	rest, squares, products := make([]float64, n), 0.0, 0.0
	for i, v := range values {
		rest[i] = v - line.At(x[i])
		squares += rest[i] * rest[i]
	}
	for i, before := range values[:n-1] {
		products += rest[i] * rest[i+1]
		if step := math.Abs(values[i+1] - before); step > 0 && (z.Step == 0 || step < z.Step) {
			z.Step = step
		}
	}
	z.SD = math.Sqrt(squares / float64(n-2)) // the line took two
	if squares > 0 {
		z.Lag1 = products / squares
	}
	return z, nil
}

// Sigma is the noise that a leak must be told from: the scatter, but no less
// than what rounding to the part's step alone gives, step/√12.
func (z Noise) Sigma() float64 { return max(z.SD, z.Step/math.Sqrt(12)) }

// FalseAlarmEvery is the watched time in which one false alarm is allowed: a
// thousand nights of twelve hours.
const FalseAlarmEvery = 1000 * 12 * time.Hour

// Sees is the least time in which a leak that raises the pressure by rate (Pa/s,
// above 0) can be told from white noise, by any means:
//
//	t = (6 σ² ln ARL / (rate² fs))^(1/3)
//
// with ARL the readings in [FalseAlarmEvery]. By then a ramp has gathered the
// information ln ARL, which is the asymptotic bound on the delay of a detector
// with that mean time between false alarms (Lorden, Ann. Math. Statist. 42, 1971;
// Moustakides, Ann. Statist. 14, 1986). It is the theoretical best: it takes the
// leak's rate and the noise for known. Expect twice as long.
func (z Noise) Sees(rate float64) time.Duration {
	arl := FalseAlarmEvery.Seconds() * z.Hz
	t := math.Cbrt(6 * z.Sigma() * z.Sigma() * math.Log(arl) / (rate * rate * z.Hz))
	return time.Duration(t * float64(time.Second))
}
