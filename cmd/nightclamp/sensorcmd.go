package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
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
shown raw (what the part gave, counts, volts or milliamperes, where its driver knows;
then Pa, °C or %), and as the daemon takes it: calibrated, in your units. With it come
its noise (standard deviation about a straight line over the last minute), its rate
of change, and how many readings come in a second. A part that measures against the
room is shown as what it measures, the vacuum. In a terminal the table is drawn
anew; otherwise each reading is a line, and with --json an object a line.

What to look at: the pressure of an open line is that of the room, its vacuum none; suck at
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
	Press  string             `json:"press"`
	Sensor string             `json:"sensor"`
	Driver string             `json:"driver"`
	Values map[string]float64 `json:"values,omitempty"` // by quantity; of a gauge part the vacuum
	Error  string             `json:"error,omitempty"`

	all []reading
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
			sample, err := readPart(ctx, s)
			if err != nil {
				one.Error, failed = err.Error(), true
			} else {
				one.take(readingsOf(sample, book.For(p.Name, s.Name), sample.Air))
			}
			all = append(all, one)
		}
	}
	if len(all) == 0 {
		return usageError{fmt.Errorf("no press %q has a sensor", name)}
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

func (a *app) printReadings(all []readText, d units.Display) error {
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "PRESS\tSENSOR\tSAYS")
	for _, r := range all {
		text := strings.ReplaceAll(r.Error, "\n", "; ")
		if text == "" {
			text = says(r.all, d)
		}
		fmt.Fprintf(w, "%s\t%s (%s)\t%s\n", r.Press, r.Sensor, r.Driver, text)
	}
	return w.Flush()
}

// take writes the readings down.
func (r *readText) take(all []reading) {
	r.Values = map[string]float64{}
	r.all = all
	for _, one := range all {
		r.Values[one.name] = one.value
	}
}

func says(all []reading, d units.Display) string {
	parts := make([]string, len(all))
	for i, r := range all {
		parts[i] = r.name + " " + inUnits(r.of, r.value, d)
	}
	if len(parts) == 0 {
		return "nothing yet"
	}
	return strings.Join(parts, ", ")
}

// reading is one thing that a part says.
type reading struct {
	name  string // the quantity; "vacuum" for what a gauge part measures against the room
	of    sensor.Quantity
	raw   float64 // Pa, °C or %, as the driver gives it
	value float64 // the same with the sensor's known errors taken out
}

// readingsOf lists what a part says. A gauge part knows no pressure of the bag, only
// how far it is below the room.
func readingsOf(sample sensor.Sample, c calibration.Correction, airC float64) []reading {
	corrected := c.Apply(sample, airC)
	var all []reading
	for _, q := range sensor.Quantities() {
		r := reading{string(q), q, q.Of(sample), q.Of(corrected)}
		if q == sensor.Bag && sample.Quality.Has(sensor.Gauge) {
			r.name, r.raw, r.value = "vacuum", sample.GaugeVacuum(), corrected.GaugeVacuum()
		}
		if !math.IsNaN(r.raw) {
			all = append(all, r)
		}
	}
	return all
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
