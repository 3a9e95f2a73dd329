package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
	"github.com/nightclamp/nightclamp/press/record/export"
)

// printOutcome prints what is known of a blank, with its springback beside that
// of earlier ones.
func (a *app) printOutcome(ctx context.Context, store *record.Store, cfg *config.Config, run record.Run) error {
	outcomes, err := store.Outcomes(ctx, run.ID)
	if err != nil {
		return err
	}
	bends := bent.Of(run, outcomes)
	if a.asJSON {
		return a.printJSON(map[string]any{"run": run.ID, "outcomes": orEmpty(outcomes), "bends": orEmpty(bends)})
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s  %s\n", run.ID, run.Work)
	if len(outcomes) == 0 {
		fmt.Fprintln(&b, "Nothing was written down yet: nightclamp record outcome --help")
	}
	for _, o := range outcomes {
		fmt.Fprintf(&b, "  %s:%s\n", export.WhenMeasured(o.After), inOneLine(o))
	}
	for _, bend := range bends {
		text := export.SaySpringback(bend, cfg.Display.Units().Length)
		earlier, err := earlierBacks(ctx, store, run, bend.Across)
		if err != nil {
			return err
		}
		fmt.Fprintln(&b, wrap(strings.TrimSpace(text+" "+earlier), 78))
	}
	_, err = fmt.Fprint(a.out, b.String())
	return err
}

func orEmpty[T any](l []T) []T {
	if l == nil {
		return []T{}
	}
	return l
}

// inOneLine lists what was measured.
func inOneLine(o record.Outcome) string {
	var parts []string
	for _, f := range outcomeFields() {
		if n := *f.of(&o); n.Known() {
			parts = append(parts, strings.ReplaceAll(f.flag, "-", " ")+" "+f.show(float64(n)))
		}
	}
	if o.Delaminated != nil {
		parts = append(parts, map[bool]string{true: "delaminated", false: "not delaminated"}[*o.Delaminated])
	}
	if o.Notes != "" {
		parts = append(parts, fmt.Sprintf("%q", o.Notes))
	}
	for _, p := range o.Photos {
		parts = append(parts, p.Name)
	}
	if len(parts) == 0 {
		return " nothing measured"
	}
	return " " + strings.Join(parts, ", ")
}

// earlierBacks says what earlier runs of the same press gave back.
func earlierBacks(ctx context.Context, store *record.Store, run record.Run, across bool) (string, error) {
	runs, err := store.Runs(ctx, record.Filter{Press: run.Press})
	if err != nil {
		return "", err
	}
	low, high, n := press.Unknown(), press.Unknown(), 0
	for _, r := range runs {
		if !r.Started.Before(run.Started) {
			continue
		}
		outcomes, err := store.Outcomes(ctx, r.ID)
		if err != nil {
			return "", err
		}
		for _, b := range bent.Of(r, outcomes) {
			if back := b.Latest().Expected; b.Across == across && back.Known() {
				low, high = press.Num(min(low.Or(float64(back)), float64(back))), press.Num(max(high.Or(float64(back)), float64(back)))
				n++
			}
		}
	}
	switch n {
	case 0:
		return "No earlier run on this press was measured.", nil
	case 1:
		return fmt.Sprintf("The one earlier run that was measured gave back %s.", export.Share(low)), nil
	}
	return fmt.Sprintf("The %d earlier runs that were measured gave back %s to %s.", n, export.Share(low), export.Share(high)), nil
}
