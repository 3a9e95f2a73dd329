package cure

import "math"

// Progress earns press time. Its zero value is not ready; use [NewProgress].
// It is not safe for concurrent use.
type Progress struct {
	sheet  *Sheet
	rates  rates
	atMin  Band // the rate at the minimum use temperature, 1/s
	min    float64
	factor float64 // strained press time over plain

	guard  guard
	recent recent

	started     bool
	t           float64
	heard       float64 // when the last believed temperature came
	c           Band    // glue line at t, °C; NaN before the first reading
	rate        Band    // ungated, at c
	clamped     bool
	guessed     bool
	tooCold     bool
	coldFor     float64
	suspect     bool
	lostAt      float64
	earned      Band
	clampEarned Band
}

// tooColdHysteresis, K, keeps State.TooCold from flickering.
const tooColdHysteresis = 0.25

// What is assumed of a glue line that is not heard of: the low bound goes down
// by silentFall K each hour, at most by silentMost K, from the coldest of the
// last day. Unheated rooms move less than 2.1 K in 99 of 100 hours (one open
// 44-day record of a room).
const (
	silentFall = 2.0
	silentMost = 10.0
)

// NewProgress starts at nothing earned.
func NewProgress(s *Sheet, o Options) *Progress {
	p := &Progress{
		sheet: s, rates: newRates(s, o), min: s.MinUseC, factor: s.factor(o),
		lostAt: math.NaN(), c: Exactly(math.NaN()),
	}
	p.atMin = p.rates.rate(s.MinUseC)
	return p
}

// Add says that the glue line is at glueC at time t (s), and whether the
// vacuum is at or above the floor. The interval since the last Add is
// integrated by the trapezoid rule; the first Add only sets the clock. An
// interval counts as clamped when both its ends are. A t that goes back is
// ignored.
//
// A NaN temperature earns what the coldest plausible temperature would: the
// coldest of the last 24 hours, for the low bound 2 K colder for each hour of
// silence (at most 10 K), for the high bound the warmest of the last 24 hours.
// Before the first reading nothing is earned. A reading that no glue line can
// have counts as NaN: one outside -30 to 70 °C (85 °C after power-on, -127 °C
// of an open probe), or a jump of more than 1 K and 5 K a minute, until the new
// level has held for two minutes.
func (p *Progress) Add(t, glueC float64, clamped bool) {
	c := p.guard.accept(t, glueC)
	if math.IsNaN(c) {
		p.silent(t, clamped)
		return
	}
	p.recent.add(t, c)
	p.heard = t
	p.to(t, Exactly(c), p.rates.rate(c), clamped, false)
}

// AddBand is Add for a glue line that is known with bounds, as a [GlueLine]
// gives it. The temperature is believed as it stands, unless it is NaN.
func (p *Progress) AddBand(t float64, c Band, clamped bool) {
	if math.IsNaN(c.Low + c.Expected + c.High) {
		p.silent(t, clamped)
		return
	}
	p.recent.add(t, c.Expected)
	p.heard = t
	p.to(t, c, p.rateBand(c), clamped, false)
}

// Wait says that the glue is wet at t but not yet under pressure: for the time
// from the first glue to pressure reached. Nothing is earned, but cold spoils the
// film as it does later.
func (p *Progress) Wait(t float64, c Band) {
	earned, clampEarned := p.earned, p.clampEarned
	p.AddBand(t, c, false)
	p.earned, p.clampEarned = earned, clampEarned
}

// rateBand is the slowest rate at the coldest, the fastest at the warmest.
func (p *Progress) rateBand(c Band) Band {
	return Band{p.rates.rate(c.Low).Low, p.rates.rate(c.Expected).Expected, p.rates.rate(c.High).High}
}

func (p *Progress) silent(t float64, clamped bool) {
	coldest, warmest, ok := p.recent.bounds()
	if !ok {
		p.to(t, Exactly(math.NaN()), Band{}, clamped, true)
		return
	}
	fall := math.Min(silentMost, silentFall*(t-p.heard)/3600)
	c := Band{coldest - fall, coldest, warmest}
	p.to(t, c, p.rateBand(c), clamped, true)
}

// to moves the clock to t and earns what lies between.
func (p *Progress) to(t float64, c, rate Band, clamped, guessed bool) {
	if p.started {
		dt := t - p.t
		if !(dt >= 0) {
			return
		}
		p.earn(dt, c, rate, clamped && p.clamped)
		p.chill(t, dt, c.Expected, guessed)
	}
	p.started = true
	p.t, p.c, p.rate, p.clamped, p.guessed = t, c, rate, clamped, guessed
	if !guessed {
		p.tooCold = c.Expected < p.min || p.tooCold && c.Expected < p.min+tooColdHysteresis
	}
}

func (p *Progress) earn(dt float64, c, rate Band, clamped bool) {
	if p.isLost() {
		return
	}
	d := Band{
		Low:      gated(p.c.Low, c.Low, p.rate.Low, rate.Low, p.min, p.atMin.Low) * dt,
		Expected: gated(p.c.Expected, c.Expected, p.rate.Expected, rate.Expected, p.min, p.atMin.Expected) * dt,
		High:     gated(p.c.High, c.High, p.rate.High, rate.High, p.min, p.atMin.High) * dt,
	}
	p.earned.add(d)
	if clamped {
		p.clampEarned.add(d)
	}
}

func (b *Band) add(d Band) {
	b.Low += d.Low
	b.Expected += d.Expected
	b.High += d.High
}

// gated is the mean rate of an interval over which the temperature runs from c0
// to c1: the trapezoid of the part above the minimum, nothing for the part below.
func gated(c0, c1, r0, r1, lowest, atLowest float64) float64 {
	switch {
	case c0 >= lowest && c1 >= lowest:
		return (r0 + r1) / 2
	case c0 >= lowest && c1 < lowest:
		return (c0 - lowest) / (c0 - c1) * (r0 + atLowest) / 2
	case c1 >= lowest && c0 < lowest:
		return (c1 - lowest) / (c1 - c0) * (r1 + atLowest) / 2
	}
	return 0 // below throughout, or not known at one end
}

// chill counts the time a wet film was below the minimum, and loses it when
// that was too long. A guess does not begin it: it only goes on.
func (p *Progress) chill(t, dt, c float64, guessed bool) {
	if guessed && !p.tooCold || p.isLost() || !p.wet() {
		return
	}
	cold := below(p.c.Expected, c, p.min) * dt
	if cold <= 0 {
		return
	}
	p.coldFor += cold
	if p.sheet.BelowMin == Lost && p.coldFor > p.sheet.grace() {
		p.lostAt = t
	}
}

// below is the share of an interval that lies below the minimum.
func below(c0, c1, lowest float64) float64 {
	switch {
	case c0 < lowest && c1 < lowest:
		return 1
	case c0 < lowest && c1 >= lowest:
		return (lowest - c0) / (c1 - c0)
	case c1 < lowest && c0 >= lowest:
		return (lowest - c1) / (c0 - c1)
	}
	return 0
}

// wet reports whether the film can still be spoiled: until the plain press time
// has been earned. What strained work needs beyond that is strength, not film.
func (p *Progress) wet() bool { return p.earned.Low*p.factor < 1 }

// SparedFor is how much longer the wet film may be below the minimum use
// temperature before it is lost, s: 0 when it is lost, +Inf when cold does not
// spoil it (the sheet's glue only pauses, or has set).
func (p *Progress) SparedFor() float64 {
	switch {
	case p.isLost():
		return 0
	case p.sheet.BelowMin != Lost || !p.wet():
		return math.Inf(1)
	}
	return math.Max(0, p.sheet.grace()-p.coldFor)
}

// LikelyWet reports whether the film is expected to be wet still. Between that and
// the low bound, by which a film is called lost, lies a film that has likely set.
func (p *Progress) LikelyWet() bool { return p.earned.Expected*p.factor < 1 }

// IfWarmed is how long the clamped progress would take to reach 1 if the glue
// line were at warmC from now on, s; +Inf when the film is lost.
func (p *Progress) IfWarmed(warmC float64) Band { return p.Remaining(Steady(Exactly(warmC))) }

func (p *Progress) isLost() bool { return !math.IsNaN(p.lostAt) }

// Skip says that nothing is known between the last Add and t, during which the
// glue line was no colder than coldestC. What was earned is that of coldestC;
// the high bound takes the warmest of the last 24 hours. Nothing is earned
// under clamp.
func (p *Progress) Skip(t, coldestC float64) { p.Bridge(t, coldestC, false) }

// Bridge is Skip for a gap of which it is known whether the vacuum stayed at or
// above the floor: a sealed bag that is above it afterwards, with nothing that
// could have pumped it, was above it throughout.
func (p *Progress) Bridge(t, coldestC float64, clamped bool) {
	if !p.started || !(t > p.t) || math.IsNaN(coldestC) {
		return
	}
	c := Band{coldestC, coldestC, coldestC}
	if _, warmest, ok := p.recent.bounds(); ok {
		c.High = math.Max(coldestC, warmest)
	}
	dt, rate := t-p.t, p.rateBand(c)
	if coldestC < p.min && dt > p.sheet.grace() && p.sheet.BelowMin == Lost && p.wet() {
		p.suspect = true
	}
	p.c, p.rate = c, rate // level across the gap: never a line drawn through it
	p.earn(dt, c, rate, clamped)
	p.t, p.guessed, p.clamped = t, true, clamped
}

// State returns what has been earned up to the last Add.
func (p *Progress) State() State {
	return State{
		Earned:     p.earned.share(),
		Clamped:    p.clampEarned.share(),
		TooCold:    p.tooCold,
		Lost:       p.isLost(),
		MayBeLost:  p.suspect && !p.isLost(),
		LostAt:     p.lostAt,
		ColdFor:    p.coldFor,
		StopsShort: p.sheet.StopsShort(p.c.Expected),
		Guessed:    p.guessed,
	}
}

// share is the band of a sum, none of it above 1.
func (b Band) share() Band {
	return Band{math.Min(b.Low, 1), math.Min(b.Expected, 1), math.Min(b.High, 1)}
}
