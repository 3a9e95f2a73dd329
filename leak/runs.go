package leak

import "math"

// Cusum is Page's one-sided cumulative sum (Biometrika 41, 1954): it gathers by
// how much values exceed what is usual, and alarms when they do so for long. Its
// zero value never alarms; set K and H.
type Cusum struct {
	K float64 // slack: half of the shift that matters, in standard deviations
	H float64 // threshold, in standard deviations
	S float64 // the sum so far
}

// Add takes the next value, in standard deviations from what is usual, and
// reports whether the sum has passed the threshold.
func (c *Cusum) Add(x float64) bool {
	c.S = max(0, c.S+x-c.K)
	return c.H > 0 && c.S > c.H
}

// RunLength is how many values the sum takes to alarm, on average, when they are
// normal with standard deviation one around shift: Siegmund's approximation
// (Sequential Analysis, 1985), good to some per cent.
func (c *Cusum) RunLength(shift float64) float64 {
	d, b := shift-c.K, c.H+1.166
	if math.Abs(d) < 1e-9 {
		return b * b
	}
	return (math.Exp(-2*d*b) + 2*d*b - 1) / (2 * d * d)
}

// Past is the leak of one earlier run of a bag, with its bounds at 95 %, Pa/h.
type Past struct{ Rate, Low, High float64 }

// Worsening reports whether a bag is getting worse from run to run, oldest run
// first, and by which factor the newest half leaks more than the first. The first
// half of the runs, three at least, tell what is usual. Rates of one bag differ
// between runs by more than their bounds (it is sealed anew each time), so what
// is usual has a spread of its own. With K = 0.5 and H = 4 a bag that stays as it
// is gives one false alarm in some 340 runs ([Cusum.RunLength]).
func Worsening(runs []Past) (worse bool, factor float64) {
	half := max(3, len(runs)/2)
	if len(runs) < half+2 {
		return false, 1
	}
	mean, sd := usual(runs[:half])
	sum, c := 0.0, Cusum{K: 0.5, H: 4}
	for _, r := range runs[half:] {
		own := (r.High - r.Low) / (2 * twoSided)
		worse = c.Add((r.Rate - mean) / math.Hypot(sd, own))
		sum += r.Rate
	}
	return worse, sum / float64(len(runs)-half) / max(mean, 1)
}

// usual is the mean of the rates and their spread, which is never taken for less
// than a fifth of the mean or 20 Pa/h.
func usual(runs []Past) (mean, sd float64) {
	n, square := float64(len(runs)), 0.0
	for _, r := range runs {
		mean += r.Rate / n
	}
	for _, r := range runs {
		square += sq(r.Rate - mean)
	}
	return mean, max(math.Sqrt(square/(n-1)), max(0.2*mean, 20))
}
