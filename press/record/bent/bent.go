// Package bent works out how much of its mould's curve a blank gave back, from
// what a ruler said, and puts it beside what the theory of the lay-up said.
//
// Springback is the share of the curvature that is given back on release:
//
//	back = 1 − R(mould)/R(blank)
//
// A depth over a span becomes a radius by the circle through three points,
// R = (s²/4 + d²)/(2 d). Without a span the depths alone are compared, which is
// the same for a shallow curve: back ≈ 1 − d(blank)/d(mould).
//
// The mould is what the builder measured of it, or else the form that the lay-up
// planned. A ruler is read to half a millimetre (common practice, no source), and
// what that makes of the springback is given with it: on a curve 30 mm deep it is
// some two hundredths either way, as much as the springback of a thin stack.
package bent

import (
	"math"
	"slices"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// ruler is what a reading may be off by, m.
const ruler = 0.5e-3

// Bend is one curve of a blank.
type Bend struct {
	Across      bool       `json:"across"`
	Predicted   press.Num  `json:"predicted"`            // share of the curvature, by the lay-up; null: it says nothing of this curve
	WantedM     press.Num  `json:"wanted_m"`             // radius
	MouldM      press.Num  `json:"mould_m"`              // radius
	MouldByPlan bool       `json:"mould_by_plan"`        // nobody measured the mould
	Times       []Measured `json:"times"`                // in order
	PlanError   string     `json:"plan_error,omitempty"` // why the lay-up cannot be read
}

// Measured is the curve at one time.
type Measured struct {
	After   record.After `json:"after"`
	RadiusM press.Num    `json:"radius_m"` // of the blank; null: only depths are known
	Back    press.Band   `json:"back"`     // share of the curvature given back, with what the ruler leaves open
}

// Of works out the curves of which anything is known, along first.
func Of(run record.Run, outcomes []record.Outcome) []Bend {
	plans, fault := planned(run)
	var list []Bend
	for _, across := range []bool{false, true} {
		b := Bend{Across: across, Predicted: press.Unknown(), WantedM: press.Unknown(), MouldM: press.Unknown(), PlanError: fault}
		plan, isPlanned := planOf(plans, across)
		if isPlanned {
			b.Predicted, b.WantedM = press.Num(plan.Back), press.Num(plan.WantedM)
			b.MouldM, b.MouldByPlan = press.Num(plan.FormM), true
		}
		b.measure(outcomes, plan)
		if isPlanned || len(b.Times) > 0 {
			list = append(list, b)
		}
	}
	return list
}

// Latest is the newest measured springback; unknown when there is none.
func (b Bend) Latest() press.Band { return b.LatestAt().Back }

// LatestAt is the same with when it was measured.
func (b Bend) LatestAt() Measured {
	for _, m := range slices.Backward(b.Times) {
		if m.Back.Expected.Known() {
			return m
		}
	}
	return Measured{RadiusM: press.Unknown(), Back: press.Band{Low: press.Unknown(), Expected: press.Unknown(), High: press.Unknown()}}
}

// planned reads the lay-up that was kept with the run.
func planned(run record.Run) ([]layup.BendPlan, string) {
	if len(run.Layup) == 0 {
		return nil, ""
	}
	l, err := layup.Parse("lay-up", run.Layup)
	if err != nil {
		return nil, err.Error()
	}
	return l.BendPlans(), ""
}

func planOf(plans []layup.BendPlan, across bool) (layup.BendPlan, bool) {
	for _, p := range plans {
		if p.Across == across {
			return p, true
		}
	}
	return layup.BendPlan{}, false
}

// curveOf is the curve of an outcome in that direction.
func curveOf(o record.Outcome, across bool) record.Curve {
	if across {
		return o.Across
	}
	return o.Along
}

// measure takes the mould from the newest outcome that has it, for it does not
// change, and then every blank.
func (b *Bend) measure(outcomes []record.Outcome, plan layup.BendPlan) {
	span := press.Unknown()
	if plan.SpanM > 0 {
		span = press.Num(plan.SpanM)
	}
	mould := shape{depth: press.Unknown(), radius: b.MouldM}
	for _, o := range outcomes {
		c := curveOf(o, b.Across)
		if c.SpanM.Known() {
			span = c.SpanM
		}
		if c.MouldDepthM.Known() || c.MouldRadiusM.Known() {
			mould, b.MouldByPlan = shape{c.MouldDepthM, c.MouldRadiusM}, false
		}
	}
	b.MouldM = mould.at(span, 0)
	for _, o := range outcomes {
		c := curveOf(o, b.Across)
		blank := shape{c.DepthM, c.RadiusM}
		if !blank.depth.Known() && !blank.radius.Known() {
			continue
		}
		at := span
		if c.SpanM.Known() {
			at = c.SpanM
		}
		b.Times = append(b.Times, Measured{o.After, blank.at(at, 0), compare(mould, blank, at)})
	}
}

// shape is a curve by its depth, its radius or both.
type shape struct{ depth, radius press.Num }

// at is the radius, with the depth misread by off; the radius that was given
// counts before one that is worked out.
func (s shape) at(span press.Num, off float64) press.Num {
	d := float64(s.depth) + off
	switch {
	case s.radius.Known():
		return s.radius
	case s.depth.Known() && span.Known() && d > 0:
		return press.Num((float64(span*span)/4 + d*d) / (2 * d))
	}
	return press.Unknown()
}

// compare is the springback with its bounds: blank and mould misread to opposite
// sides, unless they are given as radii, which say nothing of their ruler.
func compare(mould, blank shape, span press.Num) press.Band {
	return press.Band{
		Low: back(mould, blank, span, -ruler), Expected: back(mould, blank, span, 0), High: back(mould, blank, span, ruler),
	}
}

func back(mould, blank shape, span press.Num, off float64) press.Num {
	m, b := mould.at(span, off), blank.at(span, -off)
	if m.Known() && b.Known() {
		return finite(1 - float64(m)/float64(b))
	}
	if mould.depth.Known() && blank.depth.Known() {
		return finite(1 - (float64(blank.depth)-off)/(float64(mould.depth)+off))
	}
	return press.Unknown()
}

func finite(v float64) press.Num {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return press.Unknown()
	}
	return press.Num(v)
}
