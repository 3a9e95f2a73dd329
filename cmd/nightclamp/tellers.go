package main

import (
	"context"
	"errors"
	"log/slog"
	"sync/atomic"
	"time"

	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/daemon"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// tellers are all who tell people and programs outside of what is wrong, and that
// somebody is watching at all.
type tellers struct {
	site         string
	ways         alert.Ways
	dispatcher   *alert.Dispatcher
	alertmanager *alert.Alertmanager // nil: none is configured
	ping         *alert.Ping         // nil: none is configured
	board        *alert.Board        // nil: the demo has none
	answers      *alert.Answers      // nil: messages have no link to answer by
	log          *slog.Logger
	daemon       atomic.Pointer[daemon.Daemon] // nil until there is one
}

// tellers makes them; they speak of the daemon once watch was called.
func (h house) tellers(store *record.Store) (*tellers, error) {
	ways, err := alert.NewWays(h.cfg.AlertWays(), h.log)
	if err != nil {
		return nil, err
	}
	t := &tellers{site: h.cfg.Site, ways: ways, log: h.log, dispatcher: alert.NewDispatcher(store, ways, h.log)}
	if t.answers, err = answersOf(h.cfg); err != nil {
		return nil, err
	}
	t.dispatcher.AnswerBy(t.answers)
	if urls := h.cfg.Alert.Alertmanager.Value(); urls != "" {
		if t.alertmanager, err = alert.NewAlertmanager(urls, t.active, h.log); err != nil {
			return nil, err
		}
	}
	if ping := h.cfg.Alert.Ping; ping.URL != "" {
		if t.ping, err = alert.NewPing(ping.URL.Value(), ping.Every.Std(), t.alive, h.log); err != nil {
			return nil, err
		}
	}
	if h.now == nil { // the demo's clock is not the board's
		t.board = t.boardOf(h)
	}
	return t, nil
}

// boardOf is the watch over the board itself.
func (t *tellers) boardOf(h house) *alert.Board {
	show := h.cfg.Display.Units()
	return alert.NewBoard(h.cfg.Site, show,
		alert.RecordCheck(func() error {
			if d := t.daemon.Load(); d != nil {
				return d.RecordFailing()
			}
			return nil
		}),
		alert.DiskCheck(h.cfg.Data, alert.DiskSpace),
		alert.DeliveryCheck(t.dispatcher.Health, show),
		alert.PowerCheck("/sys"),
		alert.HeatCheck("/sys", show),
		alert.ClockCheck(alert.ClockSet, time.Now()),
		alert.OutcomeCheck(t.ofDaemon((*daemon.Daemon).AskedOutcome)),
		alert.BuildLogCheck(t.ofDaemon((*daemon.Daemon).BuildLogFailing)),
	)
}

// ofDaemon asks the daemon, once there is one.
func (t *tellers) ofDaemon(ask func(*daemon.Daemon) string) func() string {
	return func() string {
		if d := t.daemon.Load(); d != nil {
			return ask(d)
		}
		return ""
	}
}

// watch says which daemon the tellers speak of.
func (t *tellers) watch(d *daemon.Daemon) {
	t.daemon.Store(d)
	t.dispatcher.Ask(d.AlertState)
}

func (t *tellers) active() []press.Alert {
	if d := t.daemon.Load(); d != nil {
		return d.ActiveAlerts()
	}
	return nil
}

// alive reports whether samples arrive.
func (t *tellers) alive() bool {
	d := t.daemon.Load()
	return d != nil && time.Since(d.LastSample()) < sampleAge
}

// changed says that an alert changed.
func (t *tellers) changed() {
	if t.alertmanager != nil {
		t.alertmanager.Changed()
	}
}

// run tells until ctx ends.
func (t *tellers) run(ctx context.Context) error {
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return t.dispatcher.Run(ctx) })
	if t.alertmanager != nil {
		g.Go(func() error { return t.alertmanager.Run(ctx) })
	}
	if t.ping != nil {
		g.Go(func() error { return t.ping.Run(ctx) })
	}
	if err := g.Wait(); !errors.Is(err, context.Canceled) {
		return err
	}
	return nil
}

// TestWays sends a test through every way.
func (t *tellers) TestWays(ctx context.Context) ([]press.Tried, error) {
	return t.ways.Test(ctx, t.site), nil
}

// Ways says how each way is doing.
func (t *tellers) Ways(context.Context) ([]press.WayHealth, error) {
	return t.dispatcher.Health(), nil
}
