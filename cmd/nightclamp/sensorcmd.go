package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
	"github.com/nightclamp/nightclamp/sensor/scan"
)

func (a *app) sensorCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "sensor",
		GroupID: "set",
		Short:   "List the drivers, find parts, try and calibrate the configured sensors",
	}
	c.AddCommand(a.sensorListCmd(), a.sensorScanCmd(), a.sensorReadCmd(), a.sensorNoiseCmd(), a.sensorCalibrateCmd())
	return c
}

func (a *app) sensorReadCmd() *cobra.Command {
	var name string
	var watch bool
	var length units.Duration
	c := &cobra.Command{
		Use: "read", Short: "Read every configured sensor, once or on and on", Args: cobra.NoArgs,
		Long: `Read opens the sensors that the config names, reads each once, and says what it
knows or what went wrong. It works beside the daemon, which goes on reading (but a
serial port has one reader: stop the daemon for that one).

With --watch it goes on until Ctrl-C, or for as long as --for says; a sensor that
cannot be opened or fails is told of and tried again every two seconds. Each reading is
shown raw (as the driver gives it, in Pa and °C) and converted to your units, with
its noise (standard deviation about a straight line over the last minute), its rate
of change, and how many readings come in a second. In a terminal the table is drawn
anew; otherwise each reading is a line, and with --json an object a line.

What to look at: the converted pressure of an open line is that of the room; suck at
the hose and it falls. Warm a thermometer in the hand to see which one it is.`,
		Example: `  nightclamp sensor read
  nightclamp sensor read --watch --press bench
  nightclamp sensor read --watch --for 1h --json > sensors.jsonl`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !watch && length == 0 {
				return a.readSensors(cmd.Context(), name)
			}
			cfg, err := a.config()
			if err != nil {
				return err
			}
			if err := cfg.CheckSensors(); err != nil {
				return usageError{err}
			}
			return a.watchSensors(cmd.Context(), cfg, name, length.Std())
		},
	}
	c.Flags().BoolVarP(&watch, "watch", "w", false, "go on reading, until Ctrl-C")
	c.Flags().Var(&length, "for", "with --watch: end after so long, as 30s")
	c.Flags().StringVarP(&name, "press", "p", "", "only this press")
	a.jsonFlag(c)
	return c
}

// readText is a reading as --json prints it.
type readText struct {
	Press  string                      `json:"press"`
	Sensor string                      `json:"sensor"`
	Driver string                      `json:"driver"`
	Values map[sensor.Quantity]float64 `json:"values,omitempty"`
	Error  string                      `json:"error,omitempty"`
}

// errSensors says that a sensor could not be read; which one has been printed.
var errSensors = errors.New("not every sensor could be read") //nolint:gochecknoglobals // a sentinel

func (a *app) readSensors(ctx context.Context, name string) error {
	cfg, err := a.config()
	if err != nil {
		return err
	}
	if err := cfg.CheckSensors(); err != nil {
		return usageError{err}
	}
	book, err := calibration.Load(calibrationPath(cfg))
	if err != nil {
		return err
	}
	var all []readText
	failed := false
	for _, p := range cfg.Presses {
		if name != "" && p.Name != name {
			continue
		}
		for _, s := range p.Sensors {
			one := readText{Press: p.Name, Sensor: s.Name, Driver: s.Driver}
			one.Values, err = readOnce(ctx, s, book.For(p.Name, s.Name))
			if err != nil {
				one.Error, failed = err.Error(), true
			}
			all = append(all, one)
		}
	}
	if a.asJSON {
		err = a.printJSON(all)
	} else {
		err = a.printReadings(all, cfg.Display.Units())
	}
	if err == nil && failed {
		return errSensors
	}
	return err
}

func readOnce(ctx context.Context, s config.Sensor, correction calibration.Correction) (map[sensor.Quantity]float64, error) {
	sample, err := readPart(ctx, s)
	if err != nil {
		return nil, err
	}
	sample = correction.Apply(sample, sample.Air)
	values := map[sensor.Quantity]float64{}
	for _, q := range sensor.Quantities() {
		if sample.Knows(q) {
			values[q] = q.Of(sample)
		}
	}
	return values, nil
}

func (a *app) printReadings(all []readText, d units.Display) error {
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "PRESS\tSENSOR\tSAYS")
	for _, r := range all {
		says := r.Error
		if says == "" {
			says = readings(r.Values, d)
		}
		fmt.Fprintf(w, "%s\t%s (%s)\t%s\n", r.Press, r.Sensor, r.Driver, says)
	}
	return w.Flush()
}

func readings(values map[sensor.Quantity]float64, d units.Display) string {
	var parts []string
	for _, q := range sensor.Quantities() {
		v, known := values[q]
		if !known {
			continue
		}
		parts = append(parts, string(q)+" "+inUnits(q, v, d))
	}
	if len(parts) == 0 {
		return "nothing yet"
	}
	return strings.Join(parts, ", ")
}

// inUnits writes a reading as people read it.
func inUnits(q sensor.Quantity, v float64, d units.Display) string {
	switch {
	case q == sensor.Humidity:
		return units.Humidity(v)
	case thermal(q):
		return d.Temperature(v)
	}
	return d.Pressure(v)
}

// watchWindow is how far back noise and rate look.
const watchWindow = time.Minute

// watchSensors shows every reading until ctx ends, or for a while.
func (a *app) watchSensors(ctx context.Context, cfg *config.Config, name string, length time.Duration) error {
	if length > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, length)
		defer cancel()
	}
	v := &sensorView{app: a, display: cfg.Display.Units(), terminal: a.interactive() && !a.asJSON, rows: map[string]*sensorRow{}}
	readings := make(chan heard)
	g, ctx := errgroup.WithContext(ctx)
	sensors := 0
	for _, p := range cfg.Presses {
		if name != "" && p.Name != name {
			continue
		}
		for _, s := range p.Sensors {
			sensors++
			g.Go(func() error {
				keepListening(ctx, p, s, func(h heard) {
					select {
					case readings <- h:
					case <-ctx.Done():
					}
				})
				return nil
			})
		}
	}
	if sensors == 0 {
		return usageError{fmt.Errorf("no press %q has a sensor", name)}
	}
	ended := make(chan error, 1)
	go func() { ended <- g.Wait() }()
	for {
		select {
		case h := <-readings:
			if err := v.show(h); err != nil {
				return errors.Join(err, context.Cause(ctx))
			}
		case err := <-ended:
			return err
		}
	}
}

// sensorView shows readings: a table that is redrawn in a terminal, else lines.
type sensorView struct {
	app      *app
	display  units.Display
	terminal bool
	rows     map[string]*sensorRow
	order    []string
	drawn    time.Time
}

// sensorRow is one quantity of one sensor over the window.
type sensorRow struct {
	label  string
	q      sensor.Quantity
	at     []time.Time
	values []float64
	err    error
}

// watchText is one reading as --json prints it, one line each.
type watchText struct {
	Time      time.Time       `json:"time"`
	Press     string          `json:"press"`
	Sensor    string          `json:"sensor"`
	Quantity  sensor.Quantity `json:"quantity,omitempty"`
	Raw       *float64        `json:"raw,omitempty"` // Pa, °C or %
	Converted string          `json:"converted,omitempty"`
	SD        *float64        `json:"sd,omitempty"`    // as raw, over the window
	PerHour   *float64        `json:"per_h,omitempty"` // as raw, an hour, over the window
	Error     string          `json:"error,omitempty"`
}

// show takes a reading in.
func (v *sensorView) show(h heard) error {
	if h.err != nil {
		return v.fail(h)
	}
	if failed := v.rows[h.press+"/"+h.sensor+" "]; failed != nil {
		failed.err = nil
	}
	for _, q := range sensor.Quantities() {
		if !h.sample.Knows(q) {
			continue
		}
		row := v.row(h, q)
		row.add(h.sample.Time, q.Of(h.sample))
		if v.terminal {
			continue
		}
		if err := v.line(h, row); err != nil {
			return err
		}
	}
	return v.draw()
}

func (v *sensorView) row(h heard, q sensor.Quantity) *sensorRow {
	label := h.press + "/" + h.sensor
	key := label + " " + string(q)
	if v.rows[key] == nil {
		v.rows[key] = &sensorRow{label: label, q: q}
		v.order = append(v.order, key)
		slices.Sort(v.order)
	}
	return v.rows[key]
}

func (r *sensorRow) add(at time.Time, value float64) {
	old := 0
	for old < len(r.at) && at.Sub(r.at[old]) > watchWindow {
		old++
	}
	r.at, r.values = append(r.at[old:], at), append(r.values[old:], value)
}

func (v *sensorView) fail(h heard) error {
	if v.terminal {
		row := v.row(h, "")
		row.err = h.err
		return v.draw()
	}
	if v.app.asJSON {
		return json.NewEncoder(v.app.out).Encode(watchText{Time: time.Now(), Press: h.press, Sensor: h.sensor, Error: h.err.Error()})
	}
	_, err := fmt.Fprintf(v.app.out, "%s/%s: %v\n", h.press, h.sensor, h.err)
	return err
}

// line prints one reading.
func (v *sensorView) line(h heard, r *sensorRow) error {
	value := r.values[len(r.values)-1]
	if v.app.asJSON {
		text := watchText{Time: h.sample.Time, Press: h.press, Sensor: h.sensor, Quantity: r.q, Raw: &value, Converted: inUnits(r.q, value, v.display)}
		if z, err := scan.Measure(r.at, r.values); err == nil {
			text.SD, text.PerHour = &z.SD, &z.PerHour
		}
		return json.NewEncoder(v.app.out).Encode(text)
	}
	noise, rate, hz := v.judged(r)
	_, err := fmt.Fprintf(v.app.out, "%s  %s %s  %s  %s  noise %s  %s  %s\n", h.sample.Time.In(v.location()).Format("15:04:05.0"),
		r.label, r.q, raw(r.q, value), inUnits(r.q, value, v.display), noise, rate, hz)
	return err
}

func (v *sensorView) location() *time.Location {
	if v.display.Location == nil {
		return time.UTC
	}
	return v.display.Location
}

// redraw is how often the table is drawn at most.
const redraw = 200 * time.Millisecond

func (v *sensorView) draw() error {
	if !v.terminal || time.Since(v.drawn) < redraw {
		return nil
	}
	v.drawn = time.Now()
	_, err := fmt.Fprint(v.app.out, "\x1b[H\x1b[2J"+v.table())
	return err
}

// table is every sensor's last reading.
func (v *sensorView) table() string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "SENSOR\tREADS\tRAW\tCONVERTED\tNOISE\tRATE\tREADINGS")
	for _, key := range v.order {
		r := v.rows[key]
		if r.q == "" {
			if r.err != nil {
				fmt.Fprintf(w, "%s\t%v\n", r.label, r.err)
			}
			continue
		}
		value := r.values[len(r.values)-1]
		noise, rate, hz := v.judged(r)
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", r.label, r.q, raw(r.q, value), inUnits(r.q, value, v.display), noise, rate, hz)
	}
	fmt.Fprintf(w, "\nNoise and rate over the last %s. Ctrl-C ends.\n", units.Duration(watchWindow))
	w.Flush() //nolint:errcheck // a builder takes everything
	return b.String()
}

// judged says the noise, the slope and the pace of a row.
func (v *sensorView) judged(r *sensorRow) (noise, rate, hz string) {
	z, err := scan.Measure(r.at, r.values)
	if err != nil {
		return "–", "–", "–"
	}
	hz = fmt.Sprintf("%.1f/s", z.Hz)
	if r.q == sensor.Humidity {
		return fmt.Sprintf("%.2g %%", z.SD), fmt.Sprintf("%+.1f %%/h", z.PerHour), hz
	}
	if thermal(r.q) {
		return fmt.Sprintf("%.2g °C", z.SD), fmt.Sprintf("%+.1f °C/h", z.PerHour), hz
	}
	return fmt.Sprintf("%.2g Pa", z.SD), v.display.Rate(z.PerHour), hz
}

func raw(q sensor.Quantity, value float64) string {
	switch {
	case q == sensor.Humidity:
		return fmt.Sprintf("%.2f %%", value)
	case thermal(q):
		return fmt.Sprintf("%.3f °C", value)
	}
	return fmt.Sprintf("%.0f Pa", math.Round(value))
}

func thermal(q sensor.Quantity) bool { return q == sensor.GlueLine || q == sensor.Air }
