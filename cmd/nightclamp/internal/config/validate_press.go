package config

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
)

// A part that is read more often than this only repeats itself; less often, a
// bag that opens is lost before it is seen.
const (
	leastInterval = 20 * time.Millisecond
	mostInterval  = time.Minute
)

// A film on a metal plate follows within a minute; a stack that takes longer than
// two days would not be warm before it is done.
const (
	leastLag = time.Minute
	mostLag  = 48 * time.Hour
)

func (f *faults) presses(c *Config, drivers Drivers) {
	names := map[string]bool{}
	for i := range c.Presses {
		p, at := &c.Presses[i], fmt.Sprintf("press[%d]", i)
		f.name(at+".name", p.Name)
		if p.Name == alert.BoardName {
			f.at(at+".name", "no press can be named %q: alerts and subjects of that name are the board's own; give the press another, such as bench1", p.Name)
		}
		if names[p.Name] {
			f.at(at+".name", "two presses are named %q; give one another name", p.Name)
		}
		names[p.Name] = true
		f.between(at+".interval", p.Interval, leastInterval, mostInterval)
		f.between(at+".lag", p.Lag, leastLag, mostLag)
		f.litres(at+".free_volume_l", p.FreeVolumeL, 0.05, 5000)
		f.litres(at+".stroke_l", p.StrokeL, 0.01, 50)
		if f.doc.has(at + ".floor") {
			f.floor(at+".floor", p.Floor, c)
		}
		if f.doc.has(at + ".glue") {
			f.glue(at+".glue", p.Glue, c)
		}
		f.sensors(at, p, drivers)
		f.pump(at, p, c)
	}
}

// litres checks a volume that may be left out.
func (f *faults) litres(path string, v, low, high float64) {
	if v != 0 && !(v >= low && v <= high) {
		f.at(path, "%s %g: give litres, %g to %g, or 0 when it is not known", path, v, low, high)
	}
}

// glue checks that the datasheet is there and can be read.
func (f *faults) glue(path, name string, c *Config) {
	if name == "" {
		return
	}
	if _, _, err := datasheets.Load(c.Glue(name)); err != nil {
		f.at(path, "glue %q: %v", name, err)
	}
}

func (f *faults) sensors(at string, p *Press, drivers Drivers) {
	names := map[string]bool{}
	for i, s := range p.Sensors {
		path := fmt.Sprintf("%s.sensor[%d]", at, i)
		if names[s.Name] {
			f.at(path+".name", "two sensors of %s are named %q; give one another name", p.Name, s.Name)
		}
		names[s.Name] = true
		if f.words(path, p.Tables[i]) && drivers != nil {
			f.driver(path, s, drivers)
		}
	}
}

// words checks the two keys that every sensor has.
func (f *faults) words(path string, t map[string]any) bool {
	switch driver := t["driver"].(type) {
	case string:
	case nil:
		f.at(path, `a sensor without driver = "…"; nightclamp sensor list names the drivers`)
		return false
	default:
		f.at(path+".driver", "driver: write the driver's name in quotes (found %v)", driver)
		return false
	}
	switch name := t["name"].(type) {
	case nil:
	case string:
		f.name(path+".name", name)
	default:
		f.at(path+".name", "name: write the sensor's name in quotes (found %v)", name)
	}
	return true
}

func (f *faults) driver(path string, s Sensor, drivers Drivers) {
	known := drivers.Names()
	if !slices.Contains(known, s.Driver) {
		hint := ""
		if near, ok := cure.Nearest(s.Driver, known); ok {
			hint = fmt.Sprintf("did you mean %q? ", near)
		}
		f.at(path+".driver", "unknown driver %q; %sknown are %s", s.Driver, hint, strings.Join(known, ", "))
		return
	}
	for _, err := range leaves(drivers.Check(s.Driver, s.Keys)) {
		where := path
		var about interface{ Key() string }
		if errors.As(err, &about) {
			where = join(path, about.Key())
		}
		f.at(where, "%v", err)
	}
}

// leaves takes joined errors apart.
func leaves(err error) []error {
	if err == nil {
		return nil
	}
	joined, ok := err.(interface{ Unwrap() []error }) //nolint:errorlint // one layer at a time
	if !ok {
		return []error{err}
	}
	var all []error
	for _, e := range joined.Unwrap() {
		all = append(all, leaves(e)...)
	}
	return all
}
