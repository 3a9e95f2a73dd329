// Package abp2 reads the 24-bit digital pressure parts of the ABP2 series over
// I²C.
//
// Datasheet: Honeywell, ABP2 Series, 32350268 (from memory; its two worked
// examples are the test).
//
// The part speaks as the MPR family does (see package mpr for the status byte
// and its traps) and answers with 24 bits of pressure and 24 of temperature:
//
//	p = (count − 1677722) · (max − min) / (15099494 − 1677722) + min
//	t = count · 200 / 16777215 − 50 °C
//
// Wiring, ranges and noise: README.md.
package abp2

import (
	"context"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/mpr"
)

// Config says which part of the series it is and where.
type Config struct {
	Bus         string  `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address     int     `toml:"address" doc:"I²C address, from the part number"`
	Reference   string  `toml:"reference" doc:"absolute, or gauge (against the room), which for a bag is a differential part"`
	MinPa       float64 `toml:"min_pa" doc:"lower end of the part's range, Pa; of a gauge part negative below the room"`
	MaxPa       float64 `toml:"max_pa" doc:"upper end of the part's range, Pa"`
	Temperature string  `toml:"temperature" doc:"what its temperature is: air, glueline or none"`
}

// Defaults is the 0 to 1.6 bar absolute part.
func Defaults() Config {
	return Config{Address: 0x28, Reference: "absolute", MaxPa: 160000, Temperature: "none"}
}

// Check refuses a part that the series does not have, or that sees no bag.
func (c Config) Check() error {
	switch {
	case c.Reference != "absolute" && c.Reference != "gauge":
		return fmt.Errorf("reference is %q: give absolute or gauge", c.Reference)
	case !(c.MaxPa > c.MinPa) || (c.Reference == "absolute" && c.MinPa < 0):
		return fmt.Errorf("range of the part is %g to %g Pa: give min_pa and max_pa of the part number", c.MinPa, c.MaxPa)
	case c.Temperature != "air" && c.Temperature != "glueline" && c.Temperature != "none":
		return fmt.Errorf("temperature is %q: give air, glueline or none", c.Temperature)
	}
	return c.Span().Check()
}

// Span is the range of the part.
func (c Config) Span() sensor.Span {
	return sensor.SpanOf(c.Reference, c.MinPa, "min_pa", c.MaxPa, "max_pa")
}

// Reads is the bag, and what the temperature is.
func (c Config) Reads() []sensor.Quantity {
	reads := []sensor.Quantity{sensor.Bag}
	if c.Temperature != "none" {
		reads = append(reads, sensor.Quantity(c.Temperature))
	}
	return reads
}

// Part is an open part.
type Part struct {
	dev   *bus.Device
	cfg   Config
	now   func() time.Time
	count float64 // of pressure, at the newest reading
}

// Open opens the part. Whether it is there is known with the first reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("abp2: %w", err)
	}
	return &Part{dev: dev, cfg: c, now: now}, nil
}

// Read makes one conversion; it takes some 5 ms, and 50 at most.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	var answer [7]byte
	saturated, err := mpr.Convert(ctx, p.dev, answer[:])
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("abp2: %w", err)
	}
	s := sensor.Blank(p.now())
	p.count = count(answer[1:4])
	if pa := p.pascal(p.count); p.cfg.Reference == "gauge" {
		s = sensor.FromVacuum(s.Time, -pa)
	} else {
		s.Bag = pa
	}
	if saturated {
		s.Quality |= sensor.Saturated
	}
	return sensor.Quantity(p.cfg.Temperature).With(s, celsius(count(answer[4:7]))), nil // none leaves it as it is
}

// Raw is what the part gave at the newest reading, before it was converted.
func (p *Part) Raw() string { return fmt.Sprintf("%.0f counts", p.count) }

func count(b []byte) float64 { return float64(uint32(b[0])<<16 | uint32(b[1])<<8 | uint32(b[2])) }

// pascal is the datasheet's transfer function.
func (p *Part) pascal(count float64) float64 {
	const low, high = 1677722, 15099494
	return (count-low)*(p.cfg.MaxPa-p.cfg.MinPa)/(high-low) + p.cfg.MinPa
}

func celsius(count float64) float64 { return count*200/16777215 - 50 }

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
