package iio

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sysfs"
)

// Config says which device it is and what its channels mean here.
type Config struct {
	Device      string `toml:"device" doc:"the device's name, as bme280 or iio:device0; not needed when only one fits"`
	Pressure    string `toml:"pressure" doc:"what its pressure is: bag, ambient or none"`
	Temperature string `toml:"temperature" doc:"what its temperature is: glueline, air or none"`
	Humid       bool   `toml:"humidity" doc:"its humidity is that of the room's air"`
	Reference   string `toml:"reference" doc:"of a bag pressure: absolute, or gauge (against the room)"`
	Dir         string `toml:"dir" doc:"where the kernel shows its devices"`
}

// none is a channel that is not used.
const none = "none"

// Defaults is a barometer in the room.
func Defaults() Config {
	return Config{Pressure: "ambient", Temperature: none, Reference: "absolute", Dir: "/sys/bus/iio/devices"}
}

// Check refuses meanings that a channel cannot have.
func (c Config) Check() error {
	switch {
	case !slices.Contains([]string{"bag", "ambient", none}, c.Pressure):
		return fmt.Errorf("pressure is %q: give bag, ambient or none", c.Pressure)
	case !slices.Contains([]string{"glueline", "air", none}, c.Temperature):
		return fmt.Errorf("temperature is %q: give glueline, air or none", c.Temperature)
	case c.Pressure == none && c.Temperature == none && !c.Humid:
		return errors.New("neither pressure nor temperature nor humidity is used: give one a meaning")
	case c.Reference != "absolute" && c.Reference != "gauge":
		return fmt.Errorf("reference is %q: give absolute or gauge", c.Reference)
	case c.Reference == "gauge" && c.Pressure != "bag":
		return errors.New("reference is gauge, but the pressure is not the bag's: only a bag is measured against the room")
	}
	return nil
}

// Reads is what the used channels mean.
func (c Config) Reads() []sensor.Quantity {
	var reads []sensor.Quantity
	for _, meaning := range []string{c.Pressure, c.Temperature} {
		if meaning != none {
			reads = append(reads, sensor.Quantity(meaning))
		}
	}
	if c.Humid {
		reads = append(reads, sensor.Humidity)
	}
	return reads
}

// ErrRoom means that a pressure is none that a room can have.
var ErrRoom = errors.New("no room has this pressure: is it the bag's, or a gauge part's?")

// Part is an open device.
type Part struct {
	folder                          string
	pressure, temperature, humidity *channel
	cfg                             Config
	now                             func() time.Time
}

// Open finds the device and its channels.
func Open(c Config, now func() time.Time) (*Part, error) {
	folder, err := sysfs.Find(c.Dir, c.Device, func(folder string) bool {
		return (c.Pressure == none || findChannel(folder, "pressure") != nil) &&
			(c.Temperature == none || findChannel(folder, "temp") != nil) &&
			(!c.Humid || findChannel(folder, "humidityrelative") != nil)
	})
	if err != nil {
		return nil, fmt.Errorf("iio: %w", err)
	}
	p := &Part{folder: folder, cfg: c, now: now}
	if c.Pressure != none {
		p.pressure = findChannel(folder, "pressure")
	}
	if c.Temperature != none {
		p.temperature = findChannel(folder, "temp")
	}
	if c.Humid {
		p.humidity = findChannel(folder, "humidityrelative")
	}
	return p, nil
}

// Read reads the used channels; the kernel blocks for the conversion.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	s := sensor.Blank(p.now())
	if p.pressure != nil {
		kilopascal, err := p.pressure.value()
		if err != nil {
			return sensor.Sample{}, fmt.Errorf("iio: %w", err)
		}
		if s, err = p.place(s, kilopascal*1000); err != nil {
			return sensor.Sample{}, fmt.Errorf("iio: %s: %.0f Pa: %w", filepath.Base(p.folder), kilopascal*1000, err)
		}
	}
	if p.temperature != nil {
		milli, err := p.temperature.value()
		if err != nil {
			return sensor.Sample{}, fmt.Errorf("iio: %w", err)
		}
		s = sensor.Quantity(p.cfg.Temperature).With(s, milli/1000)
	}
	if p.humidity != nil {
		milli, err := p.humidity.value()
		if err != nil {
			return sensor.Sample{}, fmt.Errorf("iio: %w", err)
		}
		s.Humidity = milli / 1000
	}
	return s, nil
}

// place puts a pressure where it belongs.
func (p *Part) place(s sensor.Sample, pa float64) (sensor.Sample, error) {
	switch {
	case p.cfg.Pressure == "ambient":
		if pa < 45000 || pa > 112000 {
			return s, ErrRoom
		}
		s.Ambient = pa
	case p.cfg.Reference == "gauge":
		return s.Merge(sensor.FromVacuum(s.Time, -pa)), nil
	default:
		s.Bag = pa
	}
	return s, nil
}

// Close does nothing: the files are opened for each reading.
func (p *Part) Close() error { return nil }
