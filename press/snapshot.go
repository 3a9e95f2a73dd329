package press

import (
	"math"
	"slices"

	"github.com/nightclamp/nightclamp/cure"
)

// Status tells all that is known now.
func (r *Run) Status() Status {
	s := Status{
		Schema: Schema, Time: r.clock.now, Site: r.cfg.Site, Press: r.cfg.Press,
		Run: r.id, Work: r.cfg.Work, Stage: r.stage, Verdict: r.verdict,
		VacuumPa: Num(r.amb.value - r.bag.value), BagPa: Num(r.bag.value), AmbientPa: Num(r.amb.value),
		FloorPa: Num(r.floor), GluelineC: Num(r.glueTemperature()), AirC: Num(r.air.value),
		MinUseC: Unknown(), TopUps: r.hold.topUps, Samples: r.samples,
		Conditions:      slices.Clone(r.held.set),
		Progress:        unknownBand(),
		ClampedProgress: unknownBand(),
		LeakRate:        unknownBand(),
		MarginS:         unknownBand(),
		HoldChance:      Unknown(), UnclampedShare: Unknown(), UnclampedFrom: Unknown(),
		GluelineFrom: string(r.glueNow.From),
	}
	if r.stage != Idle {
		s.Started, s.StageAt = r.clock.wall(r.started), r.clock.wall(r.stageAt)
	}
	r.tellAir(&s)
	r.tellAssembly(&s)
	r.tellLeak(&s)
	r.tellCure(&s)
	r.tellMargin(&s)
	r.tellWarming(&s)
	r.tellBag(&s)
	r.tellDrop(&s)
	if r.hose.blocked {
		s.LineReason = r.hose.reason
	}
	s.Sentence = words{st: s, d: r.cfg.Display, elapsed: r.cfg.Elapsed}.sentence()
	return s
}

func unknownBand() Band { return Band{Unknown(), Unknown(), Unknown()} }

func bandOf(b cure.Band) Band { return Band{Num(b.Low), Num(b.Expected), Num(b.High)} }

func (r *Run) tellAssembly(s *Status) {
	a := &r.assembly
	if !a.running || (r.stage != Layup && r.stage != Pulldown) {
		return
	}
	s.OpenLimit = r.clock.wall(a.opens())
	if a.closed {
		s.ClosedLimit = r.clock.wall(a.limit(r.clock.t))
	}
}

func (r *Run) tellLeak(s *Status) {
	h := r.hold
	s.Settled, s.Leaking = h.settled, h.leaking
	if h.leaking {
		s.LeakOnset = r.clock.wall(h.est.Onset)
	}
	if h.est.Known {
		s.LeakRate = Band{Num(h.est.Low), Num(h.est.Rate), Num(h.est.High)}
	}
}

func (r *Run) tellCure(s *Status) {
	c := r.cure
	if !c.chosen() {
		return
	}
	s.Glue, s.MinUseC = c.sheet.Name, Num(c.sheet.MinUseC)
	st := c.progress.State()
	s.Progress, s.ClampedProgress, s.Lost = bandOf(st.Earned), bandOf(st.Clamped), st.Lost
	s.UnclampedShare, s.UnclampedFrom = Num(st.Earned.Expected-st.Clamped.Expected), Num(c.unclampedFrom)
}

// tellMargin turns the newest forecast into moments. It was made up to a minute
// ago, so it is told from then.
func (r *Run) tellMargin(s *Status) {
	m := r.margin
	if !m.known || r.stage != Hold {
		return
	}
	at := func(ahead float64) float64 { return m.forecastT + ahead }
	s.FloorAt = Span{
		Early:    r.clock.wall(at(m.floor.Early)),
		Expected: r.clock.wall(at(m.floor.Expected)),
		Late:     r.clock.wall(at(m.floor.Late)),
	}
	if !r.cure.chosen() {
		return
	}
	s.PressTimeAt = Span{
		Early:    r.clock.wall(at(m.press.early)),
		Expected: r.clock.wall(at(m.press.expected)),
		Late:     r.clock.wall(at(m.press.late)),
	}
	if !math.IsNaN(r.cure.earlyT) {
		s.PressTimeAt.Early = r.clock.wall(r.cure.earlyT)
	}
	if !math.IsNaN(r.cure.lateT) {
		s.PressTimeAt.Late = r.clock.wall(r.cure.lateT)
	}
	if r.cure.done {
		s.PressTimeAt.Expected = r.clock.wall(r.cure.doneT)
		return
	}
	s.MarginS = Band{finite(m.low()), finite(m.expected()), finite(m.high())}
	ahead := m.outlook
	s.HoldChance, s.TopUpsEnough = Num(ahead.chance), ahead.enough
	for _, by := range ahead.topUps {
		s.TopUpBy = append(s.TopUpBy, r.clock.wall(at(by)))
	}
}

// tellDrop tells the drop test, if there was one.
func (r *Run) tellDrop(s *Status) {
	if !r.drop.any {
		return
	}
	t := r.drop.told
	t.Sentence = words{st: *s, d: r.cfg.Display, elapsed: r.cfg.Elapsed}.dropSentence(t)
	s.DropTest = &t
}

// finite turns never into unknown.
func finite(v float64) Num {
	if math.IsInf(v, 0) {
		return Unknown()
	}
	return Num(v)
}
