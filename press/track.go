package press

import (
	"sort"
	"time"
)

// trackPoints bounds the track's memory: when it is full every other point goes
// and the pace is halved.
const trackPoints = 1024

// track remembers how the clamped progress grew, for the chart.
type track struct {
	every  float64 // s between two points
	times  []time.Time
	values []float64
	next   float64 // t of the next point
}

func (k *track) add(t float64, at time.Time, value float64) {
	if k.every == 0 {
		k.every = 60
	}
	if t < k.next {
		return
	}
	k.next = t + k.every
	k.times, k.values = append(k.times, at), append(k.values, value)
	if len(k.times) < trackPoints {
		return
	}
	k.every *= 2
	kept := 0
	for i := 0; i < len(k.times); i += 2 {
		k.times[kept], k.values[kept] = k.times[i], k.values[i]
		kept++
	}
	k.times, k.values = k.times[:kept], k.values[:kept]
}

// at is the value at a moment, straight between two points; unknown before the
// first and after the last.
func (k *track) at(moment time.Time) Num {
	i := sort.Search(len(k.times), func(i int) bool { return !k.times[i].Before(moment) })
	switch {
	case i == len(k.times):
		return Unknown()
	case k.times[i].Equal(moment):
		return Num(k.values[i])
	case i == 0:
		return Unknown()
	}
	whole := k.times[i].Sub(k.times[i-1]).Seconds()
	share := moment.Sub(k.times[i-1]).Seconds() / whole
	return Num(k.values[i-1] + share*(k.values[i]-k.values[i-1]))
}

// ProgressAt is the clamped progress that the run had at moment, 0..1; unknown
// outside the time that the engine has watched.
func (r *Run) ProgressAt(moment time.Time) Num { return r.cure.track.at(moment) }
