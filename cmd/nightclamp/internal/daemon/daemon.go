package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press"
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
	Board    *alert.Board // nil: nobody looks after the board itself
	Keeping  Keeping      // what is done with runs that are over
	Log      *slog.Logger

	// What others want to hear; nil: nobody is told.
	Queued  func()                 // the outbox has something new
	Unkept  func([]press.Delivery) // messages that the outbox could not take
	Alerted func()                 // an alert changed
}

// Daemon watches all presses of one board.
type Daemon struct {
	stations []*Station
	board    *alert.Board
	shared   shared
	store    *record.Store
	log      *slog.Logger
	watchers watchers
	keeper   *keeper
}

// New makes a daemon and picks up the runs that the record has open.
func New(ctx context.Context, cfg Config) (*Daemon, error) {
	d := &Daemon{store: cfg.Store, log: cfg.Log, board: cfg.Board}
	d.keeper = newKeeper(cfg.Keeping, cfg.Store, cfg.Log)
	d.shared = shared{
		keeper: d.keeper,
		store:  cfg.Store, link: cfg.Link, ways: cfg.Ways, sheets: cfg.Sheets, log: cfg.Log,
		changed: d.watchers.tell, queued: orNothing(cfg.Queued), alerted: orNothing(cfg.Alerted), unkept: cfg.Unkept,
	}
	if cfg.Unkept == nil {
		d.shared.unkept = func([]press.Delivery) {}
	}
	if err := d.restoreBoard(ctx); err != nil {
		return nil, fmt.Errorf("alerts of the board: %w", err)
	}
	for i, sc := range cfg.Stations {
		s := newStation(sc, cfg.Feeds[i], d.shared)
		if err := s.restore(ctx); err != nil {
			return nil, fmt.Errorf("press %s: %w", sc.Press, err)
		}
		d.stations = append(d.stations, s)
	}
	return d, nil
}

func orNothing(do func()) func() {
	if do == nil {
		return func() {}
	}
	return do
}

// Run takes samples until ctx ends, or until every feed has. What is still in
// memory then is written.
func (d *Daemon) Run(ctx context.Context) error {
	g, ctx := errgroup.WithContext(ctx)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	if d.board != nil {
		go d.watchBoard(ctx) //nolint:errcheck // it ends with ctx and has no other error
	}
	kept := make(chan struct{})
	go func() {
		defer close(kept)
		d.keeper.run(ctx)
	}()
	for _, s := range d.stations {
		g.Go(func() error {
			if err := s.Run(ctx); err != nil && !errors.Is(err, context.Canceled) {
				return fmt.Errorf("press %s: %w", s.cfg.Press, err)
			}
			return nil
		})
	}
	err := g.Wait()
	cancel()
	<-kept // it uses the store, which is closed after us
	d.watchers.close()
	flushed, done := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer done()
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
