// Package drivers is the table of all parts that can be read.
//
// To add a part, copy the folder of one that resembles it (sensor/mpr is the
// model), and add one line to [Table]. A driver's package has a Config whose
// fields carry two tags, toml for the option's key and doc for its meaning,
// and a function that opens the part and returns a [sensor.Source].
//
// The daemon asks a driver to [Driver.Configure] a part once, when it reads
// its config, and opens the [Part] that comes of it as often as it must.
package drivers

import (
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
)

// Env is what a driver may need from its surroundings.
type Env struct {
	// Now tells the time; nil means [time.Now].
	Now func() time.Time
}

// Driver is one kind of part.
type Driver struct {
	Name    string
	Summary string            // one line
	Reads   []sensor.Quantity // what it can read; a configured part may read less
	Options []Option          // what can be set
	// Configure checks the options and returns the part they describe, without
	// touching any hardware. A key that is not known is an [*OptionError].
	Configure func(Env, Options) (Part, error)
}

// New configures a part and opens it.
func (d Driver) New(env Env, o Options) (sensor.Source, error) {
	part, err := d.Configure(env, o)
	if err != nil {
		return nil, err
	}
	return part.Open()
}

// Part is a part that is configured but not open.
type Part struct {
	Driver string
	Reads  []sensor.Quantity
	// Every is how often reading it makes sense; zero: as often as samples are
	// wanted.
	Every time.Duration
	// Timeout is how long one reading may take at most.
	Timeout time.Duration
	Open    func() (sensor.Source, error)
}

// Table returns all drivers, sorted by name.
func Table() []Driver {
	return []Driver{
		define("csv", "a recorded file, played as if it were a part", all, 0, csvfile.Config{Speed: 1, StationPa: csvfile.StandardAtmosphere}, openCSV),
		simulated(),
	}
}

// Find returns the driver of that name.
func Find(name string) (Driver, error) {
	var names []string
	for _, d := range Table() {
		if d.Name == name {
			return d, nil
		}
		names = append(names, d.Name)
	}
	return Driver{}, fmt.Errorf("there is no driver %q: %s", name, suggest(name, names))
}

const defaultTimeout = 2 * time.Second

var all = sensor.Quantities() //nolint:gochecknoglobals // a constant

// checker is a Config that knows what it cannot be.
type checker interface{ Check() error }

// reader is a Config that decides what its part reads.
type reader interface{ Reads() []sensor.Quantity }

// define makes a driver of a Config with its defaults and a function that
// opens the part.
func define[C any](name, summary string, reads []sensor.Quantity, every time.Duration, defaults C, open func(Env, C) (sensor.Source, error)) Driver {
	return Driver{
		Name: name, Summary: summary, Reads: reads, Options: describe(defaults),
		Configure: func(env Env, o Options) (Part, error) {
			if env.Now == nil {
				env.Now = time.Now
			}
			cfg := defaults
			if err := o.decode(&cfg); err != nil {
				return Part{}, err
			}
			if c, ok := any(cfg).(checker); ok {
				if err := c.Check(); err != nil {
					return Part{}, err
				}
			}
			part := Part{Driver: name, Reads: reads, Every: every, Timeout: max(defaultTimeout, 2*every)}
			if r, ok := any(cfg).(reader); ok {
				part.Reads = r.Reads()
			}
			part.Open = func() (sensor.Source, error) { return open(env, cfg) }
			return part, nil
		},
	}
}

func openCSV(env Env, c csvfile.Config) (sensor.Source, error) { return csvfile.Open(c, env.Now) }
