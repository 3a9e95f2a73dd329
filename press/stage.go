package press

const (
	// started is the vacuum, Pa, from which somebody is pumping: beyond what a
	// gauge part and a barometer disagree by.
	pumping = 5e3
	// pumpStops and pumpRests are how long, s, the vacuum must not have grown
	// for the pumping to be over: at the floor, and below it, where a builder
	// who pumps by hand is only catching breath.
	pumpStops = 45.0
	pumpRests = 180.0
	// openBag is the vacuum, Pa, below which nothing clamps any more.
	openBag = 5e3
	// abandoned is how long, s, a bag may stay open in the hold before the run
	// is taken to be over.
	abandoned = 2 * 3600.0
)

// moveStage moves the run along, by the vacuum alone.
func (r *Run) moveStage(fresh bool, k tick) {
	if k.gap {
		r.vac.jumpTo()
	}
	if r.stage == Layup || r.stage == Pulldown {
		r.watchAssembly()
	}
	if !fresh {
		return
	}
	switch r.stage {
	case Idle:
		r.leaveIdle()
	case Layup:
		if r.vac.value > pumping {
			r.startPulldown()
		}
	case Pulldown:
		r.followPulldown()
	}
}

// leaveIdle begins a run by itself when the bag is under vacuum: a forgotten
// `start` loses nothing. A series that begins under vacuum is a hold.
func (r *Run) leaveIdle() {
	if r.vac.value <= pumping {
		return
	}
	if r.vac.n == 1 {
		r.open(Hold)
		r.startHold()
		return
	}
	r.open(Pulldown)
	r.startPulldown()
}

func (r *Run) startPulldown() {
	r.enter(Pulldown)
	r.hold.best, r.hold.bestT = r.vac.value, r.clock.t
	r.emit(Event{Kind: PulldownStarted})
}

// followPulldown waits for the pumping to stop.
func (r *Run) followPulldown() {
	h, t := &r.hold, r.clock.t
	if r.vac.value > h.best+r.vac.stroke()/2 {
		h.best, h.bestT = r.vac.value, t
	}
	if r.vac.value < openBag/2 && t-h.bestT > pumpRests && !r.emptyBag() {
		r.enter(Layup) // the first try came to nothing
		return
	}
	rest := pumpRests
	if h.best >= r.floor {
		rest = pumpStops
	}
	if t-h.bestT > rest && r.vac.value > openBag {
		r.startHold()
	}
}

func (r *Run) startHold() {
	r.hold.plateau = r.stage == Pulldown
	r.enter(Hold)
	r.hold.begin(r.clock.t, r.vac.value)
	r.emit(Event{Kind: HoldStarted, VacuumPa: Num(r.vac.value)})
	if !r.emptyBag() {
		r.judgeFloor()
	}
}

// release closes the run.
func (r *Run) release() {
	r.verdict = r.closing()
	if r.emptyBag() {
		r.verdict = Unsure
	}
	r.enter(Release)
	if r.drop.running() {
		r.endDrop(DropBrokenOff, "released")
	}
	r.emit(Event{Kind: Released, Verdict: r.verdict})
}
