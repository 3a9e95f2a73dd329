package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/units"
)

// outcomeField is one number about a blank: a flag, and a question.
type outcomeField struct {
	flag, ask, help string
	of              func(*record.Outcome) *press.Num
	parse           func(string) (float64, error)
	show            func(float64) string
	most            float64
}

// outcomeFields lists them in the order in which they are asked.
func outcomeFields() []outcomeField {
	var list []outcomeField
	length := func(flag, ask, help string, of func(*record.Outcome) *press.Num) {
		list = append(list, outcomeField{flag, ask, help, of, func(s string) (float64, error) {
			l, err := units.ParseLength(s)
			return l.M(), err
		}, units.Display{}.Length, 100})
	}
	for _, way := range []struct {
		name string
		of   func(*record.Outcome) *record.Curve
	}{
		{"along", func(o *record.Outcome) *record.Curve { return &o.Along }},
		{"across", func(o *record.Outcome) *record.Curve { return &o.Across }},
	} {
		length("depth-"+way.name, "Depth "+way.name, "depth of the blank's curve "+way.name+", as 21.5mm",
			func(o *record.Outcome) *press.Num { return &way.of(o).DepthM })
		length("span-"+way.name, "over a span of", "the span over which the depths "+way.name+" were measured; without it: the lay-up's",
			func(o *record.Outcome) *press.Num { return &way.of(o).SpanM })
		length("mould-depth-"+way.name, "the mould's depth over it", "depth of the mould over the same span",
			func(o *record.Outcome) *press.Num { return &way.of(o).MouldDepthM })
		length("radius-"+way.name, "Radius "+way.name, "radius of the blank, where you have a gauge for it",
			func(o *record.Outcome) *press.Num { return &way.of(o).RadiusM })
		length("mould-radius-"+way.name, "the mould's radius", "radius of the mould",
			func(o *record.Outcome) *press.Num { return &way.of(o).MouldRadiusM })
	}
	list = append(list, outcomeField{"weight", "Weight", "weight of the blank, as 1.85kg",
		func(o *record.Outcome) *press.Num { return &o.WeightKg }, func(s string) (float64, error) {
			m, err := units.ParseMass(s)
			return m.Kg(), err
		}, units.Display{}.Mass, 1000})
	return list
}

func outcomeFlags() map[string]bool {
	flags := map[string]bool{}
	for _, f := range outcomeFields() {
		flags[f.flag] = true
	}
	return flags
}

func (f outcomeField) set(o *record.Outcome, text string) error {
	v, err := f.parse(text)
	if err != nil {
		return err
	}
	if !(v >= 0 && v <= f.most) {
		return fmt.Errorf("%s is not what a blank has: use 0 to %s", f.show(v), f.show(f.most))
	}
	*f.of(o) = press.Num(v)
	return nil
}

// asker puts questions and reads answers.
type asker struct {
	in  *bufio.Scanner
	out io.Writer
}

// errStopped ends the questions without anything being kept.
var errStopped = errors.New("stopped: nothing was kept")

// ask repeats a question until set takes the answer. An empty one changes nothing.
func (k asker) ask(question, now string, set func(string) error) error {
	for {
		if now != "" {
			fmt.Fprintf(k.out, "  %s [%s]: ", question, now)
		} else {
			fmt.Fprintf(k.out, "  %s: ", question)
		}
		if !k.in.Scan() {
			fmt.Fprintln(k.out)
			return errors.Join(errStopped, k.in.Err())
		}
		text := strings.TrimSpace(k.in.Text())
		if text == "" {
			return nil
		}
		err := set(text)
		if err == nil {
			return nil
		}
		fmt.Fprintf(k.out, "    %v\n", err)
	}
}

// askOutcome asks for everything. The spans and moulds of a curve are asked for
// only where the blank was measured, and only what is not known already.
func (a *app) askOutcome(o *record.Outcome, t *toldOutcome, run record.Run) error {
	fmt.Fprintf(a.out, "%s %s, measured %s. Enter passes over a question; give units (21.5mm, 1.85kg).\n",
		run.ID, run.Work, export.WhenMeasured(o.After))
	for _, b := range bent.Of(run, nil) {
		fmt.Fprintf(a.out, "%s\n", wrap(export.SaySpringback(b, units.Display{}.Length), 78))
	}
	k := asker{bufio.NewScanner(a.in), a.out}
	for _, f := range outcomeFields() {
		if detail := strings.HasPrefix(f.flag, "span") || strings.HasPrefix(f.flag, "mould"); detail && !k.measured(o, f.flag) {
			continue
		}
		now := ""
		if n := *f.of(o); n.Known() {
			now = f.show(float64(n))
		}
		if err := k.ask(f.ask, now, func(text string) error { return f.set(o, text) }); err != nil {
			return err
		}
	}
	now := ""
	if o.Delaminated != nil {
		now = map[bool]string{true: "yes", false: "no"}[*o.Delaminated]
	}
	if err := k.ask("Did it come apart anywhere (yes, no)", now, func(text string) error { return setDelaminated(o, text) }); err != nil {
		return err
	}
	if err := k.ask("Notes", o.Notes, func(text string) error { o.Notes = text; return nil }); err != nil {
		return err
	}
	return k.ask("Photo, a file", "", func(text string) error { t.photos = append(t.photos, text); return nil })
}

// measured reports whether the depth or the radius that a detail belongs to was
// given.
func (k asker) measured(o *record.Outcome, flag string) bool {
	c := o.Along
	if strings.HasSuffix(flag, "across") {
		c = o.Across
	}
	if strings.HasPrefix(flag, "mould-radius") {
		return c.RadiusM.Known()
	}
	return c.DepthM.Known()
}
