package daemon

import (
	"context"
	"fmt"
	"iter"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// forever bounds a look into the record on both sides.
var (
	dawn = time.Unix(0, 0).UTC()                                  //nolint:gochecknoglobals // constants in all but name
	dusk = time.Date(2200, time.January, 1, 0, 0, 0, 0, time.UTC) //nolint:gochecknoglobals
)

// restore picks up the run that was on the press when the daemon last stopped,
// from the record: progress is worked out again from the kept samples, and what
// nobody watched in between will be a gap.
func (s *Station) restore(ctx context.Context) error {
	rows, err := s.shared.store.Runs(ctx, record.Filter{Press: s.cfg.Press, Open: true, Limit: 1})
	if err != nil {
		return err
	}
	if err := s.restoreAlerts(ctx); err != nil {
		return err
	}
	if err := s.restoreHours(ctx); err != nil {
		return err
	}
	if err := s.restoreWeather(ctx); err != nil {
		return err
	}
	if len(rows) == 0 {
		s.idle() // once more, with what is known of the shop
		return nil
	}
	row := rows[0]
	cfg := press.Config{
		Site: row.Site, Press: row.Press, Work: row.Work, FloorPa: row.FloorPa,
		Relaxed: !row.Strained, Display: s.cfg.Display, Shop: s.cfg.Shop,
		FreeVolumeM3: s.cfg.FreeVolumeM3, StrokeM3: s.cfg.StrokeM3,
	}
	stack, err := stackOf(row.Layup)
	if err != nil {
		return fmt.Errorf("lay-up kept with run %s: %w", row.ID, err)
	}
	cfg.Stack = s.stack(stack)
	if len(row.Sheet) > 0 {
		if cfg.Sheet, err = cure.ParseSheet(row.Glue, row.Sheet); err != nil {
			return fmt.Errorf("adhesive kept with run %s: %w", row.ID, err)
		}
	}
	run, events, err := rebuild(ctx, s.shared.store, row.ID, cfg)
	if err != nil {
		return fmt.Errorf("pick up run %s: %w", row.ID, err)
	}
	run.Interrupted()
	s.run, s.row = run, row
	s.settle(ctx, events)
	s.shared.log.Info("run picked up from the record", "press", s.cfg.Press, "run", row.ID, "stage", run.Stage())
	return nil
}

func (s *Station) restoreAlerts(ctx context.Context) error {
	active, err := s.shared.store.Alerts(ctx, record.AlertFilter{Press: s.cfg.Press, Active: true})
	if err != nil {
		return err
	}
	s.book.Restore(active)
	return nil
}

// rebuild works a run out again from its record.
func rebuild(ctx context.Context, store *record.Store, id string, cfg press.Config) (*press.Run, []press.Event, error) {
	kept, err := store.Events(ctx, id)
	if err != nil {
		return nil, nil, err
	}
	if len(kept) > 0 { // as it was known then, however often the run is worked out again
		begun := kept[0].Time
		if cfg.Before, err = store.Hours(ctx, cfg.Press, begun.Add(-press.ShopMemory), begun); err != nil {
			return nil, nil, err
		}
	}
	var failed error
	run, events := press.Resume(cfg, kept, samples(ctx, store, id, &failed))
	return run, events, failed
}

// samples are the kept samples of a run as the engine takes them.
func samples(ctx context.Context, store *record.Store, id string, failed *error) iter.Seq[sensor.Sample] {
	return func(yield func(sensor.Sample) bool) {
		for thin, err := range store.Thinned(ctx, id, dawn, dusk, 0) {
			if err != nil {
				*failed = err
				return
			}
			if !yield(thin.Sample()) {
				return
			}
		}
	}
}
