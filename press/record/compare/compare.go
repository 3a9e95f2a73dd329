// Package compare puts runs side by side, and says what they foretell of the next
// board: no more than they can.
//
// [Gather] takes one run's facts from the record, [Of] puts them in a row and fits
// what can be fitted: the springback that was measured against the one the lay-up
// foretold, along and across, and the leak rate of each press's bag over its runs.
// With fewer than [Fewest] runs nothing is fitted. Every forecast carries bounds
// within which one more run falls with the chance [Level], and says when it is
// asked for beyond what was seen.
package compare

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"math"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
)

// Source is where runs are read from; a [record.Store] is one.
type Source interface {
	Runs(ctx context.Context, f record.Filter) ([]record.Run, error)
	Events(ctx context.Context, run string) ([]press.Event, error)
	Outcomes(ctx context.Context, run string) ([]record.Outcome, error)
	Thinned(ctx context.Context, run string, from, to time.Time, maxPoints int) iter.Seq2[record.Thin, error]
}

// Facts is one run in the numbers that are compared.
type Facts struct {
	Run       string        `json:"run"`
	Press     string        `json:"press"`
	Work      string        `json:"work"`
	Glue      string        `json:"glue"`
	Started   time.Time     `json:"started"`
	Ended     time.Time     `json:"ended,omitzero"`
	Verdict   press.Verdict `json:"verdict"`
	HoldS     press.Num     `json:"hold_s"`
	Progress  press.Num     `json:"progress"`  // press time earned, 1: all of it
	Unclamped press.Num     `json:"unclamped"` // share of the cure below the floor
	ColdestC  press.Num     `json:"coldest_glueline_c"`
	Leak      press.Band    `json:"leak_rate_pa_per_h"` // of the bag, at the end of the hold
	TopUps    int           `json:"top_ups"`
	WeightKg  press.Num     `json:"weight_kg"`
	Apart     *bool         `json:"delaminated"` // nil: nobody said
	Bends     []Bend        `json:"bends"`
}

// Bend is one curve of it.
type Bend struct {
	Across    bool       `json:"across"`
	Predicted press.Num  `json:"predicted"`
	Measured  press.Band `json:"measured"` // the newest
}

// Comparison is runs side by side, oldest first.
type Comparison struct {
	Runs []Facts  `json:"runs"`
	Fits []Fitted `json:"fits"`
}

// Fitted is a fit with what it is of.
type Fitted struct {
	What  string `json:"what"` // springback_along, springback_across or leak_rate
	Press string `json:"press,omitempty"`
	Fit
	Low  press.Num `json:"seen_low"` // the measured values, from and to
	High press.Num `json:"seen_high"`
}

// The names of what is fitted.
const (
	SpringbackAlong  = "springback_along"
	SpringbackAcross = "springback_across"
	LeakRate         = "leak_rate"
)

// Select finds runs by name, or the last so many of a press (of all presses when
// it is empty) when none is named; 0: all. Runs that are still open are left out
// unless they are named.
func Select(ctx context.Context, src Source, find func(context.Context, string) (record.Run, error), names []string, pressName string, last int) ([]record.Run, error) {
	var runs []record.Run
	for _, name := range names {
		run, err := find(ctx, name)
		if err != nil {
			return nil, err
		}
		runs = append(runs, run)
	}
	if len(names) == 0 {
		all, err := src.Runs(ctx, record.Filter{Press: pressName})
		if err != nil {
			return nil, err
		}
		for _, run := range all {
			if !run.Ended.IsZero() && (last == 0 || len(runs) < last) {
				runs = append(runs, run)
			}
		}
	}
	slices.SortStableFunc(runs, func(a, b record.Run) int { return a.Started.Compare(b.Started) })
	return slices.CompactFunc(runs, func(a, b record.Run) bool { return a.ID == b.ID }), nil
}

// points are enough to find the coldest moment: the extremes are kept.
const points = 200

// Gather takes the facts of one run from the record.
func Gather(ctx context.Context, src Source, run record.Run) (Facts, error) {
	f := Facts{
		Run: run.ID, Press: run.Press, Work: run.Work, Glue: run.Glue, Started: run.Started, Ended: run.Ended, Verdict: run.Verdict,
		HoldS: press.Unknown(), ColdestC: press.Unknown(), Progress: press.Unknown(), Unclamped: press.Unknown(),
		Leak: unknown(), WeightKg: press.Unknown(), Bends: []Bend{},
	}
	events, err := src.Events(ctx, run.ID)
	if err != nil {
		return f, err
	}
	hold, end := f.read(events, run)
	f.conclude(run.Final)
	if err := f.coldest(ctx, src, hold, end); err != nil {
		return f, fmt.Errorf("samples of run %s: %w", run.ID, err)
	}
	outcomes, err := src.Outcomes(ctx, run.ID)
	if err != nil {
		return f, err
	}
	for _, o := range outcomes {
		if o.WeightKg.Known() {
			f.WeightKg = o.WeightKg
		}
		if o.Delaminated != nil {
			f.Apart = o.Delaminated
		}
	}
	for _, b := range bent.Of(run, outcomes) {
		f.Bends = append(f.Bends, Bend{b.Across, b.Predicted, b.Latest()})
	}
	return f, nil
}

// read goes through the events; it returns begin and end of the hold.
func (f *Facts) read(events []press.Event, run record.Run) (hold, end time.Time) {
	end = run.Ended
	for _, e := range events {
		switch e.Kind {
		case press.HoldStarted:
			if hold.IsZero() {
				hold = e.Time
			}
		case press.Released:
			end = e.Time
		case press.ToppedUp:
			f.TopUps++
		case press.LeakFound:
			f.Leak = press.Band{Low: e.RateLow, Expected: e.RatePaPerH, High: e.RateHigh}
		}
	}
	if !hold.IsZero() && !end.IsZero() {
		f.HoldS = press.Num(end.Sub(hold).Seconds())
	}
	return hold, end
}

// conclude takes what only the engine knew at the end.
func (f *Facts) conclude(final []byte) {
	var st press.Status
	if len(final) == 0 || json.Unmarshal(final, &st) != nil {
		return
	}
	f.Progress, f.Unclamped = st.ClampedProgress.Expected, st.UnclampedShare
	if st.LeakRate.Expected.Known() {
		f.Leak = st.LeakRate
	}
}

func (f *Facts) coldest(ctx context.Context, src Source, hold, end time.Time) error {
	if hold.IsZero() {
		return nil
	}
	for row, err := range src.Thinned(ctx, f.Run, hold, end, points) {
		if err != nil {
			return err
		}
		if c := row.GlueLine.Min; !math.IsNaN(c) && !(f.ColdestC.Or(math.Inf(1)) <= c) {
			f.ColdestC = press.Num(c)
		}
	}
	return nil
}

// Of puts the runs side by side, oldest first, and fits what can be fitted. The
// next board is taken to be like the last: of its lay-up, on its press.
func Of(runs []Facts) Comparison {
	c := Comparison{Runs: runs, Fits: []Fitted{}}
	for _, across := range []bool{false, true} {
		if f, some := springback(runs, across); some {
			c.Fits = append(c.Fits, f)
		}
	}
	var presses []string
	for _, r := range runs {
		if !slices.Contains(presses, r.Press) {
			presses = append(presses, r.Press)
		}
	}
	for _, name := range presses {
		if f, some := leaks(runs, name); some {
			c.Fits = append(c.Fits, f)
		}
	}
	return c
}

// alike is how far apart foretold springbacks are that count as one lay-up's.
const alike = 0.002

func springback(runs []Facts, across bool) (Fitted, bool) {
	var x, y []float64
	next := math.NaN()
	for _, r := range runs {
		for _, b := range r.Bends {
			if b.Across != across || !b.Predicted.Known() {
				continue
			}
			next = float64(b.Predicted)
			if b.Measured.Expected.Known() {
				x, y = append(x, float64(b.Predicted)), append(y, float64(b.Measured.Expected))
			}
		}
	}
	what := SpringbackAlong
	if across {
		what = SpringbackAcross
	}
	return fitted(what, "", x, y, next, alike), len(x) > 0
}

// leaks fits the leak rate of a bag over the number of its run.
func leaks(runs []Facts, name string) (Fitted, bool) {
	var x, y []float64
	number := 0.0
	for _, r := range runs {
		if r.Press != name {
			continue
		}
		number++
		if r.Leak.Expected.Known() {
			x, y = append(x, number), append(y, float64(r.Leak.Expected))
		}
	}
	return fitted(LeakRate, name, x, y, number+1, 0), len(x) > 0
}

func fitted(what, name string, x, y []float64, next, same float64) Fitted {
	f := Fitted{What: what, Press: name, Fit: fit(x, y, next, same), Low: press.Unknown(), High: press.Unknown()}
	if len(y) > 0 {
		low, high := extremes(y)
		f.Low, f.High = press.Num(low), press.Num(high)
	}
	if what == LeakRate {
		f.Inside = f.Model != NoModel // the run that comes is always one further
	}
	return f
}
