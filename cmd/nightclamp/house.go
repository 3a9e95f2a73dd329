package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/daemon"
	"github.com/nightclamp/nightclamp/dashboards/metrics"
	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/dashboards/web/past"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/wire"
)

// house is what serve and demo build the daemon from.
type house struct {
	cfg      *config.Config
	log      *slog.Logger
	stations []daemon.StationConfig
	feeds    []daemon.Feed
	anyPort  bool             // a port that is taken is no error: take another
	now      func() time.Time // the samples' clock; nil: the wall clock
	speed    float64          // of that clock
	hands    *hands           // nil: the board's pins are left alone
}

// opened is the house with the lights on.
type opened struct {
	daemon *daemon.Daemon
	link   *wire.Link
	page   string // URL of the page
}

// open builds every part in order, calls work with the running house, and takes
// it all down again in reverse: what is in memory is written, the last words go
// out, the servers close.
func (a *app) open(ctx context.Context, h house, work func(context.Context, *opened) error) (err error) {
	if err := os.MkdirAll(h.cfg.Data, 0o750); err != nil {
		return fmt.Errorf("data folder: %w; create it for the user who runs nightclamp, or set data in the config", err)
	}
	release, err := claim(h.cfg.Data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, release()) }()
	store, err := record.Open(ctx, databasePath(h.cfg), record.Options{
		Bucket: h.cfg.Record.Bucket.Std(), Flush: h.cfg.Record.Flush.Std(), SetAside: true,
		Ramdisk: h.cfg.Record.Ramdisk, Warn: func(err error) { h.log.Warn("the ramdisk is not used", "error", err) },
	})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	if aside := store.Aside(); aside != nil {
		h.log.Error("the record was damaged and has been set aside", "detail", aside)
	}
	link, err := h.connect(ctx)
	if err != nil {
		return err
	}
	defer link.Close()
	told, err := h.tellers(store)
	if err != nil {
		return err
	}
	d, err := daemon.New(ctx, daemon.Config{
		Stations: h.stations, Feeds: h.feeds, Store: store, Link: link, Ways: told.ways, Board: told.board,
		Keeping: daemon.Keeping{
			BuildLog: h.cfg.Record.BuildLog, Display: h.cfg.Display.Units(), Now: h.now,
			ThinAfter: h.cfg.Record.ThinAfter.Std(), MaxBytes: int64(h.cfg.Record.MaxSize),
		},
		Sheets: sheetsOf(h.cfg), Log: h.log,
		Queued: told.dispatcher.Wake, Unkept: told.dispatcher.Direct, Alerted: told.changed,
	})
	if err != nil {
		return err
	}
	told.watch(d)
	if err := link.Serve(d.Control(told)); err != nil {
		return err
	}
	listener, err := h.listen()
	if err != nil {
		return err
	}
	scheme := "http://"
	if h.cfg.HTTP.Cert != "" {
		scheme = "https://"
	}
	o := &opened{daemon: d, link: link, page: scheme + listener.Addr().String()}
	access, err := pageAccess(h.cfg)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	return h.run(ctx, o, h.handler(d, store, access, told), listener, told, work)
}

// run lets every part work until the work is done, or one part fails.
func (h house) run(ctx context.Context, o *opened, page http.Handler, listener net.Listener, told *tellers,
	work func(context.Context, *opened) error,
) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	server := web.Server(ctx, page, h.log)
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error { return o.link.Run(ctx) })
	g.Go(func() error { return told.run(ctx) })
	if h.hands != nil {
		g.Go(func() error { return h.hands.run(ctx, o.daemon, told.active) })
	}
	g.Go(func() error {
		err := h.serve(server, listener)
		if errors.Is(err, http.ErrServerClosed) {
			return nil
		}
		return err
	})
	g.Go(func() error {
		defer cancel()
		return work(ctx, o)
	})
	g.Go(func() error {
		<-ctx.Done()
		patience, done := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer done()
		return server.Shutdown(patience)
	})
	if err := g.Wait(); !errors.Is(err, context.Canceled) {
		return err
	}
	return nil
}

// serve serves the page, over TLS where the config has a certificate.
func (h house) serve(server *http.Server, listener net.Listener) error {
	if h.cfg.HTTP.Cert != "" {
		return server.ServeTLS(listener, h.cfg.HTTP.Cert, h.cfg.HTTP.Key)
	}
	return server.Serve(listener)
}

func (h house) handler(d *daemon.Daemon, store *record.Store, access web.Access, told *tellers) http.Handler {
	display := h.cfg.Display.Units()
	registry := metrics.NewRegistry(metrics.Config{Status: d.Statuses, Now: h.now, Version: version()})
	page := web.Config{
		Source: d.Page(), Metrics: metrics.Handler(registry, h.log), Display: display,
		Version: version(), Log: h.log, Now: h.now, Speed: h.speed,
		Board: d.BoardAlerts, Control: d, Glues: h.glues, Records: past.New(store, display),
		Keeping: past.NewKeeping(store, display, h.cfg.Record.BuildLog != ""),
		InForce: h.inForce, Access: access, Hosts: pageHosts(h.cfg),
	}
	if told.answers != nil {
		page.Replies = desk{
			answers: told.answers, show: display, now: time.Now, active: d.ActiveAlerts, ack: d.Acknowledge,
		}
	}
	return web.New(page)
}

// connect opens the wire. The demo takes another port when the usual is taken.
func (h house) connect(ctx context.Context) (*wire.Link, error) {
	cfg := wireConfig(h.cfg)
	link, err := wire.Connect(ctx, cfg, h.log)
	if err != nil && h.anyPort {
		cfg.Port = -1
		return wire.Connect(ctx, cfg, h.log)
	}
	return link, err
}

func (h house) listen() (net.Listener, error) {
	listener, err := net.Listen("tcp", h.cfg.HTTP.Listen)
	if err != nil && h.anyPort {
		return net.Listen("tcp", "127.0.0.1:0")
	}
	if err != nil {
		return nil, fmt.Errorf("page and metrics: %w; stop what listens there, or set http.listen in the config", err)
	}
	return listener, nil
}

// inForce is what the page shows of the config.
func (h house) inForce() (web.InForce, error) {
	var text strings.Builder
	err := h.cfg.Show(&text)
	return web.InForce{Path: h.cfg.Path, Text: text.String()}, err
}
