// Package past shows the record to the page: every run there was, what
// happened in it and its chart.
//
//	web.Config{Records: past.New(store, display), …}
//
// The record keeps samples, not estimates. How the press time was earned is
// worked out again, by playing the kept samples to the engine, so that a run's
// chart says the same after a restart as it did in the night.
package past

import (
	"context"
	"encoding/json"
	"errors"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/units"
)

// Store is what is read; a [record.Store] is one.
type Store interface {
	export.Source
	Runs(ctx context.Context, f record.Filter) ([]record.Run, error)
	Newest(ctx context.Context, run string) (record.Thin, error)
}

// Records shows a store to the page. It is a [web.Records].
type Records struct {
	store   Store
	display units.Display
	memory  remembered
}

// New returns the records of a store, with times and quantities as display
// writes them.
func New(store Store, display units.Display) *Records {
	return &Records{store: store, display: display}
}

// Runs returns the runs of a press (of all, when it is empty), newest first.
func (r *Records) Runs(ctx context.Context, name string, limit int) ([]web.Run, error) {
	kept, err := r.store.Runs(ctx, record.Filter{Press: name, Limit: limit})
	if err != nil {
		return nil, err
	}
	if r.memory.begin() {
		go r.warm(context.WithoutCancel(ctx), kept)
	}
	runs := make([]web.Run, len(kept))
	for i, k := range kept {
		runs[i] = view(k)
	}
	return runs, nil
}

// Run returns a run and what happened in it.
func (r *Records) Run(ctx context.Context, id string) (web.Run, []web.Happening, error) {
	kept, err := r.find(ctx, id)
	if err != nil {
		return web.Run{}, nil, err
	}
	events, err := r.store.Events(ctx, kept.ID)
	if err != nil {
		return web.Run{}, nil, err
	}
	told := make([]web.Happening, len(events))
	for i, e := range events {
		told[i] = web.Happening{Event: e, Words: export.Say(e, r.display)}
	}
	return view(kept), told, nil
}

func (r *Records) find(ctx context.Context, id string) (record.Run, error) {
	kept, err := r.store.Run(ctx, id)
	if errors.Is(err, record.ErrNotFound) {
		return kept, press.Errorf(press.NotFound, "no run %q in the record", id)
	}
	return kept, err
}

func view(k record.Run) web.Run {
	v := web.Run{
		ID: k.ID, Site: k.Site, Press: k.Press, Work: k.Work, Glue: k.Glue, FloorPa: press.Num(k.FloorPa),
		Strained: k.Strained, Plies: k.Plies, AreaM2: k.AreaM2, Notes: k.Notes,
		Started: k.Started, Ended: k.Ended, Stage: k.Stage, Verdict: k.Verdict, Progress: press.Unknown(),
	}
	var final press.Status
	if len(k.Final) > 0 && json.Unmarshal(k.Final, &final) == nil {
		v.Sentence, v.Progress, v.TopUps = final.Sentence, final.ClampedProgress.Expected, final.TopUps
	}
	return v
}
