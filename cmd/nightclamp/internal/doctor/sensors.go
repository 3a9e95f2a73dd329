package doctor

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

const sensors = "sensors"

// sensors reads each configured sensor once and looks whether a press has what
// it needs.
func (e *examination) sensors(ctx context.Context) {
	if err := e.cfg.CheckSensors(); err != nil {
		e.add(sensors, Wrong, "no sensor is configured, so there is nothing to watch", "nightclamp sensor scan looks for parts and proposes lines for the config")
		return
	}
	book, err := calibration.Load(e.path(filepath.Join(e.cfg.Data, calibration.File)))
	if err != nil {
		e.add(sensors, Wrong, err.Error(), "nightclamp sensor calibrate list shows it; without it the readings are as the parts give them")
	}
	e.book = book
	for _, p := range e.cfg.Presses {
		barometer := e.needs(p)
		all := sensor.Blank(time.Time{})
		for _, s := range p.Sensors {
			all = all.Merge(e.sensor(ctx, p, s))
		}
		if !barometer {
			e.noBarometer(p, all.Quality.Has(sensor.Gauge))
		}
		e.plausible(p, all)
	}
}

// needs looks at which quantities a press has, and says whether the room's pressure
// is one of them.
func (e *examination) needs(p config.Press) (barometer bool) {
	var reads []sensor.Quantity
	for _, s := range p.Sensors {
		if d, err := drivers.Find(s.Driver); err == nil {
			if part, err := d.Configure(drivers.Env{}, s.Keys); err == nil {
				reads = append(reads, part.Reads...)
			}
		}
	}
	if !slices.Contains(reads, sensor.Bag) {
		e.add(sensors, Wrong, fmt.Sprintf("press %s: no sensor reads the bag's pressure", p.Name), "add one to the config; nightclamp sensor scan proposes lines")
	}
	if !slices.Contains(reads, sensor.GlueLine) {
		what := "no probe at the glue line: its temperature is guessed from the air's"
		if !slices.Contains(reads, sensor.Air) {
			what = "no thermometer at all: nothing can be said about the cure"
		}
		e.add(sensors, Attention, fmt.Sprintf("press %s: %s", p.Name, what), "lay a probe (a DS18B20, say) in the glue joint's margin or in a spare strip of the same lay-up")
	}
	return slices.Contains(reads, sensor.Ambient)
}

// sensor reads one sensor. A serial port has one reader: while the daemon runs,
// its word is taken instead.
func (e *examination) sensor(ctx context.Context, p config.Press, s config.Sensor) sensor.Sample {
	if e.daemon != nil && s.Driver == "serial" {
		e.ok(sensors, "%s of press %s (serial) is read by the daemon; see below", s.Name, p.Name)
		return sensor.Blank(time.Time{})
	}
	sample, err := e.Read(ctx, s)
	if err != nil {
		e.add(sensors, Wrong, fmt.Sprintf("%s of press %s (%s) does not answer: %v", s.Name, p.Name, s.Driver, err), sensorRemedy(s.Driver, err))
		return sensor.Blank(time.Time{})
	}
	sample = e.book.For(p.Name, s.Name).Apply(sample, sample.Air)
	display := e.cfg.Display.Units()
	var says []string
	for _, q := range sensor.Quantities() {
		switch v := q.Of(sample); {
		case math.IsNaN(v):
		case q == sensor.Bag && sample.Quality.Has(sensor.Gauge):
			says = append(says, "vacuum "+display.Pressure(sample.GaugeVacuum()))
		case q == sensor.Humidity:
			says = append(says, fmt.Sprintf("%s %s", q, units.Humidity(v)))
		case q == sensor.GlueLine || q == sensor.Air:
			says = append(says, fmt.Sprintf("%s %s", q, display.Temperature(v)))
		default:
			says = append(says, fmt.Sprintf("%s %s", q, display.Pressure(v)))
		}
	}
	if len(says) == 0 {
		e.add(sensors, Attention, fmt.Sprintf("%s of press %s (%s) answers, and knows nothing yet", s.Name, p.Name, s.Driver), "look again in a minute: nightclamp sensor read --watch")
		return sample
	}
	e.ok(sensors, "%s of press %s (%s) says %s", s.Name, p.Name, s.Driver, strings.Join(says, ", "))
	return sample
}

// sensorRemedy is for errors that bring no remedy of their own: most do.
func sensorRemedy(driver string, err error) string {
	text := err.Error()
	switch {
	case strings.Contains(text, ";") || strings.Contains(text, ": check") || strings.Contains(text, "did you mean"):
		return "do what it says, then: nightclamp sensor read"
	case driver == "nats":
		return "is the sensor awake, charged and in reach, and does it publish on that subject? nats sub or an MQTT client shows what comes; nightclamp sensor list nats says what it must be"
	case driver == "serial":
		return "does it print a line at the pace that every says, and at this baud? nightclamp sensor list serial says what the lines must be"
	}
	return "check supply and ground first, then SDA and SCL not swapped, then the address: nightclamp sensor scan shows what answers"
}

// What a room and an open bag can have. The first are the bounds of
// station_pressure; a bag above the room by more than calibration makes good is
// a part of the wrong kind or range.
const (
	roomLeast = 50e3
	roomMost  = 110e3
	bagAbove  = 5e3
	zeroOff   = 300.0
	stationBy = 5e3
)

// noBarometer says what the press does without one. The figures of the weather are
// those of a year of hourly readings of one station.
func (e *examination) noBarometer(p config.Press, gauge bool) {
	what, remedy := "no barometer: the weather moves the vacuum that is shown by 3 kPa and more", "add a barometer (a BME280, say), or set station_pressure to that of the place"
	station := e.cfg.StationPressure
	switch {
	case gauge && station > 0:
		what = fmt.Sprintf("no barometer beside a gauge part: its vacuum is right, but a room that changes looks like a leak, or hides one (0.04 kPa in a usual hour, up to 0.36); station_pressure %s stands in, and the weather leaves the absolute pressure wrong by up to 3 kPa", station)
		remedy = "add a barometer (a BME280, say)"
	case gauge:
		what = "no barometer beside a gauge part: its vacuum is right, but a room that changes looks like a leak, or hides one (0.04 kPa in a usual hour, up to 0.36); without station_pressure the absolute pressure is wrong by 1.2 kPa for every 100 m above the sea, and what follows from it"
	case station > 0:
		what, remedy = fmt.Sprintf("no barometer, station_pressure %s stands in: the weather is not seen, and moves the vacuum that is shown by up to 3 kPa", station), "add a barometer (a BME280, say)"
	}
	e.add(sensors, Attention, fmt.Sprintf("press %s: %s", p.Name, what), remedy)
}

// plausible looks at the readings of a press together.
func (e *examination) plausible(p config.Press, s sensor.Sample) {
	display := e.cfg.Display.Units()
	room := s.Ambient
	if math.IsNaN(room) || s.Quality.Has(sensor.AmbientAssumed) {
		return
	}
	if room < roomLeast || room > roomMost {
		e.add(sensors, Wrong, fmt.Sprintf("press %s: the barometer says %s, which no workshop has", p.Name, display.Pressure(room)), "is it a barometer at all, and in the room rather than on the bag line?")
		return
	}
	if station := e.cfg.StationPressure.Pa(); station > 0 && math.Abs(station-room) > stationBy {
		e.add(sensors, Attention, fmt.Sprintf("press %s: the barometer says %s, station_pressure %s", p.Name, display.Pressure(room), display.Pressure(station)),
			"station_pressure is the absolute pressure of the place, not reduced to sea level; correct it, or leave it out")
	}
	if s.Quality.Has(sensor.Gauge) {
		return
	}
	switch over := s.Bag - room; {
	case over > bagAbove:
		e.add(sensors, Wrong, fmt.Sprintf("press %s: the bag reads %s above the room", p.Name, display.Pressure(over)), "the part's range or kind (absolute, gauge) in the config is not that of the part: look at its marking")
	case over > zeroOff:
		e.add(sensors, Attention, fmt.Sprintf("press %s: the bag reads %s above the room", p.Name, display.Pressure(over)), "open the line to the room and set its zero: nightclamp sensor calibrate zero")
	}
}
