// Package hwmon reads a temperature, and a humidity, from the files of the
// kernel's hardware monitoring subsystem: parts like the MCP9808 or the SHT4x that
// the kernel drives itself.
//
// Source: Linux, Documentation/hwmon/sysfs-interface.rst (from memory):
// temp1_input is in milli °C, humidity1_input in milli per cent, temp1_fault is 1
// when the part is open or shorted, and a folder's file "name" says which driver it
// is (jc42 for an MCP9808, sht4x for an SHT4x).
//
// Wiring, ranges and noise: README.md.
package hwmon

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/sysfs"
)

// Config says which part it is and where it lies.
type Config struct {
	Device string `toml:"device" doc:"the driver's name, as jc42 or hwmon2; not needed when only one fits"`
	Input  string `toml:"input" doc:"the file to read"`
	As     string `toml:"as" doc:"where it lies: glueline or air"`
	Humid  bool   `toml:"humidity" doc:"its humidity1_input is the relative humidity of the room's air"`
	Dir    string `toml:"dir" doc:"where the kernel shows its devices"`
}

// Defaults is the first temperature of the only device, in the glue line.
func Defaults() Config {
	return Config{Input: "temp1_input", As: "glueline", Dir: "/sys/class/hwmon"}
}

// Check refuses a place that a thermometer cannot speak for.
func (c Config) Check() error {
	if c.As != "glueline" && c.As != "air" {
		return fmt.Errorf("as is %q: give glueline or air", c.As)
	}
	if c.Input != filepath.Base(c.Input) || !strings.HasPrefix(c.Input, "temp") || !strings.HasSuffix(c.Input, "_input") {
		return fmt.Errorf("input is %q: give one like temp1_input", c.Input)
	}
	return nil
}

// Reads is where the thermometer lies, and the humidity where that is asked for.
func (c Config) Reads() []sensor.Quantity {
	if c.Humid {
		return []sensor.Quantity{sensor.Quantity(c.As), sensor.Humidity}
	}
	return []sensor.Quantity{sensor.Quantity(c.As)}
}

// humidity is the file of the first hygrometer, in milli per cent.
const humidity = "humidity1_input"

// ErrFault is what the kernel says of a thermometer that is open or shorted.
var ErrFault = errors.New("the kernel reports that the part is open or shorted: check its wiring")

// Part is an open thermometer.
type Part struct {
	folder string
	cfg    Config
	now    func() time.Time
}

// Open finds the device.
func Open(c Config, now func() time.Time) (*Part, error) {
	folder, err := sysfs.Find(c.Dir, c.Device, func(folder string) bool {
		return sysfs.Has(folder, c.Input) && (!c.Humid || sysfs.Has(folder, humidity))
	})
	if err != nil {
		return nil, fmt.Errorf("hwmon: %w", err)
	}
	return &Part{folder: folder, cfg: c, now: now}, nil
}

// Read reads the temperature, and the humidity where that is asked for.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	if fault := strings.TrimSuffix(p.cfg.Input, "_input") + "_fault"; sysfs.Has(p.folder, fault) {
		if v, err := sysfs.Number(p.folder, fault); err != nil || v != 0 {
			return sensor.Sample{}, fmt.Errorf("hwmon: %s: %w", p.folder, errors.Join(ErrFault, err))
		}
	}
	milli, err := sysfs.Number(p.folder, p.cfg.Input)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("hwmon: %w", err)
	}
	s := sensor.Quantity(p.cfg.As).With(sensor.Blank(p.now()), milli/1000)
	if p.cfg.Humid {
		if milli, err = sysfs.Number(p.folder, humidity); err != nil {
			return sensor.Sample{}, fmt.Errorf("hwmon: %w", err)
		}
		s.Humidity = milli / 1000
	}
	return s, nil
}

// Close does nothing: the file is opened for each reading.
func (p *Part) Close() error { return nil }
