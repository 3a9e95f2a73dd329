package daemon

import (
	"context"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// coursePoints is how many points a course has when nobody says; mostPoints is
// how many it may have, so that the answer fits into a message.
const (
	coursePoints = 200
	mostPoints   = 2000
)

// Course is how the vacuum of the run on a press has gone so far.
func (d *Daemon) Course(ctx context.Context, o press.CourseOrder) (press.Course, error) {
	s, err := d.station(o.Press)
	if err != nil {
		return press.Course{}, err
	}
	if o.Points < 0 || o.Points > mostPoints {
		return press.Course{}, press.Errorf(press.BadOrder, "points: %d; ask for at most %d", o.Points, mostPoints)
	}
	if o.Points == 0 {
		o.Points = coursePoints
	}
	st := s.Status()
	c := press.Course{Schema: press.Schema, Press: st.Press, Run: st.Run, Times: []time.Time{}, VacuumPa: []press.Num{}}
	if c.Run == "" {
		return c, nil
	}
	for t, err := range d.store.Thinned(ctx, c.Run, dawn, dusk, o.Points) {
		if err != nil {
			return press.Course{}, press.Errorf(press.Failed, "the record cannot be read: %v", err)
		}
		c.Times = append(c.Times, t.First)
		c.VacuumPa = append(c.VacuumPa, press.Num(t.Vacuum.Mean))
	}
	return c, nil
}
