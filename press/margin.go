package press

import (
	"math"
	"time"

	"github.com/nightclamp/nightclamp/leak"
)

const (
	// horizon is how far ahead, s, anything is forecast.
	horizon = 14 * 24 * 3600.0
	// forecastEvery and forecastInNeed are how often, s of sample time, the
	// margin is worked out: on a quiet bag, and while there is doubt.
	forecastEvery  = 60.0
	forecastInNeed = 10.0
	// pressEvery is how often, s, the press time is forecast: its forecast walks
	// through days of temperature and moves slowly.
	pressEvery = 300.0
	// backMargin is the margin, s, from which it is called back, and backWait
	// how long, s, it must last: after a top-up the rate has to be found anew.
	backMargin = 900.0
	// firstLook is how long, s, after it was sealed a bag must be looked at before
	// anybody goes to sleep. Common practice, no source.
	firstLook = 1800.0
	// sureChance is the chance to hold from which there is no doubt.
	sureChance = 0.95
	backWait   = 300.0
)

// margin is the number behind the sentence: the time at which the vacuum is
// forecast to cross the floor minus the time at which the glue is forecast to
// reach its press time. Both are s from forecastT; +Inf is never.
type margin struct {
	forecastT float64
	pressT    float64 // t at which press was forecast
	known     bool
	floor     leak.Crossing
	press     timeBand
	outlook   outlook
	warming   warming
	coldAt    float64 // when the glue line is expected below its minimum, s from forecastT
	gone      bool
	goodT     float64 // t since which a margin that was gone looks good; NaN: does not
}

type timeBand struct{ early, expected, late float64 }

// latest is late, and where that is never, a moment that stands for it: twice as
// far from the expected as the early bound. A cold night without end is the glue's
// trouble and not the bag's.
func (b timeBand) latest() float64 {
	if !math.IsInf(b.late, 1) || math.IsInf(b.expected, 1) {
		return b.late
	}
	return b.expected + 2*(b.expected-b.early)
}

// later is the same moments as seen by s later.
func (b timeBand) later(s float64) timeBand {
	return timeBand{max(0, b.early-s), max(0, b.expected-s), max(0, b.late-s)}
}

// ahead is the wall-clock time of a moment s from now, to the second; zero when
// it never comes.
func (r *Run) ahead(s float64) time.Time {
	return r.clock.wall(r.clock.t + s).Round(time.Second)
}

func (r *Run) advanceMargin() {
	if r.stage != Hold || r.emptyBag() || r.hose.blocked {
		return
	}
	m, h, t := &r.margin, &r.hold, r.clock.t
	every := forecastEvery
	if h.leaking || m.gone || h.below {
		every = forecastInNeed
	}
	if m.known && !h.needsForecast && t-m.forecastT < every {
		return
	}
	m.floor = h.leak.Forecast(r.floor, horizon)
	if h.below {
		m.floor = leak.Crossing{}
	}
	if !m.known || h.needsForecast || t-m.pressT >= pressEvery {
		f := r.warmthAhead()
		m.press, m.coldAt, m.pressT = r.remaining(f), r.coldAhead(f), t
	} else {
		m.press = m.press.later(t - m.forecastT)
		m.coldAt = max(0, m.coldAt-(t-m.forecastT))
	}
	m.warming = r.askForWarmth(r.holdsFor())
	h.needsForecast = false
	m.known, m.forecastT = true, t
	m.outlook = r.lookAhead()
	r.judgeMargin()
}

// holdsFor is how long, s from forecastT, the bag surely holds; +Inf where nothing
// certain is known against it, or where it does not hold now and has its own word.
func (r *Run) holdsFor() float64 {
	if r.hold.below || !r.hold.certain() {
		return math.Inf(1)
	}
	return r.margin.floor.Early
}

// expected is the margin's middle, s. It is +Inf when the floor is never
// crossed, and -Inf when the floor is crossed but the press time never comes.
func (m *margin) expected() float64 { return between(m.floor.Expected, m.press.expected) }
func (m *margin) low() float64      { return between(m.floor.Early, m.press.latest()) }
func (m *margin) high() float64     { return between(m.floor.Late, m.press.early) }

// between is floor minus press where either may be never.
func between(floor, press float64) float64 {
	if math.IsInf(floor, 1) {
		return math.Inf(1)
	}
	return floor - press
}

func (r *Run) judgeMargin() {
	m := &r.margin
	if r.cure.done || !r.cure.chosen() {
		r.verdict = Unsure
		if r.cure.done {
			r.verdict = Done
		}
		return
	}
	r.verdict = m.verdict(&r.hold, r.clock.t)
	if !m.gone {
		if r.verdict == WillNotHold {
			m.gone, m.goodT = true, math.NaN()
			r.emit(r.marginEvent(MarginGone))
		}
		return
	}
	if m.expected() < backMargin || r.hold.below || !r.hold.certain() {
		m.goodT = math.NaN()
		return
	}
	if math.IsNaN(m.goodT) {
		m.goodT = r.clock.t
	}
	if r.clock.t-m.goodT >= backWait {
		m.gone = false
		r.emit(r.marginEvent(MarginBack))
	}
}

// verdict weighs the two forecasts. In the first half hour, when the bag must be
// looked at anyway, only a bag below the floor is spoken of. While the bag settles
// its rise can only turn out too pessimistic: it is good for a yes, not for a
// doubt. And a floor that is crossed by a rise that is not certain to be a leak is
// a doubt, not a loss.
func (m *margin) verdict(h *hold, t float64) Verdict {
	switch {
	case h.below:
		return WillNotHold
	case m.expected() < 0 && h.est.Known && h.leaking:
		return WillNotHold
	case !h.est.Known || t-h.sealedT < firstLook:
		return Unsure
	case m.outlook.chance >= sureChance:
		return WillHold
	case h.certain():
		return InDoubt
	}
	return Unsure
}

// certain reports whether the rise of the bag says what the night will bring.
func (h *hold) certain() bool { return h.est.Known && (h.settled || h.leaking) }

func (r *Run) marginEvent(k Kind) Event {
	return Event{
		Kind: k, MarginS: Num(r.margin.expected()),
		FloorAt:     r.ahead(r.margin.floor.Expected),
		PressTimeAt: r.ahead(r.margin.press.expected),
	}
}
