package main

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

func (a *app) sensorListCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "list [DRIVER]", Short: "List the drivers, or tell how one part is wired, set and tried", Args: cobra.MaximumNArgs(1),
		Long: `List names every driver and what it reads: bag (pressure in the bag), ambient (that
of the room), glueline and air (temperatures), humidity (of the room's air).

With the name of a driver it prints a table for the config, with every key, its
default, and what it means; a # stands before each, take it off to change one. Below
comes the page of the part: which pin goes where, examples for the config, what the
first reading should be, range and noise, and what has cost others an evening. It needs
no hardware and no daemon, so read it before you buy the part.

Then: nightclamp sensor scan finds parts on the buses, config check reads what you
wrote, sensor read --watch shows what the parts say.`,
		Example: `  nightclamp sensor list
  nightclamp sensor list mpr
  nightclamp sensor list ds18b20 | less
  nightclamp sensor list sim --json`,
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
	Page    string            `json:"page"`
}

func driverTextOf(d drivers.Driver) driverText {
	return driverText{d.Name, d.Summary, d.Reads, d.Options, d.Page}
}

func (a *app) printDrivers(table []drivers.Driver) error {
	if a.asJSON {
		list := make([]driverText, len(table))
		for i, d := range table {
			list[i] = driverTextOf(d)
		}
		return a.printJSON(list)
	}
	w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "DRIVER\tREADS\tWHAT")
	for _, d := range table {
		fmt.Fprintf(w, "%s\t%s\t%s\n", d.Name, reads(d.Reads), d.Summary)
	}
	fmt.Fprintln(w, "\nKeys, wiring, range and noise of one: nightclamp sensor list DRIVER")
	return w.Flush()
}

func reads(q []sensor.Quantity) string {
	words := make([]string, len(q))
	for i, one := range q {
		words[i] = string(one)
	}
	return strings.Join(words, ", ")
}

// mostKeysFirst is how many keys may stand above the page without pushing it
// out of sight.
const mostKeysFirst = 20

func (a *app) printDriver(d drivers.Driver) error {
	if a.asJSON {
		return a.printJSON(driverTextOf(d))
	}
	first, second := keysOf(d), d.Page
	if len(d.Options) > mostKeysFirst {
		first, second = second, first
	}
	_, err := fmt.Fprintf(a.out, "%s\n%s", first, second)
	return err
}

// keysOf is a table for the config with every key of a driver commented out.
func keysOf(d drivers.Driver) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# It can read: %s. Take the # off a key to change it.\n[[press.sensor]]\ndriver = %q\n", reads(d.Reads), d.Name)
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, o := range d.Options {
		printKey(w, o)
	}
	w.Flush() //nolint:errcheck // a builder takes everything
	return b.String()
}

// widestKey is how wide a key with its default may be to have its meaning
// beside it.
const widestKey = 34

func printKey(w *tabwriter.Writer, o drivers.Option) {
	key, meaning := fmt.Sprintf("#%s = %s", o.Key, o.Default), o.Doc
	if o.Default == "" {
		key, meaning = fmt.Sprintf("#%s = …", o.Key), o.Type+": "+o.Doc
	}
	if utf8.RuneCountInString(key) > widestKey {
		fmt.Fprintf(w, "# %s\n%s\n", meaning, key)
		return
	}
	fmt.Fprintf(w, "%s\t# %s\n", key, meaning)
}
