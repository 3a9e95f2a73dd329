package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/daemon"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// demoGlue is what the sled deck of the demo is glued with.
const demoGlue = "pva-d3"

type demoFlags struct {
	speed float64
	once  bool
	out   string
}

func (a *app) demoCmd() *cobra.Command {
	var f demoFlags
	c := &cobra.Command{
		Use:     "demo",
		GroupID: "watch",
		Short:   "See a whole night with a simulated press, no hardware needed",
		Long: `Demo runs the real daemon on a simulated press: a birch sled deck, an unheated
boat shed, an October night. Glue is spread, the bag is pulled down, a seam
begins to leak after midnight, somebody tops up and presses it shut, the morning
warms the shed, the glue reaches its press time and the bag is opened.

Time runs fast: the 30 hours take two minutes at the usual speed. The sentence is
printed whenever it changes. While it runs, the page, the metrics and the NATS
server answer, and the other commands (status, watch, note …) work from another
terminal.

With --once it runs as fast as it can, without servers, and leaves the press
record in the folder that --out names.`,
		Example: `  nightclamp demo
  nightclamp demo --speed 3600
  nightclamp demo --once --out /tmp/sled`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if f.speed <= 0 || f.speed > 1e6 {
				return usageError{fmt.Errorf("--speed %g: give how many times faster than life, above 0", f.speed)}
			}
			if f.once {
				return a.demoOnce(cmd.Context(), f.out)
			}
			return a.demo(cmd.Context(), f)
		},
	}
	c.Flags().Float64Var(&f.speed, "speed", 900, "how many times faster than life")
	c.Flags().BoolVar(&f.once, "once", false, "as fast as possible, without servers; leave the press record in --out")
	c.Flags().StringVarP(&f.out, "out", "o", ".", "where --once leaves the press record")
	return c
}

// demoStation is the press of the demo.
func demoStation(d units.Display) daemon.StationConfig {
	return daemon.StationConfig{Site: "boatshed", Press: "sled", Glue: demoGlue, Display: d}
}

// demoFeed plays the boat shed: the simulated bag, and what the builder says
// and does at certain moments.
type demoFeed struct {
	bag     *sim.Bag
	begin   time.Time
	at      time.Duration // sample time since the begin
	clock   atomic.Int64  // the same, for other goroutines
	newest  atomic.Pointer[sensor.Sample]
	speed   float64   // 0: as fast as possible
	started time.Time // wall clock of the first sample
	words   []demoWord
	heard   func(context.Context) error // called after each sample
}

// demoWord is something the builder says at a moment of the night.
type demoWord struct {
	at  time.Duration
	say func(ctx context.Context, d *daemon.Daemon) error
}

func newDemoFeed(speed float64, loc *time.Location) *demoFeed {
	cfg := sim.BoatShed()
	cfg.Start = sim.BoatShedBegins(loc)
	return &demoFeed{bag: sim.New(cfg), begin: cfg.Start, speed: speed, words: demoWords()}
}

func demoWords() []demoWord {
	note := func(at time.Duration, text string) demoWord {
		return demoWord{at, func(ctx context.Context, d *daemon.Daemon) error {
			_, err := d.Note(ctx, press.MarkOrder{Text: text})
			return err
		}}
	}
	start := demoWord{0, func(ctx context.Context, d *daemon.Daemon) error {
		_, err := d.Start(ctx, press.StartOrder{
			Work: "birch sled deck", Plies: 9, AreaM2: 0.21, FloorPa: press.Unknown(),
			Notes: "first deck on the new mould",
		})
		return err
	}}
	return []demoWord{
		start,
		note(6*time.Hour+29*time.Minute, "woken: hissing at the left seam"),
		note(6*time.Hour+37*time.Minute, "seam pressed shut with fresh tape, pumped up again"),
	}
}

// Run gives the night second by second, each when it is due.
func (f *demoFeed) Run(ctx context.Context, take func(sensor.Sample)) error {
	for f.at = 0; f.at <= sim.BoatShedLength; f.at += time.Second {
		if err := f.wait(ctx); err != nil {
			return err
		}
		f.clock.Store(int64(f.at))
		sample := f.bag.Step(f.begin.Add(f.at))
		f.newest.Store(&sample)
		take(sample)
		if err := f.heard(ctx); err != nil {
			return err
		}
	}
	return nil
}

// wait paces the night. It sleeps only when it is ahead, so that a slow machine
// loses nothing.
func (f *demoFeed) wait(ctx context.Context) error {
	if f.speed == 0 {
		return ctx.Err()
	}
	if f.started.IsZero() {
		f.started = time.Now()
	}
	due := time.Duration(float64(f.at) / f.speed)
	ahead := due - time.Since(f.started)
	if ahead < 5*time.Millisecond {
		return ctx.Err()
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(ahead):
		return nil
	}
}

// now is the demo's clock.
func (f *demoFeed) now() time.Time { return f.begin.Add(time.Duration(f.clock.Load())) }

// Health tells of the one simulated part.
func (f *demoFeed) Health() []press.SensorStatus {
	s := press.SensorStatus{Name: "simulated", Driver: "sim", Healthy: true, LastAt: f.now()}
	newest := f.newest.Load()
	for _, q := range sensor.Quantities() {
		s.Reads = append(s.Reads, string(q))
		if newest != nil {
			s.Readings = append(s.Readings, press.SensorReading{Quantity: string(q), Value: press.Num(q.Of(*newest))})
		}
	}
	return []press.SensorStatus{s}
}

// demoOnce plays the night without servers and leaves the press record in out.
func (a *app) demoOnce(ctx context.Context, out string) error {
	if err := os.MkdirAll(out, 0o755); err != nil { //nolint:gosec // a build log is for everybody
		return fmt.Errorf("--out %s: %w", out, err)
	}
	folder, err := os.MkdirTemp("", "nightclamp-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder) //nolint:errcheck // a temporary folder
	store, err := record.Open(ctx, filepath.Join(folder, "nightclamp.db"), record.Options{})
	if err != nil {
		return err
	}
	display := units.Display{Location: time.Local}
	feed := newDemoFeed(0, display.Location)
	d, err := daemon.New(ctx, daemon.Config{
		Stations: []daemon.StationConfig{demoStation(display)}, Feeds: []daemon.Feed{feed},
		Store: store, Link: daemon.Unlinked{}, Sheets: a.sheets(), Log: newStoryLog(a),
	})
	if err == nil {
		err = a.playDemo(ctx, d, feed)
	}
	var written string
	if err == nil {
		written, err = export.Export(ctx, store, "last", out, export.Options{Display: display})
	}
	if err = errors.Join(err, store.Close()); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "\nThe press record is in %s\n", written)
	return nil
}
