package alert

import (
	"time"

	"github.com/nightclamp/nightclamp/press"
)

const (
	trendStep  = time.Minute
	trendSteps = 30
	// nearFloor is how long before the floor, at the pace of the last half hour,
	// people are woken whatever the estimates say: time to get up, find shoes
	// and reach the shed. clearOfFloor ends it.
	nearFloor    = 45 * time.Minute
	clearOfFloor = 90 * time.Minute
)

// trend is the vacuum of the last half hour, a value a minute.
type trend struct {
	at     [trendSteps]time.Time
	vacuum [trendSteps]float64 // Pa
	n      int                 // values there are; the newest is at (n-1) modulo trendSteps
}

func (d *trend) add(st press.Status) {
	if st.Stage != press.Hold || !st.VacuumPa.Known() {
		d.n = 0
		return
	}
	v := float64(st.VacuumPa)
	if d.n > 0 {
		newest := (d.n - 1) % trendSteps
		since := st.Time.Sub(d.at[newest])
		if since >= 0 && since < trendStep {
			return
		}
		const toppedUp = 500 // Pa, more than a minute's noise
		if since < 0 || since > 10*trendStep || v > d.vacuum[newest]+toppedUp {
			d.n = 0
		}
	}
	d.at[d.n%trendSteps], d.vacuum[d.n%trendSteps] = st.Time, v
	d.n++
}

// reaches is how long until the vacuum is at floor (Pa) at the pace of the last
// half hour; false when it does not go down, or there is no half hour yet.
func (d *trend) reaches(floor float64) (time.Duration, bool) {
	if d.n < trendSteps {
		return 0, false
	}
	newest, oldest := (d.n-1)%trendSteps, d.n%trendSteps
	span := d.at[newest].Sub(d.at[oldest])
	lost := d.vacuum[oldest] - d.vacuum[newest]
	if lost <= 0 || d.vacuum[newest] <= floor {
		return 0, false
	}
	in := (d.vacuum[newest] - floor) / lost * float64(span)
	if in > float64(clearOfFloor) { // as good as never, and it might not fit a Duration
		return 0, false
	}
	return time.Duration(in), true
}

// floorIsNear reports whether the gauge goes to the floor before the glue is done.
func floorIsNear(b *Book, st press.Status, open bool) bool {
	if st.Stage != press.Hold || st.Verdict == press.Done || (!open && b.find(MarginGone) != nil) {
		return false
	}
	in, goes := b.going.reaches(st.FloorPa.Or(0))
	limit := nearFloor
	if open {
		limit = clearOfFloor
	}
	done := st.PressTimeAt.Expected
	return goes && in < limit && (done.IsZero() || done.After(st.Time.Add(in)))
}

func filmIsLost(_ *Book, st press.Status, open bool) bool {
	return (st.Lost || open) && st.Stage != press.Release
}
