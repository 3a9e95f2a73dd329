package compare

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/press"
)

const (
	// Fewest is how many runs a forecast takes: with fewer, its bounds are so wide
	// that they say nothing. (Judgement, no source.)
	Fewest = 5
	// Level is the chance with which a bound holds, if what was fitted is true and
	// the scatter is normal.
	Level = 0.9
)

// Model is what was fitted.
type Model string

// The models.
const (
	NoModel Model = "none" // too few runs
	Mean    Model = "mean" // all at one x: nothing can be said of a slope
	Line    Model = "line" // least squares
)

// Fit is what the runs so far say about the next.
type Fit struct {
	Model Model `json:"model"`
	N     int   `json:"n"`

	Intercept Estimate   `json:"intercept"`
	Slope     Estimate   `json:"slope"`
	SD        press.Num  `json:"sd"` // of the residuals
	RSquared  press.Num  `json:"r_squared"`
	At        press.Num  `json:"at"`     // the x that is foretold for
	Next      press.Band `json:"next"`   // what is expected there, and within what one more run falls
	Inside    bool       `json:"inside"` // At is within the x that were seen
}

// Estimate is a coefficient with its standard error and its bounds.
type Estimate struct {
	Value press.Num  `json:"value"`
	SE    press.Num  `json:"se"`
	Band  press.Band `json:"band"`
}

func unknown() press.Band {
	return press.Band{Low: press.Unknown(), Expected: press.Unknown(), High: press.Unknown()}
}

func notFitted(n int, at float64) Fit {
	none := Estimate{press.Unknown(), press.Unknown(), unknown()}
	return Fit{Model: NoModel, N: n, Intercept: none, Slope: none, SD: press.Unknown(), RSquared: press.Unknown(), At: press.Num(at), Next: unknown()}
}

// fit draws the line y = a + b x through the points by least squares and foretells
// y at x0 with a prediction interval; where all x are nearly one (within same) it
// takes the mean. The formulas are those of every textbook:
//
//	s² = Σ(y−ŷ)²/(n−2), se(b) = s/√Sxx, se(a) = s √(1/n + x̄²/Sxx),
//	y(x0) ± t(n−2) s √(1 + 1/n + (x0−x̄)²/Sxx)
//
// (Draper and Smith, Applied Regression Analysis; from memory.)
func fit(x, y []float64, x0, same float64) Fit {
	n := len(x)
	f := notFitted(n, x0)
	if n < Fewest {
		return f
	}
	low, high := extremes(x)
	f.Inside = x0 >= low-same && x0 <= high+same
	if high-low <= same {
		return f.mean(y)
	}
	return f.line(x, y, x0)
}

func extremes(x []float64) (low, high float64) {
	low, high = x[0], x[0]
	for _, v := range x {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	return low, high
}

func (f Fit) mean(y []float64) Fit {
	n := float64(len(y))
	mean, sd := meanOf(y), spread(y)
	t := student(n - 1)
	f.Model, f.SD = Mean, press.Num(sd)
	f.Intercept = estimate(mean, sd/math.Sqrt(n), t)
	f.Next = around(mean, t*sd*math.Sqrt(1+1/n))
	return f
}

func (f Fit) line(x, y []float64, x0 float64) Fit {
	n := float64(len(x))
	var l leak.Line
	for i := range x {
		l.Add(x[i], y[i], 1)
	}
	left := 0.0
	for i := range x {
		r := y[i] - l.At(x[i])
		left += r * r
	}
	s, t := math.Sqrt(left/(n-2)), student(n-2)
	slope, se := l.Slope(s * s)
	middle, _ := l.Mean()
	f.Model, f.SD, f.RSquared = Line, press.Num(s), press.Num(1-left/sumSquares(y))
	f.Intercept = estimate(l.At(0), math.Hypot(s/math.Sqrt(n), se*middle), t)
	f.Slope = estimate(slope, se, t)
	f.Next = around(l.At(x0), t*math.Hypot(s*math.Sqrt(1+1/n), se*(x0-middle)))
	return f
}

// student is the two-sided bound of Student's t at Level.
// Its two tails are the regularised incomplete beta function of ν/(ν+t²) with ν/2 and
// 1/2 (Abramowitz & Stegun 26.7.1 and 26.5.27, from memory).
func student(degrees float64) float64 {
	x := mathext.InvRegIncBeta(degrees/2, 0.5, 1-Level)
	return math.Sqrt(degrees * (1/x - 1))
}

// spread is the standard deviation of a sample.
func spread(y []float64) float64 { return math.Sqrt(sumSquares(y) / float64(len(y)-1)) }

// sumSquares is the sum of the squared distances from the mean.
func sumSquares(y []float64) float64 {
	mean, sum := meanOf(y), 0.0
	for _, v := range y {
		sum += (v - mean) * (v - mean)
	}
	return sum
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func estimate(v, se, t float64) Estimate {
	return Estimate{press.Num(v), press.Num(se), around(v, t*se)}
}

func around(v, off float64) press.Band {
	return press.Band{Low: press.Num(v - off), Expected: press.Num(v), High: press.Num(v + off)}
}
