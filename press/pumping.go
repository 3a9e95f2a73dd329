package press

import "math"

// Clamp is what the controller of a pump must know of a run at its newest sample.
type Clamp struct {
	T        float64 // s of the run's own clock, which no correction of the wall clock moves
	VacuumPa float64 // smoothed over a few seconds; NaN: not known
	Holding  bool    // the run is in its hold
	Believed bool    // the bag's pressure was read and is believed
	Open     bool    // the bag is open, or nearly so
}

// Clamp tells the controller of a pump how the bag is.
func (r *Run) Clamp() Clamp {
	c := Clamp{T: r.clock.t, VacuumPa: r.vac.value, Holding: r.stage == Hold}
	q := &r.bag
	c.Believed = r.vac.n > 0 && q.seenT == r.clock.t && !q.silent && !q.stuck && !q.jumped && !math.IsNaN(q.value)
	if !c.Believed {
		c.VacuumPa = math.NaN()
	}
	c.Open = r.hold.lost || c.VacuumPa < openBag
	return c
}

// PumpRuns reports whether the run was told that the pump is on.
func (r *Run) PumpRuns() bool { return r.hold.pumpOn }

// Pump says that the pump was switched on or off now, and why. What the vacuum
// does while it runs is a top-up, however slowly it grows, and no news of the leak.
func (r *Run) Pump(on bool, why string) []Event {
	r.out = nil
	if on == r.hold.pumpOn || !r.underWay() && on {
		return nil
	}
	r.hold.pumpOn = on
	kind := PumpStopped
	if on {
		kind = PumpStarted
	}
	if r.underWay() {
		r.emit(Event{Kind: kind, VacuumPa: Num(r.vac.value), Text: why})
	}
	return r.out
}

// LockPump says that the pump may not be switched on any more, and why.
func (r *Run) LockPump(why string) []Event {
	r.out = nil
	if r.underWay() && !r.held.has(PumpLocked, "") {
		r.emit(Event{Kind: PumpLocked, VacuumPa: Num(r.vac.value), Text: why})
	}
	return r.out
}

// FreePump says that the pump may be switched on again, and why.
func (r *Run) FreePump(why string) []Event {
	r.out = nil
	if r.underWay() && r.held.has(PumpLocked, "") {
		r.emit(Event{Kind: PumpFreed, VacuumPa: Num(r.vac.value), Text: why})
	}
	return r.out
}

// uncalibrated is what an event says of readings that are as the parts give them.
const uncalibrated = "none"

// Calibrated says which corrections the readings have from now on, in words; empty:
// none. What the run knows already is not said again.
func (r *Run) Calibrated(what string) []Event {
	r.out = nil
	if !r.underWay() || what == r.calibration {
		return nil
	}
	r.calibration = what
	if what == "" {
		what = uncalibrated
	}
	r.emit(Event{Kind: Calibrated, Text: what})
	return r.out
}

// PumpIsLocked reports whether the run was told that the pump is locked.
func (r *Run) PumpIsLocked() bool { return r.held.has(PumpLocked, "") }
