package main

import (
	"fmt"
	"strings"

	"github.com/guptarohit/asciigraph"
	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
)

func (a *app) glueCheckCmd() *cobra.Command {
	return &cobra.Command{
		Use: "check FILE", Short: "Check a datasheet of your own and say what will be done with it", Args: cobra.ExactArgs(1),
		Long: `Check reads a datasheet and reports all that is wrong with it, with lines. Of a good
one it says what nightclamp will do with it, what it assumed, and what deserves a
second look.`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, _, err := datasheets.Load(args[0])
			if err != nil {
				return usageError{err}
			}
			var b strings.Builder
			fmt.Fprintf(&b, "%s: good. %s\n", s.Name, s.Title)
			list(&b, "", "  ", s.Explain())
			list(&b, "Look at this again:", "? ", s.Doubts())
			_, err = fmt.Fprint(a.out, b.String())
			return err
		},
	}
}

// list writes sentences under a heading, nothing when there are none.
func list(b *strings.Builder, heading, mark string, sentences []string) {
	if len(sentences) == 0 {
		return
	}
	if heading != "" {
		fmt.Fprintln(b, heading)
	}
	for _, s := range sentences {
		fmt.Fprintf(b, "%s%s\n", mark, wrapAfter(s, 76, "  "))
	}
}

// curveColumns is how many temperatures the chart of a sheet has.
const curveColumns = 56

// curve draws press time against temperature, hours by °C, strained work.
func curve(s *cure.Sheet) string {
	points := s.Curve(curveColumns)
	hours := make([]float64, 0, len(points))
	for _, p := range points {
		if !p.Strained.Finite() {
			return ""
		}
		hours = append(hours, p.Strained.Expected/3600)
	}
	caption := fmt.Sprintf("hours under pressure, strained work, from %g to %g °C", points[0].C, points[len(points)-1].C)
	return asciigraph.Plot(hours, asciigraph.Height(8), asciigraph.LowerBound(0), asciigraph.Precision(0), asciigraph.Caption(caption)) + "\n"
}
