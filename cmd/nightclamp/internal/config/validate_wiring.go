package config

import (
	"fmt"
	"slices"

	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

// parts is a table of drivers that also tells what a sensor takes of the
// machine; what is no such table leaves the wiring unchecked.
type parts interface {
	Part(driver string, keys map[string]any) (drivers.Part, error)
}

// Part configures a part, which touches no hardware.
func (builtIn) Part(driver string, keys map[string]any) (drivers.Part, error) {
	d, err := drivers.Find(driver)
	if err != nil {
		return drivers.Part{}, err
	}
	return d.Configure(drivers.Env{}, drivers.Options(keys))
}

// wired is a sensor with what it takes.
type wired struct {
	press  string
	at     string // its path in the file
	sensor Sensor
	part   drivers.Part
}

// name is how a fault calls the sensor.
func (w *wired) name() string { return fmt.Sprintf("sensor %s of %s", w.sensor.Name, w.press) }

// room reports whether the part only tells of the room, which several presses
// may share.
func (w *wired) room() bool {
	return !slices.Contains(w.part.Reads, sensor.Bag) && !slices.Contains(w.part.Reads, sensor.GlueLine)
}

// wiring checks that no two sensors, of any press, take the same of the machine,
// and notes where a part sees less than a bag may have.
func (f *faults) wiring(c *Config, table Drivers) {
	known, ok := table.(parts)
	if !ok {
		return
	}
	var all []*wired
	for i := range c.Presses {
		p := &c.Presses[i]
		for k, s := range p.Sensors {
			part, err := known.Part(s.Driver, s.Keys)
			if err != nil { // it has been reported
				continue
			}
			w := &wired{press: p.Name, at: fmt.Sprintf("press[%d].sensor[%d]", i, k), sensor: s, part: part}
			f.span(c, w, p.Floor)
			for _, other := range all {
				f.apart(c, other, w)
			}
			all = append(all, w)
		}
	}
}

// apart notes what two sensors both take. One part that only tells of the room
// may serve several presses, so long as each reads it in the same way.
func (f *faults) apart(c *Config, first, second *wired) {
	if first.press != second.press && first.part.Driver == second.part.Driver && first.room() && second.room() {
		return
	}
	for _, b := range second.part.Claims {
		for _, a := range first.part.Claims {
			path := join(second.at, b.Key)
			switch {
			case a.Clashes(b):
				f.at(path, "%s and %s (%s) both take %s; %s", second.name(), first.name(), first.sensor.Where, b, b.Remedy())
				return
			case a.MayClash(b):
				c.doubt(f, join(second.at, "bus"), "%s and %s (%s) are at one address: name the bus in both, because the first bus and bus %s may be the same",
					second.name(), first.name(), first.sensor.Where, a.Bus+b.Bus)
				return
			}
		}
	}
}

// span holds the range of a pressure part against the floor and the room.
func (f *faults) span(c *Config, w *wired, floor units.Pressure) {
	if w.part.Span == nil {
		return
	}
	if deepest := -w.part.Span.Low; w.part.Span.Gauge && deepest < floor.Pa() {
		f.at(join(w.at, w.part.Span.LowKey), "%s sees a vacuum of at most %s, and the floor of %s is %s: the bag would never be above it; lower the floor, or take a part that measures further down",
			w.name(), units.Pressure(deepest), w.press, floor)
		return
	}
	if key, doubt := w.part.Span.Doubt(c.room().Pa()); doubt != "" {
		c.doubt(f, join(w.at, key), "%s: %s", w.name(), doubt)
	}
}

// doubt notes a warning about the key with this path.
func (c *Config) doubt(f *faults, path, format string, args ...any) {
	fault := Fault{File: f.file, Line: f.doc.line(path), Text: fmt.Sprintf(format, args...)}
	c.doubts = append(c.doubts, fault.Error())
}
