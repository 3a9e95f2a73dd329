package press

import (
	"math"

	"github.com/nightclamp/nightclamp/cure"
)

// assembly counts down from the first glue: the stack must be under vacuum
// before its assembly time runs out. The first glue line is the oldest, and its
// faces come together with the next ply, so it is the closed time that runs.
type assembly struct {
	running bool
	waiting *cure.Waiting
	now     cure.Wait
	start   float64
	closed  bool // the sheet gives a closed time; else the open one runs
	short   bool
	over    bool
}

func newAssembly(s *cure.Sheet, t float64) assembly {
	a := assembly{running: true, start: t}
	if s != nil {
		a.waiting = cure.NewWaiting(s)
		a.closed = len(s.ClosedAssembly) > 0
	}
	return a
}

// follow counts the time up to t, at the glue's temperature.
func (a *assembly) follow(t, glueC float64) {
	if a.waiting == nil {
		return
	}
	phase := cure.Open
	if a.closed {
		phase = cure.Closed
	}
	a.waiting.Add(t, glueC, phase)
	a.now = a.waiting.State()
}

// limit is the t by which the stack must be under vacuum, NaN when unknown.
func (a *assembly) limit(t float64) float64 {
	if a.waiting == nil || !a.now.Known || math.IsInf(a.now.LeftS, 1) {
		return math.NaN()
	}
	return t + a.now.LeftS
}

// opens is the t at which the open time would end were all faces still apart.
func (a *assembly) opens() float64 {
	if a.waiting == nil {
		return math.NaN()
	}
	return a.start + a.now.OpenS
}

func (r *Run) watchAssembly() {
	a, t := &r.assembly, r.clock.t
	if !a.running {
		return
	}
	a.follow(t, r.glueTemperature())
	if r.vac.n > 0 && r.vac.value >= r.floor/2 {
		a.running = false // clamped: the glue has no assembly time to lose any more
		return
	}
	limit := r.clock.wall(a.limit(t))
	switch {
	case a.now.Over && !a.over:
		a.over = true
		r.emit(Event{Kind: AssemblyOver, Limit: limit})
	case a.now.Short && !a.short && !a.over:
		a.short = true
		r.emit(Event{Kind: AssemblyShort, Limit: limit})
	}
}
