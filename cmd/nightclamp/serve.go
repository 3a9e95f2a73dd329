package main

import (
	"context"
	"fmt"
	"time"

	sdnotify "github.com/coreos/go-systemd/v22/daemon"
	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/daemon"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/pins"
	"github.com/nightclamp/nightclamp/cure"
)

func (a *app) serveCmd() *cobra.Command {
	return &cobra.Command{
		Use:     "serve",
		GroupID: "watch",
		Short:   "Watch the presses of this board",
		Long: `Serve is the daemon. It reads the sensors that the config names, keeps the record,
and answers on NATS, on the page and to Prometheus. A run that was under way when
it last stopped is picked up from the record.

It is usually started by systemd, tells it when it is ready, and feeds its watchdog
only while samples arrive.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			cfg, err := a.config()
			if err != nil {
				return err
			}
			if err := cfg.CheckSensors(); err != nil {
				return usageError{err}
			}
			return a.serve(cmd.Context(), cfg)
		},
	}
}

func (a *app) serve(ctx context.Context, cfg *config.Config) error {
	h := house{cfg: cfg, log: a.logger()}
	h.hands = newHands(cfg, pins.Machine(), h.log)
	for _, warning := range cfg.Warnings() {
		h.log.Warn("config", "warning", warning)
	}
	for _, p := range cfg.Presses {
		feed, err := newLiveFeed(p, cfg, h.log)
		if err != nil {
			return usageError{err}
		}
		station := stationOf(p, cfg)
		station.Pump = h.hands.pump(p)
		h.stations = append(h.stations, station)
		h.feeds = append(h.feeds, feed)
	}
	return a.open(ctx, h, func(ctx context.Context, o *opened) error {
		h.log.Info("watching", "presses", len(h.stations), "page", o.page, "nats", o.link.URL(), "record", databasePath(cfg))
		g, ctx := errgroup.WithContext(ctx)
		g.Go(func() error { return o.daemon.Run(ctx) })
		g.Go(func() error { return feedWatchdog(ctx, o.daemon) })
		err := g.Wait()
		h.log.Info("stopping")
		return err
	})
}

func stationOf(p config.Press, cfg *config.Config) daemon.StationConfig {
	return daemon.StationConfig{
		Site: cfg.Site, Press: p.Name, Glue: p.Glue, FloorPa: p.Floor.Pa(),
		FreeVolumeM3: p.FreeVolumeL / 1000, StrokeM3: p.StrokeL / 1000,
		Relaxed: !p.Strained, Display: cfg.Display.Units(),
		Stack: cure.GlueLineConfig{Lag: p.Lag.Std().Seconds(), Heated: p.Heated}, Shop: cfg.ShopKnown(),
	}
}

// sampleAge is how old the newest sample may be for the watchdog to be fed.
const sampleAge = 30 * time.Second

// feedWatchdog tells systemd that the daemon is ready, and from then on that it
// lives, as long as samples really arrive. Without systemd it does nothing.
func feedWatchdog(ctx context.Context, d *daemon.Daemon) error {
	if _, err := sdnotify.SdNotify(false, sdnotify.SdNotifyReady); err != nil {
		return fmt.Errorf("tell systemd that the daemon is ready: %w", err)
	}
	every, err := sdnotify.SdWatchdogEnabled(false)
	if err != nil {
		return fmt.Errorf("watchdog of systemd: %w", err)
	}
	if every == 0 {
		return nil
	}
	tick := time.NewTicker(every / 3)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			_, err := sdnotify.SdNotify(false, sdnotify.SdNotifyStopping)
			return err
		case <-tick.C:
			if time.Since(d.LastSample()) > sampleAge {
				continue
			}
			if _, err := sdnotify.SdNotify(false, sdnotify.SdNotifyWatchdog); err != nil {
				return fmt.Errorf("feed systemd's watchdog: %w", err)
			}
		}
	}
}
