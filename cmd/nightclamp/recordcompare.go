package main

import (
	"context"
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/compare"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/units"
)

func (a *app) recordCompareCmd() *cobra.Command {
	var last int
	var name string
	c := &cobra.Command{
		Use: "compare [RUN...]", Short: "Put runs side by side, and see what the next board may expect",
		Long: `Compare puts runs side by side: the press time earned, how much of the cure was
below the floor, the coldest glue line, the leak rate of the bag, top-ups, and the
springback, foretold by the lay-up and measured. Without names it takes the newest.

From five measured runs on it says what to expect of the next, with the bounds within
which one more run falls in nine cases of ten. Those rest on the runs being alike and
their scatter being chance; a change of wood, glue or bag is not in them.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withRecord(cmd.Context(), func(s *record.Store, cfg *config.Config) error {
				return a.compareRuns(cmd.Context(), s, cfg, args, name, last)
			})
		},
	}
	c.Flags().IntVarP(&last, "last", "n", 20, "the newest so many, where no run is named; 0: all")
	c.Flags().StringVarP(&name, "press", "p", "", "only this press")
	a.jsonFlag(c)
	return c
}

func (a *app) compareRuns(ctx context.Context, s *record.Store, cfg *config.Config, names []string, pressName string, last int) error {
	runs, err := compare.Select(ctx, s, s.Run, names, pressName, last)
	if err != nil {
		return usageError{err}
	}
	var facts []compare.Facts
	for _, run := range runs {
		f, err := compare.Gather(ctx, s, run)
		if err != nil {
			return err
		}
		facts = append(facts, f)
	}
	c := compare.Of(orEmpty(facts))
	if a.asJSON {
		return a.printJSON(c)
	}
	return a.printComparison(c, cfg.Display.Units())
}

func (a *app) printComparison(c compare.Comparison, d units.Display) error {
	if len(c.Runs) == 0 {
		_, err := fmt.Fprintln(a.out, "No run is over yet.")
		return err
	}
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "RUN\tWORK\tEARNED\tUNCLAMPED\tCOLDEST\tLEAK RATE\tTOP-UPS\tSPRINGBACK ALONG\tACROSS\tWEIGHT")
	for _, f := range c.Runs {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%d\t%s\t%s\t%s\n", f.Run, dash(f.Work), wholePercent(f.Progress), wholePercent(f.Unclamped),
			d.Temperature(float64(f.ColdestC)), d.Rate(float64(f.Leak.Expected)), f.TopUps, backs(f, false), backs(f, true), d.Mass(float64(f.WeightKg)))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(&b, "\nSpringback: foretold by the lay-up → measured, as a share of the mould's curve.")
	for _, f := range c.Fits {
		fmt.Fprintf(&b, "\n%s\n", wrap(f.Say(d), 78))
	}
	_, err := fmt.Fprint(a.out, b.String())
	return err
}

func backs(f compare.Facts, across bool) string {
	for _, b := range f.Bends {
		if b.Across == across {
			return export.Share(b.Predicted) + " → " + export.Share(b.Measured.Expected)
		}
	}
	return "–"
}

func wholePercent(n press.Num) string {
	if !n.Known() {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(n)+1e-9))
}
