package press

import (
	"iter"
	"slices"

	"github.com/nightclamp/nightclamp/sensor"
)

// Resume makes a run anew from its record: the events that were kept, in order,
// and the samples that were kept with them. It is how a restarted daemon picks
// a run up, and how a run is worked out again when its adhesive is set or
// corrected: the new cfg applies from the first glue on.
//
// The second result is what the record did not know yet: events that the engine
// now makes, and the ends of conditions that hold no more. They belong to the
// time of the newest kept sample. What the record has already is not said again.
func Resume(cfg Config, kept []Event, samples iter.Seq[sensor.Sample]) (*Run, []Event) {
	r := New(cfg)
	if len(kept) == 0 {
		return r, nil
	}
	r.reopen(kept[0])
	var said []Event
	for s := range samples {
		said = append(said, r.Advance(s)...)
	}
	return r, r.reconcile(kept, said)
}

// reopen puts an idle run where its first event found it.
func (r *Run) reopen(first Event) {
	r.clock.advance(sensor.Blank(first.Time))
	r.id, r.started = first.Run, r.clock.t
	switch first.Kind {
	case LayupStarted:
		r.enter(Layup)
		r.assembly = newAssembly(r.cfg.Sheet, r.clock.t)
	case PulldownStarted, DropTestStarted:
		r.enter(Pulldown)
		r.hold.bestT = r.clock.t
	default:
		r.enter(Hold)
		r.hold.begin(r.clock.t, first.VacuumPa.Or(0))
	}
	r.held.note(first)
}

// reconcile compares the conditions and the marks of the record with the
// engine's and returns what the record lacks.
func (r *Run) reconcile(kept, said []Event) []Event {
	var record conditions
	topUps := 0
	for _, e := range kept {
		record.note(e)
		if e.Kind == ToppedUp {
			topUps++
		}
		r.remember(e)
	}
	r.hold.topUps = max(r.hold.topUps, topUps)
	r.out = nil
	for _, c := range record.set {
		if end, ok := ending(c.Kind); ok && !r.held.has(c.Kind, c.Quantity) {
			r.emit(Event{Kind: end, Quantity: c.Quantity, VacuumPa: Num(r.vac.value), GluelineC: Num(r.glue.value)})
		}
	}
	if r.drop.running() {
		r.endDrop(DropBrokenOff, "restart")
	}
	for _, e := range said {
		if r.isNews(e, kept, &record) {
			r.out = append(r.out, e)
		}
	}
	return r.out
}

// isNews reports whether an event that the engine made while it was fed its
// record is one that the record lacks: a step of the run that is said once, or
// the beginning of something that still holds.
func (r *Run) isNews(e Event, kept []Event, record *conditions) bool {
	switch e.Kind {
	case PulldownStarted, HoldStarted, Settled:
		return !slices.ContainsFunc(kept, func(k Event) bool { return k.Kind == e.Kind })
	}
	return slices.Contains(ConditionKinds(), e.Kind) && r.held.has(e.Kind, e.Quantity) && !record.has(e.Kind, e.Quantity) &&
		r.held.since(e.Kind, e.Quantity).Equal(e.Time)
}

// remember takes over from the record what is said only once in a run.
func (r *Run) remember(e Event) {
	switch e.Kind {
	case Settled:
		r.hold.settled = true
	case LineBlocked:
		// Thinned samples do not show it again.
		r.hose.blocked, r.hose.reason = true, e.Reason
		r.verdict, r.margin.known, r.hold.est.Known = Unsure, false, false
		r.held.note(e)
	case LineBack:
		r.hose.blocked = false
		r.held.note(e)
	case DropTestStarted, DropTestEnded:
		r.drop.remember(e, r.emptyBag())
	case Calibrated:
		r.calibration = e.Text
		if e.Text == uncalibrated {
			r.calibration = ""
		}
	case WeatherTold:
		r.weather = Weather{LowC: e.LowC, HighC: e.HighC, Until: e.Until}
		r.tellShop()
	case WeatherForgotten:
		r.weather = Weather{}
		r.tellShop()
	case PumpStarted, PumpStopped:
		r.hold.pumpOn = e.Kind == PumpStarted
	case PumpLocked, PumpFreed:
		r.held.note(e) // not the engine's own finding
	case PressTimeReached:
		// Kept samples are thinned: the engine may be a breath behind the one
		// that said so. What was said stands while the glue is the same.
		if r.cure.chosen() && !r.cure.done && r.cure.progress.State().Clamped.Expected > 0.999 {
			r.cure.done, r.cure.doneT = true, r.clock.t
		}
	}
}

// ending is the event that ends a condition.
func ending(begun Kind) (Kind, bool) {
	switch begun {
	case LeakFound:
		return LeakEnded, true
	case MarginGone:
		return MarginBack, true
	case BelowFloor:
		return AboveFloor, true
	case TooCold:
		return WarmEnough, true
	case SensorSilent, SensorStuck, SensorJumped, SensorDisagrees:
		return SensorBack, true
	}
	return "", false
}

// remember takes a drop test over from the record.
func (d *dropTest) remember(e Event, empty bool) {
	if e.Kind == DropTestStarted {
		*d = dropTest{any: true, told: DropTest{
			State: DropPump, Empty: empty, Began: e.Time, HoldS: e.HoldS, FloorPa: e.FloorPa,
			TookS: Unknown(), LeftS: Unknown(), Rate: unknownBand(), Allowed: Unknown(),
		}}
		return
	}
	t := &d.told
	t.State, t.Outcome, t.Reason, t.Ended = DropOver, e.Outcome, e.Reason, e.Time
	t.Rate, t.Allowed, t.TookS, t.LeftS = Band{e.RateLow, e.RatePaPerH, e.RateHigh}, e.AllowedPaPerH, e.TookS, 0
}
