package press

import (
	"math"
	"slices"
)

// Why the line is thought to be blocked.
const (
	LineQuiet      = "quiet"       // the readings lost the unrest that the bag gave them
	LineNoResponse = "no_response" // somebody pumped, and the vacuum did not grow
	LineQuick      = "quick"       // pumping drew the vacuum as only the hose's own air lets it
)

const (
	// quietFor is how long, s, the readings must have been too quiet.
	quietFor = 60.0
	// quietShare of the usual noise and less is too quiet. What is usual is learnt
	// over usualTime, s, so that a part that spikes for a while does not count.
	quietShare = 0.5
	usualTime  = 3600.0
	usualLeast = 1200.0
	usualStep  = 0.5
	// lively is the share of the readings that must differ from the one before for a
	// quiet part not to be one with coarse steps.
	lively = 0.5
	// loudAgain is the share of the noise before that must be back.
	loudAgain = 0.7
	// responseWithin is how long, s, before and after the builder's word that he
	// pumped the vacuum must have shown it.
	responseWithin = 600.0
	// roomToPump is how far below the best of the hold, Pa, the vacuum must be for
	// a pump to be able to do anything, and responseLeast what it must do.
	roomToPump    = 1500.0
	responseLeast = 200.0
	// quickWithin is the time, s, in which most of a top-up is no bag's, when at
	// the pace of the pull-down it would have taken quickTimes as long.
	quickWithin = 2.5
	quickTimes  = 4.0
	quickLeast  = 1000.0 // Pa
	quickShare  = 0.8
	recentStep  = 0.45 // s, between the readings that are kept for that
)

// hose follows whether the line still sees the bag.
type hose struct {
	blocked    bool
	reason     string
	usual      float64 // logarithm of the usual standard deviation of a reading, Pa
	learnt     float64 // s over which that was learnt
	learntT    float64 // t at which it was last
	quietN     uint64  // samples until then
	quietMoves int     // and changes of what the part shows
	quietT     float64 // t since which the readings are too quiet; NaN: they are not

	saidT, saidVac float64 // the builder's word that he pumped, and the vacuum then; NaN: none
	pumpedT        float64 // t of the newest top-up that was seen

	pace      float64    // fastest pumping of the pull-down, as a share of the bag's pressure in a second
	recent    [6]reached // readings of the last seconds, oldest first
	switched  bool       // the pump that is at it was switched on by a relay
	from      float64    // bag pressure when the pump began, Pa
	quickFall float64    // most that the pressure fell within quickWithin while the pump was at it, Pa
}

type reached struct{ t, bag float64 }

func newHose() hose {
	return hose{quietT: math.NaN(), saidT: math.NaN(), pumpedT: math.Inf(-1)}
}

// follow takes the pressure (Pa) of every believable reading, and whether the
// bag is being pulled down.
func (h *hose) follow(t, bag float64, pulling bool) {
	newest := len(h.recent) - 1
	if t-h.recent[newest].t < recentStep {
		return
	}
	for _, r := range h.recent {
		age := t - r.t
		if r.bag <= 0 || bag <= 0 || age > quickWithin {
			continue
		}
		h.quickFall = max(h.quickFall, r.bag-bag)
		if pulling {
			h.pace = max(h.pace, math.Log(r.bag/bag)/max(age, 1))
		}
	}
	copy(h.recent[:], h.recent[1:])
	h.recent[newest] = reached{t, bag}
}

// pumpBegins forgets what fell before the pump was at it; switched says that a
// relay switched it on.
func (h *hose) pumpBegins(t float64, switched bool) {
	h.quickFall, h.from, h.switched = 0, h.justBefore(), switched
	last := h.recent[len(h.recent)-1]
	for _, r := range h.recent {
		if r.bag > 0 && t-r.t <= 2*quickWithin {
			h.quickFall = max(h.quickFall, r.bag-last.bag)
		}
	}
}

// justBefore is the bag pressure, Pa, before the pump that was noticed just now.
// It is the second highest of the last seconds, so that neither a spike nor what
// the pump has done by now counts.
func (h *hose) justBefore() float64 { return h.sorted()[len(h.recent)-2] }

// sorted are the pressures of the last seconds, lowest first.
func (h *hose) sorted() (p [6]float64) {
	for i, r := range h.recent {
		p[i] = r.bag
	}
	slices.Sort(p[:])
	return p
}

// quick reports whether the top-up that just ended, from one bag pressure to
// another (Pa), was far too quick for the bag of the pull-down.
func (h *hose) quick(from, to float64) bool {
	// A pull-down that was not seen, or one that was as quick, tells nothing.
	if h.pace <= 0 || from-to < quickLeast || to <= 0 {
		return false
	}
	atPace := math.Log(from/to) / h.pace
	return h.quickFall >= quickShare*(from-to) && atPace >= quickTimes*quickWithin
}

// advanceHose judges the line while the bag is held, and reports whether its
// readings are the bag's.
func (r *Run) advanceHose() bool {
	h, t := &r.hose, r.clock.t
	if r.hold.plateau || r.emptyBag() && !r.drop.running() {
		return true
	}
	if h.blocked {
		return r.judgeUnblocked()
	}
	e := r.hold.est
	h.learn(t, e.NoiseLately, e.Hushed)
	switch {
	case !e.Hushed || !h.tooQuiet(e.NoiseLately) || t-r.bag.sameT > 10*r.clock.interval: // a part that shows one value is stuck, not quiet
		h.quietT = math.NaN()
	case math.IsNaN(h.quietT):
		h.quietT, h.quietN, h.quietMoves = t, r.samples, r.bag.changes
	case t-h.quietT < quietFor:
	case float64(r.bag.changes-h.quietMoves) < lively*float64(r.samples-h.quietN):
		h.quietT = math.NaN() // a coarse part rests on one of its steps
	default:
		r.block(LineQuiet)
	}
	if !math.IsNaN(h.saidT) && t-h.saidT > responseWithin {
		grew := r.vac.value - h.saidVac
		h.saidT = math.NaN()
		if grew < responseLeast {
			r.block(LineNoResponse)
		}
	}
	return !h.blocked
}

// learn takes the noise of late (Pa) for usual, unless it is being doubted.
func (h *hose) learn(t, lately float64, doubted bool) {
	dt := t - h.learntT
	h.learntT = t
	if doubted || !(lately > 0) || !(dt > 0 && dt < usualTime) {
		return
	}
	off := math.Log(lately) - h.usual
	if h.learnt > 0 {
		off = min(max(off, -usualStep), usualStep) // like a median: how wild it is does not count
	}
	h.learnt += dt
	h.usual += off * dt / min(h.learnt, usualTime)
}

// tooQuiet reports whether the noise of late (Pa) is far below the usual.
func (h *hose) tooQuiet(lately float64) bool {
	return h.learnt >= usualLeast && lately < quietShare*math.Exp(h.usual)
}

// judgeUnblocked looks for a sign of the bag: its unrest, or a jump, as when a
// hose is let go.
func (r *Run) judgeUnblocked() bool {
	h := &r.hose
	loud := h.reason == LineQuiet && r.hold.leak.Estimate().NoiseLately > loudAgain*math.Exp(h.usual)
	jump := !r.hold.pumpingNow && math.Abs(r.vac.value-r.vac.before) > r.vac.stroke()
	if loud || jump {
		r.unblock()
	}
	return !h.blocked
}

func (r *Run) block(reason string) {
	r.hose.blocked, r.hose.reason = true, reason
	r.verdict, r.margin.known = Unsure, false
	r.hold.est = r.hold.leak.Estimate()
	r.hold.est.Known = false
	r.emit(Event{Kind: LineBlocked, Reason: reason, VacuumPa: Num(r.vac.value)})
}

func (r *Run) unblock() {
	h := &r.hose
	h.blocked, h.reason, h.quietT, h.saidT = false, "", math.NaN(), math.NaN()
	r.hold.leak.TopUp()
	r.hold.needsForecast = true
	r.emit(Event{Kind: LineBack, VacuumPa: Num(r.vac.value)})
}

// hosePumped takes a top-up that was seen: it shows that the line sees the bag,
// or that it does not.
func (r *Run) hosePumped(from, to float64) {
	h := &r.hose
	h.pumpedT, h.saidT = r.clock.t, math.NaN()
	// What it came to must have lasted for seconds: spikes do not.
	lasting := h.sorted()[len(h.recent)-1]
	switch quick := h.quick(h.from, lasting); {
	case to-from < responseLeast:
		if h.switched && !h.blocked && from < r.hold.level-roomToPump {
			r.block(LineNoResponse) // a pump ran, and nothing came of it
		}
	case quick && !h.blocked:
		r.block(LineQuick)
	case !quick && h.blocked:
		r.unblock()
	}
}

// TopUp writes down that the builder pumps, or has just pumped, and with how many
// strokes; 0 is not known. When the vacuum shows nothing of it although it could,
// the line does not see the bag.
func (r *Run) TopUp(text string, strokes int) []Event {
	h := &r.hose
	if r.facts.strokes = strokes; strokes > 0 {
		r.facts.strokesT = r.clock.t
		if !r.hold.pumpingNow {
			r.facts.sizeUp(r.cfg.StrokeM3, r.hold.est.Noise)
		}
	}
	if r.stage == Hold && !r.hold.pumpingNow && r.clock.t-h.pumpedT > responseWithin && r.vac.value < r.hold.level-roomToPump {
		h.saidT, h.saidVac = r.clock.t, r.vac.value
	}
	return r.Note(text)
}

// hoseSentence says that the line does not see the bag, why it is thought so,
// and what to do.
func (w words) hoseSentence() (string, bool) {
	c, blocked := w.has(LineBlocked)
	if !blocked {
		return "", false
	}
	at, why := w.clock(c.Since), "the readings went quiet"
	switch w.st.LineReason {
	case LineNoResponse:
		why = "you pumped and the sensor saw nothing of it"
	case LineQuick:
		why = "pumping moved the vacuum as quickly as if there were only a hose"
	}
	return "The sensor does not seem to see the bag since " + at + ": " + why + ". A hose may be pinched or blocked, or a valve shut. " +
		"Nobody knows whether the bag holds, whatever the gauge says. Follow the hose to the bag.", true
}
