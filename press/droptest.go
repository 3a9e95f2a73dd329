package press

import (
	"math"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/leak"
)

// EmptyBag is the work of a run that is no pressing: the drop test of a bag with
// nothing in it. Nothing but the test speaks in such a run.
const EmptyBag = "drop test of the empty bag"

// DropTestOrder begins a guided drop test, or ends it.
type DropTestOrder struct {
	Press   string `json:"press"`            // may be empty where there is only one
	HoldS   Num    `json:"hold_s"`           // how long the bag must hold untouched, s; unknown: until the glue is done
	FloorPa Num    `json:"floor_pa"`         // the vacuum it must keep, Pa; unknown: the floor of the run
	WithinS Num    `json:"within_s"`         // how long the builder will wait for an answer, s; unknown: [DropTestWithin]
	Empty   bool   `json:"empty,omitempty"`  // nothing is in the bag: no run is made of it
	Cancel  bool   `json:"cancel,omitempty"` // end the test that is under way
}

// DropOutcome is what came of a drop test.
type DropOutcome string

// The outcomes: the bag holds as long as it must; it does not; the noise does not
// let that be told; something came between. A test under way has none.
const (
	DropHolds      DropOutcome = "holds"
	DropFails      DropOutcome = "fails"
	DropCannotTell DropOutcome = "cannot_tell"
	DropBrokenOff  DropOutcome = "broken_off"
)

// DropState is where a drop test is.
type DropState string

// The states: the bag is not under vacuum yet; it is, but the pump may still
// draw; the rise after the pull-down dies away; the leak is measured; the test is
// over.
const (
	DropPump    DropState = "pump"
	DropShut    DropState = "shut"
	DropSettle  DropState = "settling"
	DropMeasure DropState = "measuring"
	DropOver    DropState = "over"
)

// DropTest is a guided drop test as others see it.
type DropTest struct {
	State    DropState   `json:"state"`
	Outcome  DropOutcome `json:"outcome"`          // empty: under way
	Reason   string      `json:"reason,omitempty"` // of an outcome that is no verdict: cancelled, pumped, sensor, gap, restart …
	Empty    bool        `json:"empty"`            // the bag is empty: this is no run
	Began    time.Time   `json:"began"`            // when it was ordered
	Ended    time.Time   `json:"ended,omitzero"`
	HoldS    Num         `json:"hold_s"`   // how long the bag must hold untouched, s
	FloorPa  Num         `json:"floor_pa"` // the vacuum that it must keep, Pa
	TookS    Num         `json:"took_s"`   // how long it has been measured, s
	LeftS    Num         `json:"left_s"`   // how long it will take about, s; null while nothing can be said of that
	Settled  bool        `json:"settled"`  // the rise after the pull-down has died away
	Rate     Band        `json:"rate_pa_per_h"`
	Allowed  Num         `json:"allowed_pa_per_h"` // the leak that the bag may have, Pa/h
	Sentence string      `json:"sentence"`
}

// Running reports whether the test is under way.
func (d *DropTest) Running() bool { return d != nil && d.State != DropOver }

const (
	// DropTestWithin is how long a test goes on without a verdict, s.
	DropTestWithin = 6 * 3600.0
	// dropHold is how long a bag must hold when neither the builder nor an
	// adhesive says so, s. Common practice, no source.
	dropHold = 24 * 3600.0
	// noVacuumFor is how long, s, a test waits for the pump.
	noVacuumFor = 3600.0
	// surely is how long, s, a verdict must stand before it is said: a bound that
	// is looked at every second would now and then be crossed by chance.
	surely = 20.0
)

// dropTest is the engine's side of a drop test.
type dropTest struct {
	told     DropTest
	any      bool           // there is one to tell of
	test     *leak.DropTest // nil until the bag is left to itself
	need     leak.Need
	within   float64
	orderedT float64
	beganT   float64 // t from which it is measured
	topUps   int     // of the hold when it began to be measured
	verdict  leak.Verdict
	standsT  float64 // t since which the verdict stands
}

func (d *dropTest) running() bool { return d.any && d.told.State != DropOver }

// DropTest begins a drop test, ends it, or, while the bag is waited for, says
// that the valve is shut now. On an idle press it tests the empty bag.
func (r *Run) DropTest(o DropTestOrder) ([]Event, error) {
	r.out = nil
	d := &r.drop
	switch {
	case o.Cancel && !d.running():
		return nil, Errorf(WrongStage, "no drop test is under way on press %s", r.cfg.Press)
	case o.Cancel:
		r.endDrop(DropBrokenOff, "cancelled")
		return r.out, nil
	case r.samples == 0:
		return nil, Errorf(WrongStage, "no reading from press %s yet; `nightclamp sensor read` says what its parts do", r.cfg.Press)
	case r.Closed():
		return nil, Errorf(WrongStage, "the run on press %s is over; open the bag first", r.cfg.Press)
	case d.running() && d.told.State == DropShut:
		r.shutOff()
		return r.out, nil
	case d.running():
		return nil, Errorf(WrongStage, "a drop test is under way on press %s; see it with `nightclamp drop-test`, "+
			"end it with `nightclamp drop-test --cancel`", r.cfg.Press)
	case r.stage == Hold && r.vac.value < o.FloorPa.Or(r.floor):
		return nil, Errorf(WrongStage, "the bag is at %s, below the floor of %s: pump it up, then test it",
			r.cfg.Display.Pressure(r.vac.value), r.cfg.Display.Pressure(o.FloorPa.Or(r.floor)))
	}
	if err := o.check(r.cfg.Display); err != nil {
		return nil, err
	}
	r.beginDrop(o)
	return r.out, nil
}

func (r *Run) beginDrop(o DropTestOrder) {
	need := leak.Need{Hold: o.HoldS.Or(r.mustHold()), Floor: o.FloorPa.Or(r.floor)}
	if (o.Empty || r.stage == Idle) && !r.emptyBag() {
		r.empty()
	}
	if r.stage == Idle {
		r.open(Pulldown)
		r.hold.best, r.hold.bestT = r.vac.value, r.clock.t
	}
	r.drop = dropTest{any: true, need: need, within: o.WithinS.Or(DropTestWithin), orderedT: r.clock.t, beganT: math.NaN()}
	r.drop.told = DropTest{
		State: DropPump, Empty: r.emptyBag(), Began: r.clock.now, HoldS: Num(need.Hold), FloorPa: Num(need.Floor),
		TookS: 0, LeftS: Unknown(), Rate: unknownBand(), Allowed: Unknown(),
	}
	r.emit(Event{Kind: DropTestStarted, HoldS: Num(need.Hold), FloorPa: Num(need.Floor)})
	if r.stage == Hold || (r.stage == Pulldown && r.vac.n > 0 && r.vac.value >= need.Floor && !r.growing()) {
		r.shutOff()
	}
}

// growing reports whether the pump is drawing the bag down right now.
func (r *Run) growing() bool { return r.vac.value-r.vac.before > r.vac.stroke()/2 }

// shutOff takes the builder's word that the pump is off and the valve shut.
func (r *Run) shutOff() {
	if r.stage == Pulldown {
		r.startHold()
	}
	h := &r.hold
	if h.plateau {
		h.plateau, h.sealedT = false, r.clock.t
		h.leak = leak.New(leakConfig(r.cfg))
	}
	r.measureDrop()
}

func (r *Run) measureDrop() {
	d := &r.drop
	d.test, d.beganT, d.topUps = leak.NewDropTest(leakConfig(r.cfg), d.need), r.clock.t, r.hold.topUps
	d.told.State = DropSettle
}

// empty turns what is on the press into a test of the empty bag: there is no glue.
func (r *Run) empty() {
	r.cfg.Work, r.cfg.Sheet = EmptyBag, nil
	r.cure, r.assembly, r.margin = newCuring(r.cfg), assembly{}, margin{}
	r.verdict = Unsure
	r.hold.leak = leak.New(leakConfig(r.cfg))
	for _, c := range slices.Clone(r.held.set) {
		if end, ok := ending(c.Kind); ok && c.Quantity == "" {
			r.emit(Event{Kind: end, VacuumPa: Num(r.vac.value), GluelineC: Num(r.glue.value)})
		}
	}
	r.hold.leaking, r.hold.below, r.hold.lost = false, false, false
}

// emptyBag reports whether this is the test of an empty bag and no pressing.
func (r *Run) emptyBag() bool { return r.cfg.Work == EmptyBag }

// mustHold is how long the bag must hold: until the glue is done at the latest.
func (r *Run) mustHold() float64 {
	b := r.remaining(r.warmthAhead())
	if s := b.latest(); s > 0 && !math.IsInf(s, 1) {
		return s
	}
	return dropHold
}

// advanceDrop carries the test on with the newest sample.
func (r *Run) advanceDrop(fresh bool, k tick) {
	d := &r.drop
	if !d.running() {
		return
	}
	if reason := r.disturbed(k); reason != "" {
		r.endDrop(DropBrokenOff, reason)
		return
	}
	switch {
	case r.stage != Hold:
		d.told.State = DropPump
		if r.clock.t-d.orderedT > noVacuumFor {
			r.endDrop(DropBrokenOff, "no_vacuum")
		}
	case d.test == nil && r.hold.plateau:
		d.told.State = DropShut
	case d.test == nil:
		r.measureDrop()
	case fresh:
		d.test.Add(r.leakReading())
		r.judgeDrop()
	}
}

// disturbed is what makes the measurement worthless, or "".
func (r *Run) disturbed(k tick) string {
	d, h := &r.drop, &r.hold
	switch {
	case k.gap:
		return "gap"
	case d.test == nil:
		return ""
	case h.pumpingNow || h.topUps != d.topUps:
		return "pumped"
	case r.hose.blocked:
		return "line_blocked"
	case math.IsNaN(r.bag.value) || math.IsNaN(r.amb.value):
		return "sensor"
	}
	return ""
}

func (r *Run) judgeDrop() {
	d, t := &r.drop, r.clock.t
	now := d.test.State()
	d.told.TookS, d.told.LeftS = Num(t-d.beganT), Num(now.Left)
	d.told.Settled, d.told.Allowed = now.Settled, Num(now.Allowed)
	if now.Known {
		d.told.Rate = Band{Num(now.Low), Num(now.Rate), Num(now.High)}
	}
	d.told.State = DropSettle
	if now.Settled {
		d.told.State = DropMeasure
	}
	if now.Verdict != d.verdict {
		d.verdict, d.standsT = now.Verdict, t
	}
	switch stands := t-d.standsT >= surely; {
	case d.verdict == leak.Holds && stands:
		r.endDrop(DropHolds, "")
	case d.verdict == leak.Fails && stands:
		r.endDrop(DropFails, "")
	case t-d.beganT > d.within:
		r.endDrop(DropCannotTell, "noise")
	}
}

// endDrop says what came of the test, and closes the test of an empty bag that
// is open again.
func (r *Run) endDrop(outcome DropOutcome, reason string) {
	d := &r.drop
	d.test = nil
	t := &d.told
	t.State, t.Outcome, t.Reason, t.Ended, t.LeftS = DropOver, outcome, reason, r.clock.now, 0
	r.emit(Event{
		Kind: DropTestEnded, Outcome: outcome, Reason: reason, HoldS: t.HoldS, FloorPa: t.FloorPa, TookS: t.TookS,
		RatePaPerH: t.Rate.Expected, RateLow: t.Rate.Low, RateHigh: t.Rate.High, AllowedPaPerH: t.Allowed,
	})
	if r.emptyBag() && r.Open() && !r.Closed() {
		r.release()
	}
}

// CutDropTest ends a test for which no more samples will come.
func (r *Run) CutDropTest(reason string) []Event {
	r.out = nil
	if r.drop.running() {
		r.endDrop(DropCannotTell, reason)
	}
	return r.out
}

// check says what is wrong with the order, and the remedy.
func (o DropTestOrder) check(d interface{ Pressure(pa float64) string }) error {
	if h := o.HoldS; h.Known() && (h < 60 || h > horizon) {
		return Errorf(BadOrder, "a bag that must hold for %.0f s: give between a minute and 14 days", float64(h))
	}
	if w := o.WithinS; w.Known() && (w < 60 || w > 48*3600) {
		return Errorf(BadOrder, "an answer within %.0f s: give between a minute and 48 hours", float64(w))
	}
	if f := o.FloorPa; f.Known() && (f < 1e3 || f > 101e3) {
		return Errorf(BadOrder, "a floor of %s cannot be had or clamps nothing; give one between %s and %s",
			d.Pressure(float64(f)), d.Pressure(1e3), d.Pressure(101e3))
	}
	return nil
}
