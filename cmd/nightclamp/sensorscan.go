package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/scan"
)

func (a *app) sensorScanCmd() *cobra.Command {
	o := scan.Options{Host: bus.New()}
	c := &cobra.Command{
		Use: "scan", Short: "Look for parts on this machine and propose config lines", Args: cobra.NoArgs,
		Long: `Scan looks for parts on the I²C buses, the 1-wire bus and the serial ports, and
among those that the kernel drives (IIO, hwmon). For each it says which driver may
read it and proposes lines for the config. An address does not tell what a part
is: several share one, so go by the part in your hand.

It is careful. On I²C it reads one byte from each address and writes none; it
leaves alone what a kernel driver has, 0x69 (clock chips), and the buses inside a
computer; it opens no serial port. It says what it did. With --identify it also
asks parts that have an identity for it, which writes one byte to addresses that
answer, and to those of an SHT4x, which answers nothing else. Do that when you
know what is on the bus.

A part that you wired and that is not listed: check supply and ground first, then
SDA and SCL not swapped, then the pull-ups. Then: nightclamp doctor`,
		Example: `  nightclamp sensor scan
  nightclamp sensor scan --bus 1 --identify
  nightclamp sensor read --watch      once the lines are in the config`,
		RunE: func(cmd *cobra.Command, _ []string) error { return a.scanSensors(cmd.Context(), o) },
	}
	flags := c.Flags()
	flags.StringSliceVar(&o.Buses, "bus", nil, "only this I²C bus, as 1 (can be repeated)")
	flags.BoolVar(&o.Identify, "identify", false, "also ask parts for their identity, which writes a byte")
	rootFlag(c, &o.Root)
	a.jsonFlag(c)
	return c
}

// rootFlag adds a flag for tests and for looking at the tree of another board.
func rootFlag(c *cobra.Command, root *string) {
	c.Flags().StringVar(root, "root", "/", "the file tree to look at")
	if err := c.Flags().MarkHidden("root"); err != nil { // it was added just now
		panic(err)
	}
}

func (a *app) scanSensors(ctx context.Context, o scan.Options) error {
	r := scan.Scan(ctx, o)
	if a.asJSON {
		return a.printJSON(r)
	}
	var b strings.Builder
	for _, f := range r.Finds {
		writeFind(&b, f)
	}
	if len(r.Finds) == 0 {
		b.WriteString("Nothing was found.\n\n")
	}
	for _, p := range r.Problems {
		fmt.Fprintf(&b, "problem: %s\n", wrapAfter(p, 70, "         "))
	}
	b.WriteString("\nWhat was done:\n")
	for _, did := range r.Did {
		fmt.Fprintf(&b, "- %s\n", wrapAfter(did, 77, "  "))
	}
	if proposes(r) {
		b.WriteString("\nPut the lines that fit below a [[press]] of the config, then try them:\n  nightclamp sensor read --watch\n")
	}
	_, err := fmt.Fprint(a.out, b.String())
	return err
}

// proposes reports whether there are lines for the config.
func proposes(r scan.Report) bool {
	return slices.ContainsFunc(r.Finds, func(f scan.Find) bool { return f.Config != "" })
}

func writeFind(b *strings.Builder, f scan.Find) {
	fmt.Fprintf(b, "%s: %s\n", f.Where, f.What)
	if len(f.Drivers) > 1 {
		fmt.Fprintf(b, "  may be read by %s\n", strings.Join(f.Drivers, ", "))
	}
	if f.Note != "" {
		fmt.Fprintf(b, "  %s\n", wrapAfter(f.Note, 76, "  "))
	}
	for line := range strings.Lines(f.Config) {
		fmt.Fprintf(b, "    %s\n", strings.TrimSpace(line))
	}
	b.WriteByte('\n')
}
