package press

import (
	"math"

	"github.com/nightclamp/nightclamp/leak"
)

const (
	// estimateEvery is how often, s of sample time, the leak estimate is looked at.
	estimateEvery = 1.0
	// backAbove is how far above the floor, Pa, the vacuum must be to be back.
	backAbove = 300.0
	// floorWait is how long, s, the vacuum must be on the other side of the floor.
	floorWait = 5.0
	// plateauAtMost is how long, s, after a pull-down the pump may still be drawing
	// although the vacuum grows no more, and plateauFall how far, Pa, the vacuum
	// must have fallen to tell that it was shut off.
	plateauAtMost = 1800.0
	plateauFall   = 120.0
	// lostShare of the hold's vacuum and less is a bag that is open or nearly so.
	lostShare = 0.25
)

// hold is what the run knows of the bag since pumping stopped.
type hold struct {
	leak    *leak.Estimator
	est     leak.Estimate
	lookedT float64

	best, bestT float64 // highest vacuum of the pull-down and its t
	startT      float64
	level       float64 // vacuum that the hold began with, Pa
	plateau     bool    // the pump may still be drawing
	sealedT     float64 // t from which the bag is left to itself

	below, lost   bool
	floorSideT    float64 // t since which the vacuum is on the other side of the floor; -1: is not
	lostT         float64
	lostEarned    float64 // share of the press time that was earned when the bag opened
	settled       bool
	leaking       bool
	topUps        int
	pumpingNow    bool
	pumpOn        bool // the relay of an electric pump is switched on
	pumpedFrom    float64
	pumpedBest    float64
	pumpedBestT   float64
	needsForecast bool // something changed that the margin depends on
}

func newHold(cfg Config) hold {
	return hold{leak: leak.New(leakConfig(cfg)), floorSideT: -1}
}

func leakConfig(cfg Config) leak.Config {
	return leak.Config{Gassing: cfg.Sheet != nil && cfg.Sheet.Gas}
}

func (h *hold) begin(t, vacuum float64) {
	h.startT, h.sealedT, h.level, h.lookedT = t, t, vacuum, math.Inf(-1)
	h.needsForecast = true
}

// advanceHold follows the bag while it is clamping.
func (r *Run) advanceHold(fresh bool, k tick) {
	if r.stage != Hold || !fresh {
		return
	}
	h, t := &r.hold, r.clock.t
	r.followPlateau()
	if !r.followPumping(k) {
		h.leak.Add(r.leakReading())
	}
	if !r.advanceHose() {
		return
	}
	switch {
	case r.cure.done || r.emptyBag():
		r.judgeOpened()
	default:
		r.judgeFloor()
		r.judgeLost()
	}
	if r.Closed() || h.plateau || t-h.lookedT < estimateEvery {
		return
	}
	h.lookedT = t
	h.est = h.leak.Estimate()
	r.facts.know(h.est)
	if !r.emptyBag() {
		r.judgeLeak()
	}
}

// followPlateau waits for the pump to be shut off. A builder lets it run on at its
// lowest pressure; the bag settles only from the moment the valve is closed, and
// what came before says nothing about the rise after it.
func (r *Run) followPlateau() {
	h, v := &r.hold, r.vac.value
	if !h.plateau {
		return
	}
	h.level = max(h.level, v)
	shutOff := v < h.level-max(plateauFall, r.vac.stroke()/2)
	if !shutOff && r.clock.t-h.startT < plateauAtMost {
		return
	}
	h.plateau, h.sealedT = false, r.clock.t
	if shutOff {
		h.leak = leak.New(leakConfig(r.cfg))
	}
}

// followPumping notices pump strokes or a pump start by how fast the vacuum
// grows: no cooling and no barometer moves it by so much in so short a time.
// It reports whether the pump is at work.
func (r *Run) followPumping(k tick) bool {
	h, v, t := &r.hold, &r.vac, r.clock.t
	if k.gap {
		r.facts.restT = math.NaN()
	}
	if k.gap || v.n < 3 {
		return h.pumpingNow
	}
	if h.pumpOn {
		h.pumpedBestT = t
	}
	if !h.pumpingNow {
		seen := v.raw-v.before > v.stroke() && v.value-v.before > v.stroke()/2
		if !seen && !h.pumpOn {
			return false
		}
		h.pumpingNow, h.pumpedFrom = true, v.before
		h.pumpedBest, h.pumpedBestT = v.value, t
		r.hose.pumpBegins(t, h.pumpOn)
		r.facts.pumpBegins(t, r.hose.justBefore(), r.amb.value, t-h.sealedT < cycleAfter)
		return true
	}
	if v.value > h.pumpedBest+v.stroke()/4 {
		h.pumpedBest, h.pumpedBestT = v.value, t
	}
	if t-h.pumpedBestT < pumpStops/3 {
		return true
	}
	h.pumpingNow = false
	r.endTopUp()
	r.facts.pumped(t, r.amb.value-r.vac.value, r.amb.value)
	r.facts.sizeUp(r.cfg.StrokeM3, h.est.Noise)
	r.hosePumped(h.pumpedFrom, r.vac.value)
	return false
}

func (r *Run) endTopUp() {
	h := &r.hold
	h.topUps++
	h.level = max(h.level, r.vac.value)
	h.leak.TopUp()
	h.est = h.leak.Estimate()
	h.needsForecast = true
	r.vac.before = r.vac.value // what the pump did is over and not to be seen twice
	r.emit(Event{Kind: ToppedUp, FromPa: Num(h.pumpedFrom), ToPa: Num(r.vac.value)})
}

// judgeFloor says when the vacuum goes through the floor. A crossing must last,
// so that the noise of one reading is none.
func (r *Run) judgeFloor() {
	h, t, v := &r.hold, r.clock.t, r.vac.value
	crossed := v < r.floor
	if h.below {
		crossed = v > r.floor+backAbove
	}
	if !crossed {
		h.floorSideT = -1
		return
	}
	if h.floorSideT < 0 {
		h.floorSideT = t
	}
	if t-h.floorSideT < floorWait && t > h.startT {
		return
	}
	h.below, h.floorSideT = !h.below, -1
	h.needsForecast = true
	kind := BelowFloor
	if !h.below {
		kind = AboveFloor
		h.lost = false
	}
	r.emit(Event{Kind: kind, VacuumPa: Num(v)})
}

// judgeOpened closes the run when the bag is open. The glue is done, so that a
// vacuum that falls is nobody's worry any more.
func (r *Run) judgeOpened() {
	if r.vac.value < openBag {
		r.release()
	}
}

// judgeLost says when the bag is open, and closes the run when it stays so.
func (r *Run) judgeLost() {
	h, t, v := &r.hold, r.clock.t, r.vac.value
	if !h.lost && v < min(lostShare*h.level, 0.5*r.floor) {
		h.lost, h.lostT, h.lostEarned = true, t, r.cure.earned()
		r.emit(Event{Kind: VacuumLost, VacuumPa: Num(v)})
	}
	if h.lost && v < openBag && t-h.lostT > abandoned {
		r.release()
	}
}

// judgeLeak says what the estimator is certain enough of.
func (r *Run) judgeLeak() {
	h, e := &r.hold, r.hold.est
	if e.Settled && !h.settled {
		h.settled, h.needsForecast = true, true
		r.emit(Event{Kind: Settled, VacuumPa: Num(r.vac.value)})
	}
	if e.Leaking == h.leaking {
		return
	}
	h.leaking, h.needsForecast = e.Leaking, true
	if !e.Leaking {
		r.emit(Event{Kind: LeakEnded})
		return
	}
	floor := h.leak.Forecast(r.floor, horizon)
	r.emit(Event{
		Kind: LeakFound, Onset: r.clock.wall(e.Onset),
		RatePaPerH: Num(e.Rate), RateLow: Num(e.Low), RateHigh: Num(e.High),
		FloorAt: r.ahead(floor.Expected),
	})
}
