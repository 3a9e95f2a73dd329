package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
	"github.com/nightclamp/nightclamp/sensor/scan"
)

func calibrationPath(cfg *config.Config) string { return filepath.Join(cfg.Data, calibration.File) }

// calibrating is what the flags of a calibration say.
type calibrating struct {
	press, sensor, note string
	of                  string // quantity
	known, vacuum       units.Pressure
	seaLevel            units.Pressure
	accuracy            units.Pressure // of the other gauge
	altitude            float64
	length              units.Duration
	force, yes          bool
}

func (a *app) sensorCalibrateCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "calibrate", Short: "Set a sensor's zero and span, learn its drift with temperature, undo",
		Long: `Calibrate finds the error of a pressure sensor and has it taken out of every reading
from then on. What was found is dated and kept in calibration.json beside the record;
nothing of it is ever deleted, undo ends the newest. The daemon takes it up within
seconds, and writes into each run which corrections its readings have.

It reads the sensor itself, beside the daemon, for as long as --for says. It refuses
while a bag is drawn or holds: a step in the pressure would look like a leak. Run it
as root or as nightclamp's user.

In this order: zero, with the line open to the room; span, with a vacuum that another
gauge shows; temperature, after some sound nights.`,
		Example: `  sudo nightclamp sensor calibrate zero
  sudo nightclamp sensor calibrate span --vacuum 80kPa --note "the big dial, class 1.0"
  sudo nightclamp sensor calibrate zero --of ambient --altitude 350 --sea-level 1018hPa
  sudo nightclamp sensor calibrate temperature
  nightclamp sensor calibrate list
  sudo nightclamp sensor calibrate undo`,
	}
	c.AddCommand(a.calibrateZeroCmd(), a.calibrateSpanCmd(), a.calibrateTemperatureCmd(), a.calibrateUndoCmd(), a.calibrateListCmd())
	return c
}

func (o *calibrating) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVarP(&o.press, "press", "p", "", "of this press; not needed when there is one")
	f.StringVar(&o.sensor, "sensor", "", "this sensor, by its name; not needed when one reads the quantity")
	f.StringVar(&o.note, "note", "", "what you want to remember: which gauge, who")
	f.Var(&o.length, "for", "how long to read")
	f.BoolVar(&o.force, "force", false, "also while a bag is drawn or holds")
}

func (a *app) calibrateZeroCmd() *cobra.Command {
	o := calibrating{length: units.Duration(20 * time.Second), altitude: math.NaN()}
	c := &cobra.Command{
		Use: "zero", Short: "Set the zero with the line open to the room", Args: cobra.NoArgs,
		Long: `Open the line to the room, wait a minute, then zero. A gauge part must read no vacuum
then. An absolute part must read what the barometer of the press reads; without a
barometer it is station_pressure, or --known. The weather moves the room by up to
3 kPa about the mean of a place, so a zero against station_pressure is only as good:
take the day's pressure.

With --of ambient it is the barometer that is set: to --known, the station pressure
that a good instrument shows, or by --altitude (m) and --sea-level, the pressure of
the day's weather report: station = sea-level · (1 − 0.0065 h/288.15)^5.2559 (U.S.
Standard Atmosphere 1976).`,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.calibrateZero(cmd.Context(), o) },
	}
	o.flags(c)
	f := c.Flags()
	f.StringVar(&o.of, "of", "bag", "bag, or ambient for the barometer")
	f.Var(&o.known, "known", "the room's absolute pressure, with its unit")
	f.Float64Var(&o.altitude, "altitude", math.NaN(), "of the place, m")
	f.Var(&o.seaLevel, "sea-level", "the day's pressure at sea level, with its unit")
	a.jsonFlag(c)
	return c
}

// dialAccuracy is what a dial of 100 kPa may be off by, Pa: class 1.6 of EN 837-1, the
// usual one (from memory; that it is the usual one is common practice, no source).
const dialAccuracy = units.Pressure(1600)

func (a *app) calibrateSpanCmd() *cobra.Command {
	o := calibrating{length: units.Duration(20 * time.Second), of: "bag", accuracy: dialAccuracy}
	c := &cobra.Command{
		Use: "span", Short: "Set the span at a vacuum that another gauge shows", Args: cobra.NoArgs,
		Long: `Zero first. Then draw a steady vacuum, 20 kPa and more below the room and best near
the one you press at, read another gauge on the same line, and say what it shows:
--vacuum below the room, or --known as absolute pressure. The result is no better
than that gauge: a dial of class 1.6 and 100 kPa (EN 837-1) is right to 1.6 kPa. Say
with --accuracy if yours is better, or worse.`,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.calibrateSpan(cmd.Context(), o) },
	}
	o.flags(c)
	c.Flags().Var(&o.known, "known", "what the other gauge shows as absolute pressure")
	c.Flags().Var(&o.vacuum, "vacuum", "what the other gauge shows below the room")
	c.Flags().Var(&o.accuracy, "accuracy", "what that gauge may be off by")
	a.jsonFlag(c)
	return c
}

// reading is what a sensor said over a while.
type readingOf struct {
	mean, sd, air float64
	gauge         bool
}

// readFor reads a quantity of a sensor for a while, as the part gives it. A gauge
// part's is its vacuum.
func readFor(ctx context.Context, p config.Press, s config.Sensor, q sensor.Quantity, length time.Duration) (readingOf, error) {
	ctx, cancel := context.WithTimeout(ctx, length)
	defer cancel()
	r := readingOf{air: math.NaN()}
	var at []time.Time
	var values []float64
	var last error
	err := listen(ctx, p, s, func(h heard) {
		v := q.Of(h.sample)
		switch g := h.sample.GaugeVacuum(); {
		case h.err != nil:
			last = h.err
		case q == sensor.Bag && !math.IsNaN(g):
			r.gauge = true
			at, values = append(at, h.sample.Time), append(values, g)
		case !math.IsNaN(v):
			at, values = append(at, h.sample.Time), append(values, v)
		}
		if h.err == nil && !math.IsNaN(h.sample.Air) {
			r.air = h.sample.Air
		}
	})
	if err != nil {
		return r, fmt.Errorf("sensor %s: %w", s.Name, err)
	}
	z, err := scan.Measure(at, values)
	if err != nil {
		return r, errors.Join(fmt.Errorf("sensor %s: %d readings in %s: %w", s.Name, len(values), units.Duration(length), err), last)
	}
	r.mean, r.sd = z.Mean, z.SD
	const steady = 36e3 // Pa/h: 10 Pa/s
	if math.Abs(z.PerHour) > steady {
		return r, fmt.Errorf("sensor %s: the pressure moves by %.0f Pa in a second: wait until it is steady", s.Name, z.PerHour/3600)
	}
	return r, nil
}

// sensorOf is the sensor of a press that reads a quantity: the named one, or the
// only one.
func sensorOf(cfg *config.Config, o calibrating, q sensor.Quantity) (config.Press, config.Sensor, error) {
	var found []config.Sensor
	var on config.Press
	for _, p := range cfg.Presses {
		if o.press != "" && p.Name != o.press || o.press == "" && len(cfg.Presses) > 1 {
			continue
		}
		on = p
		for _, s := range p.Sensors {
			part, err := configurePart(s)
			if err == nil && slices.Contains(part.Reads, q) && (o.sensor == "" || o.sensor == s.Name) {
				found = append(found, s)
			}
		}
	}
	switch {
	case on.Name == "" && o.press == "":
		return on, config.Sensor{}, errors.New("which press? There are several: name one with --press")
	case on.Name == "":
		return on, config.Sensor{}, fmt.Errorf("there is no press %q in the config", o.press)
	case len(found) == 0:
		return on, config.Sensor{}, fmt.Errorf("press %s: no sensor reads the %s pressure", on.Name, q)
	case len(found) > 1:
		return on, config.Sensor{}, fmt.Errorf("press %s: several sensors read the %s pressure; name one with --sensor", on.Name, q)
	}
	return on, found[0], nil
}

// idle refuses while a run is under way on the press.
func (a *app) idle(ctx context.Context, cfg *config.Config, o calibrating, pressName string) error {
	if o.force {
		return nil
	}
	d, err := reachDaemon(ctx, cfg)
	if err != nil {
		return nil //nolint:nilerr // no daemon runs: nothing is under way
	}
	defer d.Close()
	all, err := d.Status(ctx, pressName)
	if err != nil {
		return err
	}
	for _, st := range all {
		if st.Stage == press.Pulldown || st.Stage == press.Hold {
			return fmt.Errorf("press %s has a run in its %s: a step in the pressure would look like a leak; calibrate after the release, or with --force", st.Press, st.Stage)
		}
	}
	return nil
}

// keepEntry adds an entry to the book and says it.
func (a *app) keepEntry(cfg *config.Config, b calibration.Book, e calibration.Entry) error {
	if err := b.Add(e); err != nil {
		return usageError{err}
	}
	if err := b.Save(calibrationPath(cfg)); err != nil {
		return err
	}
	if a.asJSON {
		return a.printJSON(e)
	}
	_, err := fmt.Fprintf(a.out, "%s\nUndo it with: nightclamp sensor calibrate undo --press %s --sensor %s\n", entryText(e), e.Press, e.Sensor)
	return err
}

func entryText(e calibration.Entry) string {
	unit := "Pa"
	if e.Kind == calibration.Temperature {
		unit = "Pa/K"
	}
	text := fmt.Sprintf("%s/%s: %s %s (sure to ±%.1f %s)", e.Press, e.Sensor, e.Quantity, e.Short(), e.ErrorPa, unit)
	if e.Note != "" {
		text += "; " + e.Note
	}
	return strings.TrimSpace(text)
}

func (a *app) calibrateListCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List what was found, and what is in force", Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			cfg, err := a.config()
			if err != nil {
				return err
			}
			b, err := calibration.Load(calibrationPath(cfg))
			if err != nil {
				return err
			}
			if a.asJSON {
				return a.printJSON(b)
			}
			if len(b.Entries) == 0 {
				fmt.Fprintln(a.out, "Nothing is calibrated; the readings are as the parts give them.")
			}
			for _, e := range b.Entries {
				state := "in force"
				switch words := b.For(e.Press, e.Sensor).String(); {
				case !e.InForce():
					state = "undone " + e.EndedAt
				case !strings.Contains(words, e.Short()):
					state = "replaced"
				}
				fmt.Fprintf(a.out, "%-12s %s\n", state, entryText(e))
			}
			return nil
		},
	}
	a.jsonFlag(c)
	return c
}

func (a *app) calibrateUndoCmd() *cobra.Command {
	o := calibrating{of: "bag"}
	c := &cobra.Command{
		Use: "undo", Short: "End the newest calibration of a sensor that is in force", Args: cobra.NoArgs,
		Long: `Undo ends the newest entry about a sensor that is in force; the one before it, if there
is one, holds again. Nothing is deleted.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			cfg, err := a.config()
			if err != nil {
				return err
			}
			p, s, err := sensorOf(cfg, o, sensor.Quantity(o.of))
			if err != nil {
				return usageError{err}
			}
			if err := a.idle(cmd.Context(), cfg, o, p.Name); err != nil {
				return err
			}
			b, err := calibration.Load(calibrationPath(cfg))
			if err != nil {
				return err
			}
			e, err := b.Undo(p.Name, s.Name, time.Now(), o.note)
			if err != nil {
				return err
			}
			if err := b.Save(calibrationPath(cfg)); err != nil {
				return err
			}
			_, err = fmt.Fprintf(a.out, "Undone: %s\n", entryText(e))
			return err
		},
	}
	o.flags(c)
	c.Flags().StringVar(&o.of, "of", "bag", "bag, or ambient for the barometer")
	return c
}
