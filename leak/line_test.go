package leak

import (
	"math"
	"testing"
)

// NIST Statistical Reference Datasets, Norris (linear, lower difficulty): y, x.
var norris = [36][2]float64{
	{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5},
	{668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
	{0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
	{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
	{0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
	{10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
}

func TestLineAgainstNorris(t *testing.T) {
	const b0, b1, residual = -0.262323073774029, 1.00211681802045, 0.884796396144373
	var l Line
	for _, p := range norris {
		l.Add(p[1], p[0], 1)
	}
	slope, sd := l.Slope(residual * residual)
	near(t, "slope", slope, b1, 1e-13)
	near(t, "intercept", l.At(0), b0, 1e-11)
	// The certified standard deviation of the slope.
	near(t, "its standard deviation", sd, 0.429796848199937e-3, 1e-9)
}

// Standard deviation of the slope through n readings of noise σ, Δt apart, is
// σ·sqrt(12/(n(n²−1)))/Δt: with 20 Pa, 900 at 1 s 9.2376 Pa/h, 3600 at 1 s
// 1.1547 Pa/h, 600 at 0.1 s 169.706 Pa/h.
func TestSlopeAgainstCramerRao(t *testing.T) {
	for _, c := range []struct{ n, dt, want float64 }{{900, 1, 9.2376}, {3600, 1, 1.1547}, {600, 0.1, 169.706}} {
		var l Line
		for i := range int(c.n) {
			l.Add(float64(i)*c.dt, 0, 1)
		}
		_, sd := l.Slope(400)
		near(t, "slope", sd*hour, c.want, 1e-4)
	}
}

// A straight rise that begins at a known moment is found from its blocks.
func TestRiseFromBlocks(t *testing.T) {
	var r recent
	for i := range 100 {
		at := float64(5 * i)
		r.add(point{at, 300 + 0.5*math.Max(0, at-203), 80})
	}
	k := r.fit(210)
	near(t, "rate", k.rate, 0.5, 0.01)
	near(t, "begin", k.at, 203, 0.02)
	near(t, "now", k.now, 300+0.5*(495-203), 0.001)
}
