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
	// backMargin is the margin, s, from which it is called back.
	backMargin = 900.0
)

// margin is the number behind the sentence: the time at which the vacuum is
// forecast to cross the floor minus the time at which the glue is forecast to
// reach its press time. Everything in it is s from forecastT; +Inf is never.
type margin struct {
	forecastT float64
	known     bool
	floor     leak.Crossing
	press     timeBand
	gone      bool
}

type timeBand struct{ early, expected, late float64 }

// ahead is the wall-clock time of a moment s from now; zero when it never comes.
func (r *Run) ahead(s float64) time.Time { return r.clock.wall(r.clock.t + s) }

func (r *Run) advanceMargin() {
	if r.stage != Hold {
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
	h.needsForecast = false
	m.known, m.forecastT = true, t
	m.floor = h.leak.Forecast(r.floor, horizon)
	if h.below {
		m.floor = leak.Crossing{}
	}
	m.press = r.cure.remaining(r.clock.t)
	r.judgeMargin()
}

// expected is the margin's middle, s. It is +Inf when the floor is never
// crossed, and -Inf when the floor is crossed but the press time never comes.
func (m *margin) expected() float64 { return between(m.floor.Expected, m.press.expected) }
func (m *margin) low() float64      { return between(m.floor.Early, m.press.late) }
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
	r.verdict = m.verdict(r.hold.below, r.hold.settled || r.hold.leaking)
	switch {
	case !m.gone && r.verdict == WillNotHold:
		m.gone = true
		r.emit(r.marginEvent(MarginGone))
	case m.gone && m.expected() > backMargin && !r.hold.below:
		m.gone = false
		r.emit(r.marginEvent(MarginBack))
	}
}

// verdict weighs the two forecasts. Before the bag has settled, its rise says
// nothing about the night, so only a bag below the floor is spoken of.
func (m *margin) verdict(below, certain bool) Verdict {
	switch {
	case below:
		return WillNotHold
	case !certain:
		return Unsure
	case m.expected() < 0:
		return WillNotHold
	case m.low() < 0:
		return InDoubt
	}
	return WillHold
}

func (r *Run) marginEvent(k Kind) Event {
	return Event{
		Kind: k, MarginS: Num(r.margin.expected()),
		FloorAt:     r.ahead(r.margin.floor.Expected),
		PressTimeAt: r.ahead(r.margin.press.expected),
	}
}
