package sim

import (
	"math"
	"time"
)

// leakFlow is a leak made ready: its flow at the standard room, mol/s.
type leakFlow struct {
	Leak
	choked float64 // mol/s
	creep  float64 // mol/s in a second
}

func newLeaks(leaks []Leak, volume float64) []leakFlow {
	perPascal := volume / (gasConstant * standardRoomK)
	flows := make([]leakFlow, len(leaks))
	for i, l := range leaks {
		f := leakFlow{Leak: l, choked: l.PaPerH / 3600 * perPascal, creep: l.CreepPaPerH2 / 3600 / 3600 * perPascal}
		if l.HoleUm > 0 {
			f.choked = ChokedFlow(l.HoleUm*1e-6, standardRoomPa, standardRoomK) / molarMassAir
		}
		flows[i] = f
	}
	return flows
}

// flow is what comes in at time at, mol/s. rootT is the square root of
// standardRoomK over the room's temperature, K.
func (f *leakFlow) flow(at time.Duration, bag, ambient, rootT float64) float64 {
	if !within(at, f.From, f.To) {
		return 0
	}
	flow := max(f.choked+f.creep*(at-f.From).Seconds(), 0)
	scale := ambient / standardRoomPa
	if f.Seam {
		return flow * scale * scale * seamShare(bag/ambient)
	}
	return flow * scale * rootT * FlowShare(bag/ambient)
}

// pumping is the state of the pump.
type pumping struct {
	cfg     Pump
	runs    []PumpRun
	reached []bool // of each run: the vacuum is there
	driven  bool
	on      bool
	stroke  float64 // how much of the next stroke is made, 0..1
}

// advance runs the pump for dt seconds and returns the share of the gas that
// is left in the bag.
func (p *pumping) advance(at time.Duration, dt, bag, ambient, volume float64) float64 {
	p.on = p.wanted(at, ambient-bag)
	if !p.on {
		p.stroke = 0
		return 1
	}
	if bag <= p.cfg.UltimatePa || bag <= 0 {
		return 1
	}
	if p.cfg.StrokeL <= 0 {
		// The pump slows down towards its ultimate pressure.
		speed := p.cfg.SpeedLPerMin / 60000 * (1 - p.cfg.UltimatePa/bag)
		return math.Exp(-speed * dt / volume)
	}
	kept := 1.0
	for p.stroke += dt * p.cfg.StrokesPerMin / 60; p.stroke >= 1-1e-9; p.stroke-- {
		kept *= volume / (volume + p.cfg.StrokeL/1000)
	}
	return max(kept, min(p.cfg.UltimatePa/bag, 1))
}

func (p *pumping) wanted(at time.Duration, vacuum float64) bool {
	wanted := p.driven
	for i, r := range p.runs {
		if !within(at, r.From, r.To) {
			continue
		}
		switch {
		case r.ToVacuumPa > 0 && vacuum >= r.ToVacuumPa:
			p.reached[i] = true
		case r.OnBelowPa > 0 && vacuum < r.OnBelowPa:
			p.reached[i] = false
		}
		wanted = wanted || !p.reached[i]
	}
	return wanted
}
