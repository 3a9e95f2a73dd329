package past

import (
	"context"
	"errors"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// RunHistory returns what was recorded of a run, thinned to at most maxPoints
// points, and how the press time was earned. Zero times are no bounds.
func (r *Records) RunHistory(ctx context.Context, id string, from, to time.Time, maxPoints int) (web.Series, error) {
	kept, err := r.find(ctx, id)
	if err != nil {
		return web.Series{}, err
	}
	if kept.Ended.IsZero() || !from.IsZero() || !to.IsZero() {
		return r.workOut(ctx, kept, from, to, maxPoints)
	}
	return r.memory.chart(chart{kept.ID, kept.Ended, maxPoints}, func() (web.Series, error) {
		// Others may be waiting for it when the one who asked first has gone.
		return r.workOut(context.WithoutCancel(ctx), kept, from, to, maxPoints)
	})
}

// workOut plays the kept samples of a run to an engine.
func (r *Records) workOut(ctx context.Context, kept record.Run, from, to time.Time, maxPoints int) (web.Series, error) {
	newest, err := r.store.Newest(ctx, kept.ID)
	if errors.Is(err, record.ErrNotFound) {
		return web.Series{}, nil // nothing was sampled
	}
	if err != nil {
		return web.Series{}, err
	}
	if from.IsZero() {
		from = kept.Started
	}
	if to.IsZero() || to.After(newest.Last) {
		to = newest.Last
	}
	engine, err := r.engine(ctx, kept)
	if err != nil {
		return web.Series{}, err
	}
	// The first and the last stretch may be cut: one more than there are points.
	t := thinning{from: from, width: to.Sub(from)/time.Duration(max(1, maxPoints-1)) + 1, engine: engine}
	for row, err := range r.store.Thinned(ctx, kept.ID, time.Time{}, to, 0) {
		if err != nil {
			return web.Series{}, err
		}
		t.take(row)
	}
	return t.done(), nil
}

// thinning joins rows to points and plays them to the engine on the way.
type thinning struct {
	from   time.Time
	width  time.Duration // of the stretch of time that a point stands for
	engine *press.Run    // nil: nothing is known of the glue
	point  point
	series web.Series
}

func (t *thinning) take(row record.Thin) {
	if t.engine != nil {
		t.engine.Advance(row.Sample())
	}
	if row.Mean.Before(t.from) {
		return
	}
	stretch := row.Mean.Sub(t.from) / t.width
	if t.point.rows > 0 && stretch != t.point.stretch {
		t.point.end(&t.series)
		t.point = point{}
	}
	if t.point.rows == 0 {
		t.point = point{stretch: stretch, at: row.Mean, clamped: press.Unknown()}
		if t.engine != nil {
			t.point.clamped = t.engine.Status().ClampedProgress.Expected
		}
	}
	t.point.add(row)
}

func (t *thinning) done() web.Series {
	if t.point.rows > 0 {
		t.point.end(&t.series)
	}
	if t.engine == nil {
		t.series.Clamped = nil
	}
	return t.series
}

// engine is one that has heard of the run's begin and nothing since; nil for a
// run without a datasheet, or with one that can no longer be read: its chart
// is drawn all the same.
func (r *Records) engine(ctx context.Context, run record.Run) (*press.Run, error) {
	sheet, err := cure.ParseSheet(run.Glue, run.Sheet)
	if len(run.Sheet) == 0 || err != nil {
		return nil, nil //nolint:nilerr,nilnil // see above
	}
	events, err := r.store.Events(ctx, run.ID)
	if err != nil {
		return nil, err
	}
	engine := press.New(press.Config{Site: run.Site, Press: run.Press, Sheet: sheet, Relaxed: !run.Strained, FloorPa: run.FloorPa})
	if len(events) > 0 && events[0].Kind == press.LayupStarted {
		engine.Start(events[0].Time)
	}
	return engine, nil
}

// point joins the rows of one stretch of time.
type point struct {
	stretch                             time.Duration // its number
	rows                                int
	at                                  time.Time // of the first row
	vacuum, bag, ambient, glueline, air extent
	clamped                             press.Num
}

func (p *point) add(row record.Thin) {
	p.rows++
	p.vacuum.add(row.Vacuum, row.Count)
	p.bag.add(row.Bag, row.Count)
	p.ambient.add(row.Ambient, row.Count)
	p.glueline.add(row.GlueLine, row.Count)
	p.air.add(row.Air, row.Count)
}

func (p *point) end(s *web.Series) {
	s.Times = append(s.Times, p.at)
	p.vacuum.end(&s.Vacuum)
	p.bag.end(&s.Bag)
	p.ambient.end(&s.Ambient)
	p.glueline.end(&s.Glueline)
	p.air.end(&s.Air)
	s.Clamped = append(s.Clamped, p.clamped)
}

// extent gathers one quantity.
type extent struct {
	count, sum, low, high float64
}

func (x *extent) add(e record.Extent, count int) {
	if math.IsNaN(e.Mean) {
		return
	}
	if x.count == 0 {
		x.low, x.high = e.Min, e.Max
	}
	x.low, x.high = min(x.low, e.Min), max(x.high, e.Max)
	x.count += float64(count)
	x.sum += e.Mean * float64(count)
}

func (x *extent) end(c *web.Column) {
	low, mean, high := press.Unknown(), press.Unknown(), press.Unknown()
	if x.count > 0 {
		low, mean, high = press.Num(x.low), press.Num(x.sum/x.count), press.Num(x.high)
	}
	c.Min, c.Mean, c.Max = append(c.Min, low), append(c.Mean, mean), append(c.Max, high)
}
