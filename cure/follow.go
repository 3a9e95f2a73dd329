package cure

import "math"

// Follow is the forecast of something that follows the air by a first-order lag:
// from is what it is now, lag its time constant, s, and offset by how much, K, it
// is kept warmer than the air (colder when negative).
func Follow(air Forecast, from Band, lag, offset float64) Forecast {
	const step = 900.0
	lag = math.Max(lag, 1)
	decay := math.Exp(-step / lag)
	// How far behind a ramp of one step the lagging thing ends; see Lag.Add.
	behind := (1 - decay) * lag / step
	path := make([]Band, int(horizon/step)+2)
	path[0] = from
	doubt := offset / 4 // nobody knows how long what keeps it so will
	last := air(0)
	for i := 1; i < len(path); i++ {
		next := air(float64(i) * step)
		path[i] = Band{
			Low:      followed(path[i-1].Low, last.Low, next.Low, offset-math.Abs(doubt), decay, behind),
			Expected: followed(path[i-1].Expected, last.Expected, next.Expected, offset, decay, behind),
			High:     followed(path[i-1].High, last.High, next.High, offset+math.Abs(doubt), decay, behind),
		}
		last = next
	}
	return func(ahead float64) Band {
		x := math.Max(0, ahead/step)
		i := min(int(x), len(path)-2)
		f := math.Min(x-float64(i), 1)
		a, b := path[i], path[i+1]
		return Band{a.Low + f*(b.Low-a.Low), a.Expected + f*(b.Expected-a.Expected), a.High + f*(b.High-a.High)}
	}
}

// followed is the lagging thing one step later, the air running straight from a to b.
func followed(c, a, b, offset, decay, behind float64) float64 {
	a, b = a+offset, b+offset
	return b + (c-a)*decay - (b-a)*behind
}
