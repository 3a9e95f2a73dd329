package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press/record"
)

// Config is what a daemon is made of. The parts are opened by the caller, who
// also closes them, after Run has returned.
type Config struct {
	Stations []StationConfig
	Feeds    []Feed // one a station
	Store    *record.Store
	Link     Link
	Ways     alert.Ways
	Sheets   Sheets
	Queued   func() // called when the outbox has something new; nil: nobody is told
	Log      *slog.Logger
}

// Daemon watches all presses of one board.
type Daemon struct {
	stations []*Station
	store    *record.Store
	log      *slog.Logger
	watchers watchers
}

// New makes a daemon and picks up the runs that the record has open.
func New(ctx context.Context, cfg Config) (*Daemon, error) {
	d := &Daemon{store: cfg.Store, log: cfg.Log}
	if cfg.Queued == nil {
		cfg.Queued = func() {}
	}
	sh := shared{
		store: cfg.Store, link: cfg.Link, ways: cfg.Ways, sheets: cfg.Sheets,
		log: cfg.Log, queued: cfg.Queued, changed: d.watchers.tell,
	}
	for i, sc := range cfg.Stations {
		s := newStation(sc, cfg.Feeds[i], sh)
		if err := s.restore(ctx); err != nil {
			return nil, fmt.Errorf("press %s: %w", sc.Press, err)
		}
		d.stations = append(d.stations, s)
	}
	return d, nil
}

// Run takes samples until ctx ends, or until every feed has. What is still in
// memory then is written.
func (d *Daemon) Run(ctx context.Context) error {
	g, ctx := errgroup.WithContext(ctx)
	for _, s := range d.stations {
		g.Go(func() error {
			if err := s.Run(ctx); err != nil && !errors.Is(err, context.Canceled) {
				return fmt.Errorf("press %s: %w", s.cfg.Press, err)
			}
			return nil
		})
	}
	err := g.Wait()
	d.watchers.close()
	flushed, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	return errors.Join(err, d.store.Flush(flushed))
}

// LastSample is when a sample last came in from any press, by the monotonic
// clock: the systemd watchdog is fed only while samples arrive.
func (d *Daemon) LastSample() time.Time {
	var newest time.Time
	for _, s := range d.stations {
		if at := s.takenAt(); at.After(newest) {
			newest = at
		}
	}
	return newest
}
