package press

import (
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// assembly counts down from the first glue: the stack must be under vacuum
// before its assembly time runs out.
type assembly struct {
	running bool
	start   float64
	open    float64 // t at which the open assembly time ends; NaN: the sheet gives none
	closed  float64 // t at which the closed assembly time ends; NaN: the sheet gives none
	short   bool
	over    bool
}

// supposedC is the temperature for which the assembly time is taken when no
// thermometer has answered yet, °C: warm, since warmth shortens it.
const supposedC = 25.0

func newAssembly(s *cure.Sheet, t, glueC float64) assembly {
	a := assembly{running: true, start: t, open: math.NaN(), closed: math.NaN()}
	if s == nil {
		return a
	}
	if math.IsNaN(glueC) {
		glueC = supposedC
	}
	if d, ok := s.Assembly(cure.Open, glueC); ok {
		a.open = t + d.Seconds()
	}
	if d, ok := s.Assembly(cure.Closed, glueC); ok {
		a.closed = t + d.Seconds()
	}
	return a
}

// limit is the t by which the stack must be under vacuum; NaN when unknown.
func (a *assembly) limit() float64 {
	if math.IsNaN(a.closed) {
		return a.open
	}
	return a.closed
}

// shortBefore is how long before the limit, s, the builder is told: a fifth of
// the time, and at least as long as sliding a stack into the bag takes.
func (a *assembly) shortBefore() float64 {
	return math.Max(120, (a.limit()-a.start)/5)
}

func (r *Run) watchAssembly() {
	a, t := &r.assembly, r.clock.t
	if !a.running || math.IsNaN(a.limit()) {
		return
	}
	if r.vac.n > 0 && r.vac.value >= r.floor/2 {
		a.running = false // clamped: the glue has no assembly time to lose any more
		return
	}
	limit := r.clock.wall(a.limit())
	if !a.over && t > a.limit() {
		a.over = true
		r.emit(Event{Kind: AssemblyOver, Limit: limit})
		return
	}
	if !a.short && !a.over && t > a.limit()-a.shortBefore() {
		a.short = true
		r.emit(Event{Kind: AssemblyShort, Limit: limit})
	}
}
