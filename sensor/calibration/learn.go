package calibration

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Point is a moment of a hold.
type Point struct {
	At    time.Time
	BagPa float64 // absolute
	GasC  float64 // of the gas in the bag: the glue line's
	AirC  float64 // of the air, and so of the sensor
}

// Night is a hold without a leak, a top-up or an adhesive that gives off gas, from
// when it had settled.
type Night []Point

// Drift is a temperature coefficient with how sure it is.
type Drift struct {
	PaPerK float64 // the pressure that is read grows by so much for each kelvin of the air
	SE     float64 // one standard deviation, Pa/K
	MeanC  float64 // temperature of the air that it turns about, °C
	Nights int     // that it was learnt from
	SpanK  float64 // the widest range of the air in a night, K
}

const (
	leastNights = 3
	leastHours  = 4.0
	leastSpanK  = 3.0 // a night that the air moved by less teaches nothing
	kelvin      = 273.15
	apart       = 600 * time.Second // points nearer to each other are not independent
	surely      = 3.0               // standard deviations
)

// ErrTooLittle says that nothing can be learnt yet; the error around it says why.
var ErrTooLittle = errors.New("too little to learn from") //nolint:gochecknoglobals // a sentinel

// Learn finds how a sensor drifts with its temperature. In each night the pressure
// is laid down to what the gas does by itself (p·T/T̄ at constant volume), a straight
// line in time (the seal's slow leak), and a part that goes with the air. That part
// is the sensor's, or looks like it: the temperature of the tail of the hose does
// the same, and is as well taken out. The nights are weighed by what each knows, and
// the error is the larger of what the points and what the nights scatter by.
func Learn(nights []Night) (Drift, error) {
	var slopes, weights, temps []float64
	var d Drift
	for _, n := range nights {
		slope, se, mean, span, err := n.slope()
		if err != nil {
			continue
		}
		slopes, weights, temps = append(slopes, slope), append(weights, 1/(se*se)), append(temps, mean)
		d.SpanK = math.Max(d.SpanK, span)
	}
	d.Nights = len(slopes)
	if d.Nights < leastNights {
		return d, fmt.Errorf("%w: %d of %d sound nights were long enough (%.0f h settled, without top-up) and saw the air move by %.0f K; %d are needed",
			ErrTooLittle, d.Nights, len(nights), leastHours, leastSpanK, leastNights)
	}
	var sum, weight, temp float64
	for i, s := range slopes {
		sum, weight, temp = sum+s*weights[i], weight+weights[i], temp+temps[i]
	}
	d.PaPerK, d.MeanC, d.SE = sum/weight, temp/float64(d.Nights), math.Sqrt(1/weight)
	scatter := 0.0
	for i, s := range slopes {
		scatter += weights[i] * (s - d.PaPerK) * (s - d.PaPerK)
	}
	d.SE *= math.Max(1, math.Sqrt(scatter/float64(d.Nights-1)))
	if math.Abs(d.PaPerK) < surely*d.SE {
		return d, fmt.Errorf("%w: the drift is %.1f ± %.1f Pa/K, which may be none at all", ErrTooLittle, d.PaPerK, d.SE)
	}
	return d, nil
}

// slope fits one night. se counts one point in ten minutes, because nearer ones
// carry the same weather.
func (n Night) slope() (slope, se, mean, span float64, err error) {
	points := n.thin()
	hours := 0.0
	if len(points) > 1 {
		hours = points[len(points)-1].At.Sub(points[0].At).Hours()
	}
	if hours < leastHours || len(points) < 12 {
		return 0, 0, 0, 0, ErrTooLittle
	}
	low, high, gas := math.Inf(1), math.Inf(-1), 0.0
	for _, p := range points {
		low, high = math.Min(low, p.AirC), math.Max(high, p.AirC)
		mean, gas = mean+p.AirC/float64(len(points)), gas+p.GasC/float64(len(points))
	}
	if span = high - low; span < leastSpanK {
		return 0, 0, 0, 0, ErrTooLittle
	}
	t, air, y := make([]float64, len(points)), make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		t[i], air[i] = p.At.Sub(points[0].At).Hours(), p.AirC
		y[i] = p.BagPa * (gas + kelvin) / (p.GasC + kelvin)
	}
	slope, se, err = second(t, air, y)
	return slope, se, mean, span, err
}

// second fits y = a + b·x + c·z by least squares and returns c with its error. (A
// library's solver would weigh more than a megabyte in the program.)
func second(x, z, y []float64) (c, se float64, err error) {
	mx, mz, my := meanOf(x), meanOf(z), meanOf(y)
	var xx, zz, xz, xy, zy float64
	for i := range y {
		dx, dz, dy := x[i]-mx, z[i]-mz, y[i]-my
		xx, zz, xz, xy, zy = xx+dx*dx, zz+dz*dz, xz+dx*dz, xy+dx*dy, zy+dz*dy
	}
	det := xx*zz - xz*xz
	if det <= 1e-6*xx*zz { // the air went straight up or down: not to be told from the seal's leak
		return 0, 0, ErrTooLittle
	}
	b := (xy*zz - zy*xz) / det
	c = (zy*xx - xy*xz) / det
	rest := 0.0
	for i := range y {
		d := y[i] - my - b*(x[i]-mx) - c*(z[i]-mz)
		rest += d * d
	}
	const floor = 1.0 // Pa²: no part repeats itself better
	return c, math.Sqrt(math.Max(rest/float64(len(y)-3), floor) * xx / det), nil
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// thin keeps a known point in ten minutes.
func (n Night) thin() Night {
	var kept Night
	for _, p := range n {
		if math.IsNaN(p.BagPa + p.GasC + p.AirC) {
			continue
		}
		if len(kept) == 0 || p.At.Sub(kept[len(kept)-1].At) >= apart {
			kept = append(kept, p)
		}
	}
	return kept
}
