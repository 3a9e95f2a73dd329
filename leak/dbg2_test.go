package leak

import (
	"fmt"
	"math"
	"testing"
)

func TestTrace(t *testing.T) {
	n := sound
	n.leakAt, n.leak, n.hours = 4, 2000, 4.2
	e := New(Config{})
	last := 0.0
	n.play(func(r Reading, _ float64) {
		e.Add(r)
		since := r.T - 1000 - 4*hour
		if since > 0 && e.fastAt != last {
			last = e.fastAt
			fmt.Printf("%.0f changed %.0f suspect %v slow.n %.0f start %.0f newest %.0f rate %.0f±%.0f leak %.0f level sd %.1f corr %.2f slowAt %.0f steady %.0f drift %.0f off %.1f\n", since, e.said.changed-1000-4*hour, e.suspect, e.slow.n, e.slow.start-1000-4*hour, e.newest-1000-4*hour, e.bag.x[rate]*hour, math.Sqrt(e.bag.p[rate][rate])*hour, e.leak*hour, math.Sqrt(e.bag.p[level][level]), e.bag.p[level][rate]/math.Sqrt(e.bag.p[level][level]*e.bag.p[rate][rate]), e.slowAt-1000-4*hour, e.steady*hour, e.trend.drift*hour, e.warmth.off(e.fastAt))
			ramp, jump := e.trend.best()
			if ramp == nil || jump == nil {
				return
			}
			c, l := e.recent.stories(ramp.at)
			fmt.Printf("%.0f g %.1f j %.1f onset %.0f size %.0f clear %.1f late %.1f fits %v leaking %v restless %.1f n %d drift %.0f wild %.0f limit %.0f\n", since, ramp.ramp.gain(), jump.jump.gain(), ramp.at-1000-4*hour, ramp.ramp.size()*hour, c, l, e.trend.fits(ramp), e.said.leaking, e.restless, e.recent.n, e.trend.drift*hour, e.wild*1e6, sq(certain*e.patience()))
		}
	})
}
