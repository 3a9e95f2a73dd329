package config

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press/pump"
	"github.com/nightclamp/nightclamp/press/units"
)

// What a press of the button can mean.
const (
	MeansAcknowledge = "acknowledge" // every alert of the press
	MeansTopUp       = "top-up"      // somebody pumped, or looked after the pump
	MeansLayup       = "layup"       // glue is being spread from now on
	MeansRelease     = "release"     // the bag is opened
	MeansNothing     = "nothing"
)

// Meanings lists them.
func Meanings() []string {
	return []string{MeansAcknowledge, MeansTopUp, MeansLayup, MeansRelease, MeansNothing}
}

// room is the pressure that the room is taken to have.
func (c *Config) room() units.Pressure {
	if c.StationPressure > 0 {
		return c.StationPressure
	}
	return standardAtmosphere
}

// Control is the pump as its controller is told.
func (p Pump) Control() pump.Config {
	return pump.Config{
		StartBelow: p.StartBelow.Pa(), StopAbove: p.StopAbove.Pa(),
		MinOff: p.MinOff.Std(), MaxRun: p.MaxRun.Std(), MaxStarts: p.MaxStarts,
	}
}

func (p *Pump) fill(doc *document, at string, floor, room units.Pressure) {
	for _, d := range []struct {
		key  string
		into *units.Duration
		is   units.Duration
	}{
		{"min_off", &p.MinOff, units.Duration(pump.DefaultMinOff)},
		{"max_run", &p.MaxRun, units.Duration(pump.DefaultMaxRun)},
	} {
		if !doc.has(at + d.key) {
			*d.into = d.is
		}
	}
	if !doc.has(at + "max_starts") {
		p.MaxStarts = pump.DefaultMaxStarts
	}
	if p.Pin != "" {
		derived := p.Control().Derived(floor.Pa(), room.Pa())
		p.StartBelow, p.StopAbove = units.Pressure(derived.StartBelow), units.Pressure(derived.StopAbove)
	}
}

// pumpPace is how rarely a press with a pump may be sampled at most: each sample
// renews the order that the pump be on.
const pumpPace = 5 * time.Second

func (f *faults) pump(at string, p *Press, c *Config) {
	at += ".pump"
	if p.Pump.Pin == "" {
		if f.doc.has(at+".start_below") || f.doc.has(at+".stop_above") {
			f.at(at, "%s: the pump has no pin; give the one that its relay hangs on, or take the table out", p.Name)
		}
		return
	}
	if p.Interval.Std() > pumpPace {
		f.at(at, "pump of %s: its sensors are read every %s; a pump is switched only where that is %s or less", p.Name, p.Interval, units.Duration(pumpPace))
	}
	for _, d := range []struct {
		key string
		is  units.Duration
	}{{"min_off", p.Pump.MinOff}, {"max_run", p.Pump.MaxRun}} {
		if d.is <= 0 {
			f.at(at+"."+d.key, "%s.%s %s: the pump must rest and must end; leave the key out for a sound value", at, d.key, d.is)
			return
		}
	}
	if p.Pump.MaxStarts < 1 {
		f.at(at+".max_starts", "max_starts is %d: use 1 to 30 an hour", p.Pump.MaxStarts)
		return
	}
	if err := p.Pump.Control().Check(p.Floor.Pa(), c.room().Pa()); err != nil {
		f.at(at, "pump of %s: %v", p.Name, err)
	}
}

// pins checks the button, and that no pin is used twice.
func (f *faults) pins(c *Config) {
	used := map[string]string{}
	use := func(pin, path string) {
		if pin == "" {
			return
		}
		if first := used[pin]; first != "" {
			f.at(path, "%s and %s are both on pin %s; give one of them another", first, path, pin)
		}
		used[pin] = path
	}
	use(c.Pins.Lamp, "pins.lamp")
	use(c.Pins.Buzzer, "pins.buzzer")
	use(c.Pins.Button, "pins.button")
	for i := range c.Presses {
		use(c.Presses[i].Pump.Pin, fmt.Sprintf("press[%d].pump.pin", i))
	}
	for key, meaning := range map[string]string{"short": c.Pins.Short, "double": c.Pins.Double, "long": c.Pins.Long} {
		if !slices.Contains(Meanings(), meaning) {
			f.at("pins."+key, "pins.%s %q is not known; use %s", key, meaning, strings.Join(Meanings(), ", "))
		}
	}
	named := slices.ContainsFunc(c.Presses, func(p Press) bool { return p.Name == c.Pins.Press })
	switch {
	case c.Pins.Press != "" && !named:
		f.at("pins.press", "pins.press %q: there is no such press", c.Pins.Press)
	case c.Pins.Button != "" && c.Pins.Press == "" && len(c.Presses) > 1:
		f.at("pins.button", "which press is the button for? Name it with press = in [pins]")
	}
}
