package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
)

type replayFlags struct {
	glue    string
	floor   units.Pressure
	station units.Pressure
	flat    bool
	events  bool
}

func (a *app) replayCmd() *cobra.Command {
	f := replayFlags{floor: press.DefaultFloor}
	c := &cobra.Command{
		Use:     "replay [flags] FILE.csv",
		GroupID: "look",
		Short:   "Say what the daemon would have said of a recorded series",
		Long: `Replay runs the engine on a recorded series and prints what the daemon would
have said. FILE may be - for standard input.

The first line names the columns, in any order:
  time        RFC 3339, or seconds from the start as a decimal number
  bag_pa      absolute pressure in the bag, or vacuum_pa (for a gauge part)
  ambient_pa  absolute pressure of the room    (optional)
  glueline_c  temperature at the glue line     (optional)
  air_c       temperature of the room          (optional)
  humidity_pct relative humidity of the room, % (optional)
An empty cell is a missing reading. A series that begins under vacuum is taken
as a hold from its first sample.

Times are printed as the file gives them. With --json each event is one object
on a line, and the last line is an object of kind "summary".

Exit codes: 0 read to the end, 2 bad arguments or input.`,
		Example: `  nightclamp replay --glue pva-d3 --events night.csv
  zcat night.csv.gz | nightclamp replay --json -`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return a.replay(f, args[0]) },
	}
	flags := c.Flags()
	flags.StringVar(&f.glue, "glue", "", "adhesive: a datasheet's `name` (see nightclamp glue list) or the path of its file")
	flags.Var(&f.floor, "floor", "the vacuum not to go below, with its unit")
	flags.Var(&f.station, "station", "pressure of the room for a file without ambient_pa")
	flags.BoolVar(&f.flat, "flat", false, "the work is flat and not strained by a mould")
	flags.BoolVar(&f.events, "events", false, "print every event, not only the summary")
	a.jsonFlag(c)
	return c
}

func (a *app) replay(f replayFlags, path string) error {
	in, name, err := a.openInput(path)
	if err != nil {
		return usageError{err}
	}
	defer in.Close() //nolint:errcheck // it was only read
	cfg := press.Config{Press: "replay", Site: "replay", FloorPa: f.floor.Pa(), Relaxed: f.flat}
	if f.glue != "" {
		if cfg.Sheet, _, err = a.sheets()(f.glue); err != nil {
			return usageError{err}
		}
	}
	if err := checkFloor(cfg.FloorPa); err != nil {
		return usageError{err}
	}
	var options []csvfile.Option
	if f.station != 0 {
		options = append(options, csvfile.Station(f.station.Pa()))
	}
	series, err := csvfile.NewReader(in, name, options...)
	if err != nil {
		return usageError{err}
	}
	if f.glue == "" && !a.asJSON {
		fmt.Fprintln(a.err, "No --glue was given, so nothing is said of the cure: nightclamp glue list has the names.")
	}
	r := replayer{series: series, cfg: cfg, out: bufio.NewWriter(a.out), json: a.asJSON, events: f.events}
	return errors.Join(r.run(), r.out.Flush())
}

func checkFloor(pa float64) error {
	if pa < 1e3 || pa > 101325 {
		return fmt.Errorf("a floor of %s cannot be had, or clamps nothing: give --floor between 1kPa and what the room's "+
			"pressure allows (101 kPa at sea level, 84 kPa at 1500 m)", units.Display{}.Pressure(pa))
	}
	return nil
}

func (a *app) openInput(path string) (io.ReadCloser, string, error) {
	if path == "-" {
		return io.NopCloser(a.in), "standard input", nil
	}
	file, err := os.Open(path) //nolint:gosec // the caller names the file to read
	if err != nil {
		return nil, "", fmt.Errorf("series cannot be read: %w", err)
	}
	return file, path, nil
}

// replayer carries one series through the engine.
type replayer struct {
	series *csvfile.Reader
	cfg    press.Config
	out    *bufio.Writer
	json   bool
	events bool
	format press.TimeFormat
	spent  func(batch) // gives a batch back to be filled again
}

// batch is a stretch of the series, and what ended the reading after it.
type batch struct {
	samples []sensor.Sample
	kind    csvfile.TimeKind
	err     error
}

// batchSize is long enough that handing over costs nothing beside the work.
const batchSize = 1024

// read reads the series ahead while the engine is at work, in order, until its
// end or until stop is closed.
func (r *replayer) read(stop <-chan struct{}) <-chan batch {
	full, empty := make(chan batch, 2), make(chan []sensor.Sample, 4)
	for range cap(empty) {
		empty <- make([]sensor.Sample, batchSize)
	}
	r.spent = func(b batch) { empty <- b.samples[:batchSize] }
	go func() {
		defer close(full)
		for b := (batch{}); b.err == nil; {
			select {
			case <-stop:
				return
			case b.samples = <-empty:
			}
			var n int
			n, b.err = r.series.Fill(b.samples)
			b.samples = b.samples[:n]
			b.kind = r.series.TimeKind()
			select {
			case <-stop:
				return
			case full <- b:
			}
		}
	}()
	return full
}

func (r *replayer) run() error {
	run := press.New(r.cfg)
	stop := make(chan struct{})
	defer close(stop)
	first := true
	for b := range r.read(stop) {
		for _, sample := range b.samples {
			if first {
				r.choose(sample.Time, b.kind)
				run, first = press.New(r.cfg), false
			}
			for _, e := range run.Advance(sample) {
				if err := r.tell(e); err != nil {
					return err
				}
			}
		}
		if b.err != nil && !errors.Is(b.err, io.EOF) {
			return errors.Join(usageError{b.err}, r.out.Flush())
		}
		r.spent(b)
	}
	if first {
		return usageError{errors.New("the file has a header and no samples: there is nothing to say")}
	}
	return r.summarise(run)
}

// choose prints times as the file gives them.
func (r *replayer) choose(start time.Time, kind csvfile.TimeKind) {
	r.format = press.RFC3339
	if kind == csvfile.Seconds {
		r.format = press.SecondsSince(csvfile.Origin())
		r.cfg.Elapsed = csvfile.Origin()
	} else {
		r.cfg.Display.Location = start.Location()
	}
}

func (r *replayer) tell(e press.Event) error {
	if r.json {
		_, err := r.out.Write(append(e.AppendJSON(nil, r.format), '\n'))
		return err
	}
	if !r.events {
		return nil
	}
	_, err := fmt.Fprintf(r.out, "%s  %s\n", r.moment(e.Time), describe(e, r.moment))
	return err
}
