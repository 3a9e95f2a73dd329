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

	"golang.org/x/sync/errgroup"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
	"github.com/nightclamp/nightclamp/sensor/scan"
)

// watchWindow is how far back noise and rate look.
const watchWindow = time.Minute

// watchSensors shows every reading until ctx ends, or for a while.
func (a *app) watchSensors(ctx context.Context, cfg *config.Config, name string, length time.Duration) error {
	if length > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, length)
		defer cancel()
	}
	book, err := calibration.Load(calibrationPath(cfg))
	if err != nil {
		return err
	}
	v := &sensorView{app: a, book: book, air: map[string]float64{}, display: cfg.Display.Units(), terminal: a.interactive() && !a.asJSON, rows: map[string]*sensorRow{}}
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
	book     calibration.Book
	air      map[string]float64 // newest temperature of the air, °C, by press
	display  units.Display
	terminal bool
	rows     map[string]*sensorRow
	order    []string
	drawn    time.Time
}

// sensorRow is one thing that one sensor says, over the window.
type sensorRow struct {
	label  string
	said   reading // the newest
	gave   string  // what the part gave for it before it was converted, where that is known
	at     []time.Time
	values []float64 // corrected
	err    error
}

// watchText is one reading as --json prints it, one line each.
type watchText struct {
	Time      time.Time `json:"time"`
	Press     string    `json:"press"`
	Sensor    string    `json:"sensor"`
	Quantity  string    `json:"quantity,omitempty"`
	Gave      string    `json:"gave,omitempty"`      // by the part: counts, V, mA
	Raw       *float64  `json:"raw,omitempty"`       // Pa, °C or %
	Value     *float64  `json:"value,omitempty"`     // the same, calibrated
	Converted string    `json:"converted,omitempty"` // that in the units of the config
	SD        *float64  `json:"sd,omitempty"`        // as raw, over the window
	PerHour   *float64  `json:"per_h,omitempty"`     // as raw, an hour, over the window
	Error     string    `json:"error,omitempty"`
}

// show takes a reading in.
func (v *sensorView) show(h heard) error {
	if h.err != nil {
		return v.fail(h)
	}
	if failed := v.rows[h.press+"/"+h.sensor+" "]; failed != nil {
		failed.err = nil
	}
	for i, r := range v.readings(h) {
		row := v.row(h, r.name)
		row.add(h.sample.Time, r)
		if row.gave = ""; i == 0 {
			row.gave = h.gave
		}
		if v.terminal {
			continue
		}
		if err := v.line(h, row); err != nil {
			return err
		}
	}
	return v.draw()
}

// readings lists what was heard, with the calibration that the daemon would use.
func (v *sensorView) readings(h heard) []reading {
	if h.sample.Knows(sensor.Air) {
		v.air[h.press] = h.sample.Air
	}
	air, known := v.air[h.press]
	if !known {
		air = sensor.Missing
	}
	return readingsOf(h.sample, v.book.For(h.press, h.sensor), air)
}

func (v *sensorView) row(h heard, name string) *sensorRow {
	label := h.press + "/" + h.sensor
	key := label + " " + name
	if v.rows[key] == nil {
		v.rows[key] = &sensorRow{label: label}
		v.order = append(v.order, key)
		slices.Sort(v.order)
	}
	return v.rows[key]
}

func (r *sensorRow) add(at time.Time, said reading) {
	r.said = said
	old := 0
	for old < len(r.at) && at.Sub(r.at[old]) > watchWindow {
		old++
	}
	r.at, r.values = append(r.at[old:], at), append(r.values[old:], said.value)
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
	said := r.said
	if v.app.asJSON {
		text := watchText{
			Time: h.sample.Time, Press: h.press, Sensor: h.sensor, Quantity: said.name,
			Gave: r.gave, Raw: &said.raw, Value: &said.value, Converted: inUnits(said.of, said.value, v.display),
		}
		if z, err := scan.Measure(r.at, r.values); err == nil {
			text.SD, text.PerHour = &z.SD, &z.PerHour
		}
		return json.NewEncoder(v.app.out).Encode(text)
	}
	noise, rate, hz := v.judged(r)
	_, err := fmt.Fprintf(v.app.out, "%s  %s %s  %s  %s  noise %s  %s  %s\n", h.sample.Time.In(v.location()).Format("15:04:05.0"),
		r.label, said.name, r.raw(), v.converted(said), noise, rate, hz)
	return err
}

// raw is what the driver gives, after what the part gave where that is known.
func (r *sensorRow) raw() string {
	text := raw(r.said.of, r.said.raw)
	if r.gave != "" {
		return r.gave + " = " + text
	}
	return text
}

// converted is the calibrated reading in the units of the config, and where that
// rounds too much to judge a part by it, the figure itself.
func (v *sensorView) converted(r reading) string {
	text := inUnits(r.of, r.value, v.display)
	if r.value != r.raw {
		text = raw(r.of, r.value) + " (calibrated), " + text
	}
	return text
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
		if r.said.name == "" {
			if r.err != nil {
				fmt.Fprintf(w, "%s\t%v\n", r.label, r.err)
			}
			continue
		}
		noise, rate, hz := v.judged(r)
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", r.label, r.said.name, r.raw(), v.converted(r.said), noise, rate, hz)
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
	if r.said.of == sensor.Humidity {
		return fmt.Sprintf("%.2g %%", z.SD), fmt.Sprintf("%+.1f %%/h", z.PerHour), hz
	}
	if thermal(r.said.of) {
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
