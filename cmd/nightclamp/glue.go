package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
)

func (a *app) glueCmd() *cobra.Command {
	c := &cobra.Command{
		Use:     "glue",
		GroupID: "look",
		Short:   "List and show adhesive datasheets, set the adhesive of a run",
		Long: `The built-in datasheets are careful defaults for a family of adhesives, not for a
product. Copy one with "nightclamp glue show --toml NAME > my-glue.toml", put in
the numbers of the can in front of you, try it with "nightclamp glue check", and
name the file. An editor that knows JSON schemas helps with "nightclamp glue schema".`,
	}
	c.AddCommand(a.glueListCmd(), a.glueShowCmd(), a.glueCheckCmd(), a.glueSetCmd(), a.glueSchemaCmd())
	return c
}

func (a *app) glueListCmd() *cobra.Command {
	c := &cobra.Command{
		Use: "list", Short: "List the datasheets: your own, then the built-in ones", Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			cfg, err := a.config()
			if err != nil {
				return err
			}
			var sheets []*cure.Sheet
			names, _ := glueNames(cfg)
			for _, name := range names {
				s, _, err := sheetsOf(cfg)(name)
				if err != nil {
					fmt.Fprintln(a.err, err)
					continue
				}
				s.Name = name // what --glue takes
				sheets = append(sheets, s)
			}
			if a.asJSON {
				return a.printJSON(sheets)
			}
			w := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
			fmt.Fprintln(w, "NAME\tFROM\tSTRAINED AT 20 °C\tWHAT")
			for _, s := range sheets {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Name, units.Display{}.Temperature(s.MinUseC), hours(s, 20, true), s.Title)
			}
			return w.Flush()
		},
	}
	a.jsonFlag(c)
	return c
}

func (a *app) glueShowCmd() *cobra.Command {
	var toml bool
	c := &cobra.Command{
		Use: "show NAME", Short: "Show a datasheet: built in, or the path of a file", Args: cobra.ExactArgs(1),
		ValidArgsFunction: completeGlue,
		RunE: func(_ *cobra.Command, args []string) error {
			s, text, err := a.sheets()(args[0])
			if err != nil {
				return usageError{err}
			}
			switch {
			case toml:
				_, err = a.out.Write(text)
				return err
			case a.asJSON:
				return a.printJSON(s)
			}
			return a.printSheet(s)
		},
	}
	c.Flags().BoolVar(&toml, "toml", false, "print the file, to copy and change")
	a.jsonFlag(c)
	return c
}

func completeGlue(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return datasheets.Names(), cobra.ShellCompDirectiveDefault
}

func (a *app) printSheet(s *cure.Sheet) error {
	var b strings.Builder
	d := units.Display{}
	fmt.Fprintf(&b, "%s: %s\n", s.Name, s.Title)
	fmt.Fprintf(&b, "family %s, glue line from %s\n\n", s.Family, d.Temperature(s.MinUseC))
	fmt.Fprintln(&b, "glue line   flat work                 strained work")
	for _, c := range []float64{5, 8, 10, 12, 15, 18, 20, 25, 30} {
		fmt.Fprintf(&b, "%9s   %-24s  %s\n", d.Temperature(c), hours(s, c, false), hours(s, c, true))
	}
	for _, line := range handling(s, d) {
		fmt.Fprintf(&b, "%s\n", line)
	}
	fmt.Fprintf(&b, "\n%s\nSource: %s\n", curve(s), wrap(s.Source, 78))
	list(&b, "", "! ", s.Cautions)
	list(&b, "", "! ", cure.Cautions())
	_, err := fmt.Fprint(a.out, b.String())
	return err
}

// handling says what to know before the glue is under pressure, and after.
func handling(s *cure.Sheet, d units.Display) []string {
	var out []string
	waits := func(c float64) string {
		var parts []string
		for _, phase := range []cure.Phase{cure.Open, cure.Closed} {
			if t, known := s.Assembly(phase, c); known {
				parts = append(parts, phase.String()+" "+d.Span(t))
			}
		}
		return strings.Join(parts, ", ")
	}
	least := max(20, s.MinUseC)
	if w := waits(least); w != "" {
		out = append(out, fmt.Sprintf("assembly    %s at %s; %s at %s", w, d.Temperature(least), waits(least+5), d.Temperature(least+5)))
	}
	if g := s.Spread; g[1] > 0 {
		water := "no water in it"
		if s.WaterFraction > 0 {
			water = fmt.Sprintf("%.0f %% of it water", 100*s.WaterFraction)
		}
		out = append(out, fmt.Sprintf("spread      %g to %g g/m² a glue line, %s", g[0], g[1], water))
	}
	if m := s.Moisture; m[1] > 0 {
		out = append(out, fmt.Sprintf("wood        %g to %g %% moisture", m[0], m[1]))
	}
	for _, p := range s.FullCure {
		out = append(out, fmt.Sprintf("full cure   %s at %s", spans(p.Hours), d.Temperature(p.AtC)))
	}
	if len(out) > 0 {
		out = append([]string{""}, out...)
	}
	return out
}

func spans(hours [2]float64) string {
	if hours[0] == hours[1] {
		return span(3600 * hours[0])
	}
	return span(3600*hours[0]) + " to " + span(3600*hours[1])
}

func (a *app) glueSchemaCmd() *cobra.Command {
	return &cobra.Command{
		Use: "schema", Short: "Print the JSON schema of a datasheet file, for an editor", Args: cobra.NoArgs,
		Long: `Schema prints what a datasheet file may hold, as a JSON schema: an editor that knows
TOML and JSON schemas completes the keys and marks mistakes while you write.`,
		Example: `  nightclamp glue schema > datasheet.schema.json
  sed -i '1i #:schema ./datasheet.schema.json' my-glue.toml`,
		RunE: func(*cobra.Command, []string) error {
			_, err := a.out.Write(datasheets.Schema())
			return err
		},
	}
}

// hours writes the press time at a temperature with its bounds.
func hours(s *cure.Sheet, atC float64, strained bool) string {
	t := s.PressTimeAt(atC, cure.Options{Strained: strained})
	if !t.Finite() {
		return "not usable"
	}
	if t.High-t.Low < 60 {
		return span(t.Expected)
	}
	return span(t.Low) + " to " + span(t.High)
}

func span(seconds float64) string {
	return units.Display{}.Span(time.Duration(seconds * float64(time.Second)))
}

func (a *app) glueSetCmd() *cobra.Command {
	var o press.GlueOrder
	c := &cobra.Command{
		Use: "set NAME", Short: "Set or correct the adhesive of the present run", Args: cobra.ExactArgs(1),
		Long: `Set gives the present run its adhesive, as if it had been known from the first
glue on: the press time is worked out again from the record.`,
		ValidArgsFunction: completeGlue,
		RunE: func(cmd *cobra.Command, args []string) error {
			var err error
			o.Glue = args[0]
			if o.Sheet, err = a.ownSheet(o.Glue); err != nil {
				return err
			}
			return a.order(cmd.Context(), func(ctx context.Context, c *wire.Client) (press.Status, error) {
				return a.taken("The adhesive of this run is " + o.Glue + " now; everything was worked out again.")(c.SetGlue(ctx, o))
			})
		},
	}
	c.Flags().StringVarP(&o.Press, "press", "p", "", "which press, where there are several")
	a.jsonFlag(c)
	return c
}
