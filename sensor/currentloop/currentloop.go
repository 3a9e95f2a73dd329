// Package currentloop reads a pressure transmitter of 4 to 20 mA over a shunt,
// through an ADS1115 converter.
//
// Sources: the live-zero current signal is that of IEC 60381-1; the limits at
// which a loop is broken, below 3.6 and above 21 mA, are those of NAMUR
// recommendation NE 43 (both from memory). The converter is that of package
// ads1115, with its traps.
//
// Wiring, ranges and noise: README.md.
package currentloop

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config describes the converter, the shunt and the transmitter.
type Config struct {
	Bus      string  `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address  int     `toml:"address" doc:"I²C address of the converter, 0x48 to 0x4b by the ADDR pin"`
	RangeV   float64 `toml:"range_v" doc:"range of the converter, ± volts; 20 mA over the shunt must fit"`
	Rate     int     `toml:"rate" doc:"conversions a second; slower is quieter"`
	Channel  int     `toml:"channel" doc:"input across the shunt, 0 to 3"`
	ShuntOhm float64 `toml:"shunt_ohm" doc:"resistance of the shunt, ohm"`

	Reference string  `toml:"reference" doc:"gauge (against the room) or absolute"`
	LowPa     float64 `toml:"low_pa" doc:"pressure at 4 mA, Pa; of a gauge part negative below the room"`
	HighPa    float64 `toml:"high_pa" doc:"pressure at 20 mA, Pa"`
}

// Defaults is a transmitter of −1 to 0 bar against the room, over 150 Ω.
func Defaults() Config {
	return Config{Address: 0x48, RangeV: 4.096, Rate: 128, ShuntOhm: 150, Reference: "gauge", LowPa: -100000, HighPa: 0}
}

// The signal, and the limits of NE 43 beyond which it is none, ampere.
const (
	low, high       = 0.004, 0.020
	broken, shorted = 0.0036, 0.021
)

// Check refuses what cannot be measured.
func (c Config) Check() error {
	if err := c.converter().Check(); err != nil {
		return err
	}
	if !(c.ShuntOhm > 0) || shorted*c.ShuntOhm > c.RangeV {
		return fmt.Errorf("shunt_ohm is %g: give a shunt at which 21 mA stay below range_v, %g V", c.ShuntOhm, c.RangeV)
	}
	return nil
}

// Span is the range of the transmitter.
func (c Config) Span() sensor.Span { return c.converter().Span() }

// converter is the same part as one of volts.
func (c Config) converter() ads1115.Config {
	a := ads1115.Defaults()
	a.Bus, a.Address, a.RangeV, a.Rate, a.Channel = c.Bus, c.Address, c.RangeV, c.Rate, c.Channel
	a.Reference, a.LowPa, a.HighPa = c.Reference, c.LowPa, c.HighPa
	return a
}

// ErrLoop means that the current is none that a working loop has.
var ErrLoop = errors.New("below 3.6 or above 21 mA the loop is broken or the transmitter reports a fault; check its wiring and its supply")

// Part is an open loop.
type Part struct {
	converter *ads1115.Converter
	cfg       Config
	now       func() time.Time
	current   float64 // A, at the newest reading
}

// Open opens the converter. Whether it is there is known with the first
// reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	converter, err := ads1115.OpenConverter(h, c.Bus, c.Address, c.RangeV, c.Rate)
	if err != nil {
		return nil, fmt.Errorf("currentloop: %w", err)
	}
	return &Part{converter: converter, cfg: c, now: now}, nil
}

// Read measures the current and turns it into a pressure.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	volts, _, err := p.converter.Volts(ctx, p.cfg.Channel)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("currentloop: %w", err)
	}
	current := volts[0] / p.cfg.ShuntOhm
	p.current = current
	if current < broken || current > shorted {
		return sensor.Sample{}, fmt.Errorf("currentloop: %.2f mA: %w", current*1000, ErrLoop)
	}
	pa := p.cfg.LowPa + (current-low)/(high-low)*(p.cfg.HighPa-p.cfg.LowPa)
	if p.cfg.Reference == "gauge" {
		return sensor.FromVacuum(p.now(), -pa), nil
	}
	return sensor.Bag.With(sensor.Blank(p.now()), pa), nil
}

// Raw is the loop's current at the newest reading.
func (p *Part) Raw() string { return fmt.Sprintf("%.3f mA", p.current*1000) }

// Close closes the converter's handle to the bus.
func (p *Part) Close() error { return p.converter.Close() }
