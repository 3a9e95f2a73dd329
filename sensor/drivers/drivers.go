// Package drivers is the table of all parts that can be read.
//
// To add a part, copy the folder of one that resembles it (sensor/mpr is the
// model), and add one line to [Table]. A driver's package has a Config whose
// fields carry two tags, toml for the option's key and doc for its meaning,
// and a function that opens the part and returns a [sensor.Source]. The folder's
// README.md is the page for the person who wires the part; the Config's method
// Page returns it.
//
// The daemon asks a driver to [Driver.Configure] a part once, when it reads
// its config, and opens the [Part] that comes of it as often as it must.
package drivers

import (
	"context"
	"fmt"
	"reflect"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/abp2"
	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bme280"
	"github.com/nightclamp/nightclamp/sensor/bmp388"
	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
	"github.com/nightclamp/nightclamp/sensor/currentloop"
	"github.com/nightclamp/nightclamp/sensor/ds18b20"
	"github.com/nightclamp/nightclamp/sensor/hsc"
	"github.com/nightclamp/nightclamp/sensor/hwmon"
	"github.com/nightclamp/nightclamp/sensor/iio"
	"github.com/nightclamp/nightclamp/sensor/lps22"
	"github.com/nightclamp/nightclamp/sensor/mcp9808"
	"github.com/nightclamp/nightclamp/sensor/mpr"
	"github.com/nightclamp/nightclamp/sensor/ms5803"
	"github.com/nightclamp/nightclamp/sensor/natssource"
	"github.com/nightclamp/nightclamp/sensor/serialport"
	"github.com/nightclamp/nightclamp/sensor/sht4x"
	"github.com/nightclamp/nightclamp/sensor/thermistor"
)

// Env is what a driver may need from its surroundings.
type Env struct {
	// Now tells the time; nil means [time.Now].
	Now func() time.Time
	// Host has the I²C buses; nil means the machine's, looked for when one is
	// first opened.
	Host *bus.Host
}

// Driver is one kind of part.
type Driver struct {
	Name    string
	Summary string            // one line
	Reads   []sensor.Quantity // what it can read; a configured part may read less
	Options []Option          // what can be set
	Page    string            // Markdown for the person who wires it: the README.md of its folder
	// Configure checks the options and returns the part they describe, without
	// touching any hardware. A key that is not known is an [*OptionError].
	Configure func(Env, Options) (Part, error)
	// decode lays options over the defaults and returns the driver's Config.
	decode func(Options) (any, error)
}

// New configures a part and opens it.
func (d Driver) New(ctx context.Context, env Env, o Options) (sensor.Source, error) {
	part, err := d.Configure(env, o)
	if err != nil {
		return nil, err
	}
	return part.Open(ctx)
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
	// Span is the range of a pressure part that has one in its options; nil: it
	// has none.
	Span *sensor.Span
	// Claims are what the part takes of the machine.
	Claims []Claim
	Open   func(context.Context) (sensor.Source, error)
}

// Table returns all drivers, sorted by name.
func Table() []Driver {
	return []Driver{
		define("abp2", "a pressure part of the ABP2 series", pressureAndTemperature, 0, abp2.Defaults(), opens(openABP2)),
		define("ads1115", "an analogue pressure part on an ADS1115 converter", justBag, 0, ads1115.Defaults(), opens(openADS1115)),
		define("bme280", "room pressure, temperature and humidity from a BME280, or a BMP280 without the last", roomAndHumidity, time.Second, bme280.Defaults(), opens(openBME280)),
		define("bmp388", "room pressure and temperature from a BMP388 or BMP390", room, time.Second, bmp388.Defaults(), opens(openBMP388)),
		define("csv", "a recorded file, played as if it were a part", all, 0, csvfile.Defaults(), opens(openCSV)),
		define("currentloop", "a pressure transmitter of 4 to 20 mA on an ADS1115 converter", justBag, 0, currentloop.Defaults(), opens(openCurrentLoop)),
		define("ds18b20", "a DS18B20 thermometer on the kernel's 1-wire bus", temperatures, time.Second, ds18b20.Defaults(), opens(openDS18B20)),
		define("hsc", "a pressure part of the HSC or SSC series", pressureAndTemperature, 0, hsc.Defaults(), opens(openHSC)),
		define("hwmon", "a thermometer or hygrometer that the kernel drives, through hwmon", temperatureAndHumidity, time.Second, hwmon.Defaults(), opens(openHwmon)),
		define("iio", "a pressure, temperature or humidity part that the kernel drives, through IIO", all, 0, iio.Defaults(), opens(openIIO)),
		define("lps22", "room pressure and temperature from an LPS22HB or LPS22HH", room, time.Second, lps22.Defaults(), opens(openLPS22)),
		define("mcp9808", "an MCP9808 thermometer", temperatures, time.Second, mcp9808.Defaults(), opens(openMCP9808)),
		define("mpr", "an absolute pressure part of the MPR family", justBag, 0, mpr.Defaults(), opens(openMPR)),
		define("ms5803", "an absolute pressure part of the MS5803, MS5611 or MS5837 family", pressuresAndTemperature, 0, ms5803.Defaults(), opens(openMS5803)),
		define("nats", "a wireless or remote sensor that publishes lines over NATS, or MQTT through it", all, 0, natssource.Defaults(), opens(openNATS)),
		define("serial", "lines of a microcontroller or anything that prints, over a serial port", all, 0, serialport.Defaults(), opens(openSerial)),
		define("sht4x", "an SHT40, SHT41 or SHT45 thermometer and hygrometer", temperatureAndHumidity, time.Second, sht4x.Defaults(), opens(openSHT4x)),
		simulated(),
		define("thermistor", "a thermistor on an ADS1115 converter", temperatures, time.Second, thermistor.Defaults(), opens(openThermistor)),
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

var (
	all     = sensor.Quantities()           //nolint:gochecknoglobals // a constant
	justBag = []sensor.Quantity{sensor.Bag} //nolint:gochecknoglobals // a constant

	room                    = []sensor.Quantity{sensor.Ambient, sensor.Air}                              //nolint:gochecknoglobals // a constant
	roomAndHumidity         = []sensor.Quantity{sensor.Ambient, sensor.Air, sensor.Humidity}             //nolint:gochecknoglobals // a constant
	temperatures            = []sensor.Quantity{sensor.GlueLine, sensor.Air}                             //nolint:gochecknoglobals // a constant
	temperatureAndHumidity  = []sensor.Quantity{sensor.GlueLine, sensor.Air, sensor.Humidity}            //nolint:gochecknoglobals // a constant
	pressureAndTemperature  = []sensor.Quantity{sensor.Bag, sensor.GlueLine, sensor.Air}                 //nolint:gochecknoglobals // a constant
	pressuresAndTemperature = []sensor.Quantity{sensor.Bag, sensor.Ambient, sensor.GlueLine, sensor.Air} //nolint:gochecknoglobals // a constant
)

// checker is a Config that knows what it cannot be.
type checker interface{ Check() error }

// reader is a Config that decides what its part reads.
type reader interface{ Reads() []sensor.Quantity }

// spanned is a Config of a pressure part whose range can be set.
type spanned interface{ Span() sensor.Span }

// pacer is a Config that knows how often its part gives something, and how
// long that may take.
type pacer interface {
	Every() time.Duration
	Timeout() time.Duration
}

// documented is a Config with a page for the person who wires the part.
type documented interface{ Page() string }

// opener opens the part that a driver's Config describes.
type opener func(ctx context.Context, env Env, cfg any) (sensor.Source, error)

// opens is the opener of a function that wants its driver's own Config.
func opens[C any](open func(context.Context, Env, C) (sensor.Source, error)) opener {
	return func(ctx context.Context, env Env, cfg any) (sensor.Source, error) {
		return open(ctx, env, cfg.(C)) //nolint:errcheck // decode made it of the defaults
	}
}

// define makes a driver of a Config with its defaults and what opens the part.
// The Config's type is known to opens alone: what is generic is in the program
// once for each driver.
func define(name, summary string, reads []sensor.Quantity, every time.Duration, defaults documented, open opener) Driver {
	s := &settings{name: name, reads: reads, every: every, defaults: defaults, open: open}
	return Driver{
		Name: name, Summary: summary, Reads: reads, Options: describe(defaults), Page: defaults.Page(),
		Configure: s.configure, decode: s.decode,
	}
}

// settings is what a driver makes a part of.
type settings struct {
	name     string
	reads    []sensor.Quantity
	every    time.Duration
	defaults documented
	open     opener
}

// decode lays the options over a copy of the defaults.
func (s *settings) decode(o Options) (any, error) {
	cfg := reflect.New(reflect.TypeOf(s.defaults))
	cfg.Elem().Set(reflect.ValueOf(s.defaults))
	err := o.decode(cfg.Interface())
	return cfg.Elem().Interface(), err
}

func (s *settings) configure(env Env, o Options) (Part, error) {
	if env.Now == nil {
		env.Now = time.Now
	}
	if env.Host == nil {
		env.Host = bus.New()
	}
	cfg, err := s.decode(o)
	if err != nil {
		return Part{}, err
	}
	if c, ok := cfg.(checker); ok {
		if err := c.Check(); err != nil {
			return Part{}, err
		}
	}
	part := Part{Driver: s.name, Reads: s.reads, Every: s.every, Timeout: max(defaultTimeout, 2*s.every), Claims: claims(cfg)}
	if err := address(s.name, part.Claims); err != nil {
		return Part{}, err
	}
	if c, ok := cfg.(spanned); ok {
		span := c.Span()
		part.Span = &span
	}
	if r, ok := cfg.(reader); ok {
		part.Reads = r.Reads()
	}
	if p, ok := cfg.(pacer); ok {
		part.Every, part.Timeout = p.Every(), p.Timeout()
	}
	part.Open = func(ctx context.Context) (sensor.Source, error) { return s.open(ctx, env, cfg) }
	return part, nil
}
