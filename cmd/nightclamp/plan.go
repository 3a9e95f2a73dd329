package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press/units"
)

func (a *app) planCmd() *cobra.Command {
	var glue string
	var sample bool
	c := &cobra.Command{
		Use:     "plan LAYUP.toml",
		GroupID: "run",
		Short:   "Say what a lay-up will need and do, before the first glue",
		Long: `Plan reads a lay-up (plies, mould, bends, temperatures) and says how much glue to
mix, what its water does to the wood, what the vacuum clamps and the mould bears,
how long the glue may wait, how long it wants pressure, and how much the work will
spring back. It starts nothing. FILE may be - for standard input.

Keep the file for the next board: nightclamp start --layup LAYUP.toml takes work,
adhesive, plies, area and floor from it.`,
		Example: `  nightclamp plan --sample > deck.toml
  nightclamp plan deck.toml
  nightclamp plan --glue pva-d3 deck.toml`,
		Args: func(_ *cobra.Command, args []string) error {
			if sample {
				return nil
			}
			return cobra.ExactArgs(1)(nil, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if sample {
				_, err := a.out.Write(layup.Example())
				return err
			}
			plan, err := a.plan(args[0], glue)
			if err != nil {
				return err
			}
			if a.asJSON {
				return a.printJSON(plan)
			}
			cfg, err := a.config()
			if err != nil {
				return err
			}
			return a.printPlan(plan, cfg.Display.Units())
		},
	}
	c.Flags().StringVarP(&glue, "glue", "g", "", "another adhesive than the file's: a datasheet's `name` or the path of its file")
	c.Flags().BoolVar(&sample, "sample", false, "print a sample lay-up with every key explained")
	a.jsonFlag(c)
	return c
}

// readLayup reads a lay-up file.
func (a *app) readLayup(path string) (*layup.Layup, []byte, error) {
	var text []byte
	var err error
	if path == "-" {
		path = "standard input"
		text, err = io.ReadAll(a.in)
	} else {
		text, err = os.ReadFile(path) //nolint:gosec // the caller names the file to read
	}
	if err != nil {
		return nil, nil, usageError{fmt.Errorf("lay-up cannot be read: %w", err)}
	}
	l, err := layup.Parse(path, text)
	if err != nil {
		return nil, nil, usageError{err}
	}
	return l, text, nil
}

func (a *app) plan(path, glue string) (*layup.Plan, error) {
	l, _, err := a.readLayup(path)
	if err != nil {
		return nil, err
	}
	cfg, err := a.config()
	if err != nil {
		return nil, err
	}
	for _, name := range []string{glue, l.Glue, cfg.Defaults.Glue} {
		if name == "" {
			continue
		}
		sheet, _, err := sheetsOf(cfg)(name)
		if err != nil {
			return nil, usageError{err}
		}
		return layup.Make(l, sheet), nil
	}
	return nil, usageError{fmt.Errorf("%s names no glue: add glue = \"…\" or give --glue (nightclamp glue list)", path)}
}

// printPlan prints a plan in the order in which a builder needs it.
func (a *app) printPlan(p *layup.Plan, d units.Display) error {
	w := planWriter{d: d}
	name := p.Work
	if name == "" {
		name = "lay-up"
	}
	w.line("%s: %d plies, %.1f mm, %.3f m², %d glue lines of %s", name, p.Plies, p.ThicknessM*1000, p.AreaM2, p.Lines, p.Glue)
	w.glue(p)
	w.clamp(p)
	w.times(p)
	for _, b := range p.Bends {
		w.bend(b)
	}
	if len(p.Warnings) > 0 {
		w.line("\nLook at this first")
		for _, s := range p.Warnings {
			w.line("- %s", wrapAfter(s, 76, "  "))
		}
	}
	w.line("\nCautions")
	for _, s := range p.Cautions {
		w.line("! %s", wrapAfter(s, 76, "  "))
	}
	_, err := fmt.Fprint(a.out, w.String())
	return err
}

type planWriter struct {
	strings.Builder
	d units.Display
}

func (w *planWriter) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

func (w *planWriter) row(name, format string, args ...any) {
	fmt.Fprintf(w, "  %-16s %s\n", name, fmt.Sprintf(format, args...))
}

func (w *planWriter) glue(p *layup.Plan) {
	w.line("\nGlue")
	w.row("mix", "%.0f g (%.0f g on the work, %.0f g a line)", 1000*p.Mix.MixKg, 1000*p.Mix.WorkKg, 1000*p.Mix.LineKg)
	if p.Mix.WaterKg > 0 {
		w.row("its water", "%.0f g: the wood goes from %.1f %% to %.1f %% (inner plies %.1f %%)",
			1000*p.Mix.WaterKg, p.Moisture.Start, p.Moisture.After, p.Moisture.InnerAfter)
	}
	if p.Mix.GasM3 > 0 {
		w.row("its gas", "up to %.0f l at the bag's pressure", 1000*p.Mix.GasM3)
	}
}

func (w *planWriter) clamp(p *layup.Plan) {
	c := p.Clamp
	w.line("\nClamp")
	w.row("vacuum", "%s of at most %s at a room pressure of %s", w.d.Pressure(c.VacuumPa), w.d.Pressure(c.MostPa), w.d.Pressure(c.AmbientPa))
	w.row("force", "%.1f kN on the whole work; a press would give %s", c.ForceN/1000, w.d.Pressure(c.HandbookPa))
	if m := p.Mould; m.LimitPa > 0 {
		w.row("mould", "%s %s it: for days it bears %s (%s)", m.Material, m.Verdict, w.d.Pressure(m.LimitPa), m.Source)
	}
}

func (w *planWriter) times(p *layup.Plan) {
	w.line("\nTimes at the glue line, which follows the air by %s", w.d.SpanSeconds(p.Heat.LagS))
	for _, t := range p.At {
		name := w.d.Temperature(t.C)
		if t.TooCold {
			w.row(name, "too cold for this glue")
			continue
		}
		text := "press " + w.d.SpanSeconds(t.PressS.Expected)
		if t.PressS.High-t.PressS.Low > 60 {
			text += fmt.Sprintf(" (%s to %s)", w.d.SpanSeconds(t.PressS.Low), w.d.SpanSeconds(t.PressS.High))
		}
		if t.ClosedS > 0 {
			text += ", under vacuum within " + w.d.SpanSeconds(t.ClosedS)
		}
		if t.MostPerLineS > 0 {
			text += fmt.Sprintf(", %s a line at most", w.d.SpanSeconds(t.MostPerLineS))
		}
		if t.Used > 0 {
			text += fmt.Sprintf(" (the plan uses %.0f %%)", 100*t.Used)
		}
		if t.StopsShort {
			text += "; stalls short of full cure"
		}
		w.row(name, "%s", text)
	}
}

func (w *planWriter) bend(b layup.BendPlan) {
	way := "along"
	if b.Across {
		way = "across"
	}
	w.line("\nBend %s, wanted radius %.0f mm", way, 1000*b.WantedM)
	w.row("springback", "%.1f %% of the curve: cut the mould to %.0f mm (%.1f mm deep over %.0f mm)",
		100*b.Back, 1000*b.FormM, 1000*b.SagittaM, 1000*b.SpanM)
	w.row("seating", "%s, %.0f %% of the clamp", w.d.Pressure(b.SeatingPa), 100*b.ShareOf)
	if b.TightestM > 0 {
		w.row("tightest", "%.0f mm before a dry ply breaks", 1000*b.TightestM)
	}
}
