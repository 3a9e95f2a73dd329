package daemon

import (
	"context"
	"time"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/wire"
)

// page shows the daemon to the built-in page in the page's own words.
type page struct{ *Daemon }

// Page returns what the built-in page asks for.
func (d *Daemon) Page() web.Source { return page{d} }

// Status returns what is known about every press.
func (p page) Status() []press.Status { return p.Statuses() }

// History returns what was recorded of the newest run of a press.
func (p page) History(ctx context.Context, name string, from, to time.Time, maxPoints int) (web.Series, error) {
	s, err := p.station(name)
	if err != nil {
		return web.Series{}, err
	}
	var series web.Series
	run := s.Status().Run
	if run == "" {
		return series, nil
	}
	for t, err := range p.store.Thinned(ctx, run, from, to, maxPoints) {
		if err != nil {
			return web.Series{}, err
		}
		series.Times = append(series.Times, t.First)
		add(&series.Vacuum, t.Vacuum)
		add(&series.Bag, t.Bag)
		add(&series.Ambient, t.Ambient)
		add(&series.Glueline, t.GlueLine)
		add(&series.Air, t.Air)
	}
	series.Clamped = s.progressAt(series.Times)
	return series, nil
}

func add(c *web.Column, e record.Extent) {
	c.Min = append(c.Min, press.Num(e.Min))
	c.Mean = append(c.Mean, press.Num(e.Mean))
	c.Max = append(c.Max, press.Num(e.Max))
}

// Outlets are the ways out for alerts, as far as the wire asks about them.
type Outlets interface {
	TestWays(ctx context.Context) ([]press.Tried, error)
	Ways(ctx context.Context) ([]press.WayHealth, error)
}

// Control returns what the wire's orders are carried out by.
func (d *Daemon) Control(outlets Outlets) wire.Controller {
	return wireControl{d, outlets}
}

// wireControl shows the daemon to the wire, whose Status takes a name.
type wireControl struct {
	*Daemon
	Outlets
}

// Status returns the status of one press, or of all when name is empty.
func (w wireControl) Status(_ context.Context, name string) ([]press.Status, error) {
	return w.StatusOf(name)
}
