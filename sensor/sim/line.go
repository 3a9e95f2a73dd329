package sim

// line is the hose with the part on it.
type line struct {
	shut   bool // a pinch parts it from the bag
	pa, kT float64
}

// reads is the pressure where the part is.
func (l *line) reads(bag float64) float64 {
	if l.shut {
		return l.pa
	}
	return bag
}

// pumped runs the pump for dt seconds on the bag at pressure p, or on what a
// pinch leaves of it, and returns the share of the gas that is left in the bag.
func (b *Bag) pumped(dt, p float64) float64 {
	l, kelvin := &b.line, b.weather.air+zeroC
	shut, pumpShut := false, false
	for _, pinch := range b.cfg.Scenario.Pinches {
		if within(b.at, pinch.From, pinch.To) {
			shut, pumpShut = shut || !pinch.AtPump, pumpShut || pinch.AtPump
		}
	}
	if shut && !l.shut {
		l.pa, l.kT = p, kelvin
	}
	if l.shut = shut; shut {
		l.pa *= kelvin / l.kT
		l.kT = kelvin
	}
	switch {
	case pumpShut:
		b.pump.advance(b.at, dt, b.cfg.Pump.UltimatePa, b.weather.ambient, b.volume)
	case shut:
		l.pa *= b.pump.advance(b.at, dt, l.pa, b.weather.ambient, b.cfg.Bag.LineL/1000)
	default:
		return b.pump.advance(b.at, dt, p, b.weather.ambient, b.volume)
	}
	return 1
}
