// Package mcp9808 reads an MCP9808 thermometer over I²C.
//
// Datasheet: Microchip, MCP9808, DS25095A (from memory; the register values of
// its identity and the weights of its bits are checked in the test). Register 5
// holds three alert bits, a sign and twelve bits of 1/16 °C:
//
//	t = (word AND 0x1FFF, as a 13-bit two's complement) / 16 °C
//
// Wiring, ranges and noise: README.md.
//
// Traps: the alert bits stand in the same word and are no part of the number.
package mcp9808

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says where the part is.
type Config struct {
	Bus     string `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address int    `toml:"address" doc:"I²C address, 0x18 to 0x1f by the pins A0 to A2"`
	As      string `toml:"as" doc:"where it lies: glueline or air"`
}

// Defaults is the part with its address pins low, in the glue line.
func Defaults() Config { return Config{Address: 0x18, As: "glueline"} }

// Check refuses a place that a thermometer cannot speak for.
func (c Config) Check() error {
	if c.As != "glueline" && c.As != "air" {
		return fmt.Errorf("as is %q: give glueline or air", c.As)
	}
	return nil
}

// Reads is where the thermometer lies.
func (c Config) Reads() []sensor.Quantity { return []sensor.Quantity{sensor.Quantity(c.As)} }

// Registers, and what identifies the part.
const (
	regTemperature  = 0x05
	regManufacturer = 0x06
	regDevice       = 0x07

	manufacturer = 0x0054
	device       = 0x04 // high byte; the low one is the revision
)

// ErrNotMCP9808 means that something else is at the address.
var ErrNotMCP9808 = errors.New("the part's identity is not that of an MCP9808; is another part at this address?")

// Part is an open part.
type Part struct {
	dev *bus.Device
	cfg Config
	now func() time.Time
}

// Open finds the part and asks who it is.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("mcp9808: %w", err)
	}
	p := &Part{dev: dev, cfg: c, now: now}
	if err := p.identify(); err != nil {
		return nil, fmt.Errorf("mcp9808: %w", errors.Join(err, dev.Close()))
	}
	return p, nil
}

func (p *Part) identify() error {
	maker, err := p.word(regManufacturer)
	if err != nil {
		return err
	}
	id, err := p.word(regDevice)
	if err != nil {
		return err
	}
	if maker != manufacturer || id>>8 != device {
		return fmt.Errorf("manufacturer 0x%04x, device 0x%04x: %w", maker, id, ErrNotMCP9808)
	}
	return nil
}

func (p *Part) word(register byte) (uint16, error) {
	var b [2]byte
	if err := p.dev.Tx([]byte{register}, b[:]); err != nil {
		return 0, err
	}
	return uint16(b[0])<<8 | uint16(b[1]), nil
}

// Read returns the newest conversion.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	w, err := p.word(regTemperature)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("mcp9808: %w", err)
	}
	return sensor.Quantity(p.cfg.As).With(sensor.Blank(p.now()), celsius(w)), nil
}

// celsius takes the alert bits off and the sign into account.
func celsius(w uint16) float64 {
	sixteenths := int(w & 0x0FFF)
	if w&0x1000 != 0 {
		sixteenths -= 1 << 12
	}
	return float64(sixteenths) / 16
}

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
