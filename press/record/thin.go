package record

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Extent is the lowest, mean and highest value of a quantity; all NaN when it
// was never read.
type Extent struct{ Min, Mean, Max float64 }

func nothing() Extent { return Extent{math.NaN(), math.NaN(), math.NaN()} }

// Thin stands for the samples of one bucket.
type Thin struct {
	First time.Time     // time of the first sample
	Mean  time.Time     // mean of the samples' times
	Last  time.Time     // time of the last sample
	Boot  string        // boot identity of the last sample, empty when it had none
	Mono  time.Duration // monotonic clock at the last sample, in whole milliseconds; 0 without a boot
	Count int           // samples

	Bag      Extent // Pa, absolute
	Ambient  Extent // Pa, absolute
	GlueLine Extent // °C
	Air      Extent // °C
	Vacuum   Extent // Pa: of the differences ambient minus bag, sample by sample
	Humidity Extent // %, relative

	Quality sensor.Quality // the remarks of all samples, joined
}

// Sample is the bucket as the engine takes it: the means at the mean time.
func (t Thin) Sample() sensor.Sample {
	s := sensor.Sample{
		Time: t.Mean, Boot: t.Boot,
		Bag: t.Bag.Mean, Ambient: t.Ambient.Mean, GlueLine: t.GlueLine.Mean, Air: t.Air.Mean, Humidity: t.Humidity.Mean,
		Quality: t.Quality,
	}
	if t.Boot != "" {
		s.Mono = t.Mono - t.Last.Sub(t.Mean)
	}
	return s
}

// extents lists the quantities in the order of the table's columns.
func (t *Thin) extents() [6]*Extent {
	return [6]*Extent{&t.Bag, &t.Ambient, &t.GlueLine, &t.Air, &t.Vacuum, &t.Humidity}
}

// join makes one of two neighbours. A mean is weighted with the whole bucket's
// count, also when the quantity was missing in some of its samples.
func (t Thin) join(next Thin) Thin {
	a, b := float64(t.Count), float64(next.Count)
	origin := t.Mean
	t.Mean = origin.Add(time.Duration(float64(next.Mean.Sub(origin)) * b / (a + b)))
	t.First = earlier(t.First, next.First)
	t.Last = later(t.Last, next.Last)
	t.Boot, t.Mono = next.Boot, next.Mono
	other := next.extents()
	for i, e := range t.extents() {
		*e = e.join(*other[i], a, b)
	}
	t.Count += next.Count
	t.Quality |= next.Quality
	return t
}

func (e Extent) join(f Extent, a, b float64) Extent {
	switch {
	case math.IsNaN(e.Mean):
		return f
	case math.IsNaN(f.Mean):
		return e
	}
	return Extent{
		Min:  math.Min(e.Min, f.Min),
		Mean: e.Mean + (f.Mean-e.Mean)*b/(a+b),
		Max:  math.Max(e.Max, f.Max),
	}
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
