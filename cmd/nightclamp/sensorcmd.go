package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

func (a *app) sensorCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "sensor",
		GroupID: "set",
		Short:   "List the drivers, try the configured sensors",
	}
	c.AddCommand(a.sensorListCmd(), a.sensorReadCmd())
	return c
}

func (a *app) sensorListCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "list [DRIVER]", Short: "List the drivers, or the keys of one", Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 {
				d, err := drivers.Find(args[0])
				if err != nil {
					return usageError{err}
				}
				return a.printDriver(d)
			}
			return a.printDrivers(drivers.Table())
		},
	}
	a.jsonFlag(c)
	return c
}

// driverText is a driver as --json prints it.
type driverText struct {
	Name    string            `json:"name"`
	Summary string            `json:"summary"`
	Reads   []sensor.Quantity `json:"reads"`
	Options []drivers.Option  `json:"options"`
}

func (a *app) printDrivers(table []drivers.Driver) error {
	if a.asJSON {
		list := make([]driverText, len(table))
		for i, d := range table {
			list[i] = driverText{d.Name, d.Summary, d.Reads, d.Options}
		}
		return a.printJSON(list)
	}
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "DRIVER\tREADS\tWHAT")
	for _, d := range table {
		fmt.Fprintf(w, "%s\t%s\t%s\n", d.Name, reads(d.Reads), d.Summary)
	}
	fmt.Fprintln(w, "\nThe keys of one: nightclamp sensor list DRIVER")
	return w.Flush()
}

func reads(q []sensor.Quantity) string {
	words := make([]string, len(q))
	for i, one := range q {
		words[i] = string(one)
	}
	return strings.Join(words, ", ")
}

func (a *app) printDriver(d drivers.Driver) error {
	if a.asJSON {
		return a.printJSON(driverText{d.Name, d.Summary, d.Reads, d.Options})
	}
	fmt.Fprintf(a.out, "%s: %s\nreads %s\n\n[[press.sensor]]\ndriver = %q\n", d.Name, d.Summary, reads(d.Reads), d.Name)
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	for _, o := range d.Options {
		fmt.Fprintf(w, "%s\t# %s: %s\n", o.Key, o.Type, o.Doc)
	}
	return w.Flush()
}

func (a *app) sensorReadCmd() *cobra.Command {
	var name string
	c := &cobra.Command{
		Use: "read", Short: "Read every configured sensor once and show what it says", Args: cobra.NoArgs,
		Long: `Read opens the sensors that the config names, reads each once, and says what it
knows or what went wrong. It works beside the daemon, which goes on reading.`,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.readSensors(cmd.Context(), name) },
	}
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
	var all []readText
	failed := false
	for _, p := range cfg.Presses {
		if name != "" && p.Name != name {
			continue
		}
		for _, s := range p.Sensors {
			one := readText{Press: p.Name, Sensor: s.Name, Driver: s.Driver}
			one.Values, err = readOnce(ctx, s.Driver, s.Keys)
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

func readOnce(ctx context.Context, driver string, keys map[string]any) (map[sensor.Quantity]float64, error) {
	d, err := drivers.Find(driver)
	if err != nil {
		return nil, err
	}
	source, err := d.New(ctx, drivers.Env{}, keys)
	if err != nil {
		return nil, err
	}
	defer source.Close() //nolint:errcheck // it was only read
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	sample, err := source.Read(ctx)
	if err != nil {
		return nil, err
	}
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
		text := d.Pressure(v)
		if q == sensor.GlueLine || q == sensor.Air {
			text = d.Temperature(v)
		}
		parts = append(parts, string(q)+" "+text)
	}
	if len(parts) == 0 {
		return "nothing yet"
	}
	return strings.Join(parts, ", ")
}
