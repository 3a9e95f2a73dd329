package alert

import (
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// fall follows how fast the vacuum goes, from the statuses alone.
type fall struct {
	at     time.Time
	vacuum float64 // Pa
	rate   float64 // Pa/s, positive while the vacuum goes
	since  time.Time
}

const (
	// soon is how far ahead a bag must be foreseen open for smaller alerts to
	// wait, and how long they wait at most.
	soon = time.Minute
	// openShare of the floor and less is a bag that is as good as open.
	openShare = 0.5
)

func (f *fall) add(st press.Status) {
	dt := st.Time.Sub(f.at).Seconds()
	if !st.VacuumPa.Known() || (dt >= 0 && dt < 0.9) {
		return
	}
	v := float64(st.VacuumPa)
	f.rate = 0
	if dt > 0 && dt < 10 {
		f.rate = (f.vacuum - v) / dt
	}
	f.at, f.vacuum = st.Time, v
	if !f.fast(st) {
		f.since = time.Time{}
	} else if f.since.IsZero() {
		f.since = st.Time
	}
}

// fast reports whether the bag will be open soon if it goes on like this.
func (f *fall) fast(st press.Status) bool {
	return f.rate > 0 && f.vacuum-f.rate*soon.Seconds() < openShare*st.FloorPa.Or(0)
}

// open reports whether it may be that the bag is opening just now.
func (f *fall) open(st press.Status) bool {
	return f.fast(st) && st.Time.Sub(f.since) < soon
}
