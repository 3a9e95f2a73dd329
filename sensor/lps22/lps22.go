// Package lps22 reads the room's pressure and temperature from an LPS22HB or
// LPS22HH over I²C.
//
// Datasheets: STMicroelectronics, LPS22HB (DocID027083) and LPS22HH (DS12503),
// from memory; the worked example of pressure and its two's complement is the
// test:
//
//	p = count / 4096 hPa, 24 bits      t = count / 100 °C, 16 bits
//
// It is a barometer and cannot see a deep vacuum: a reading outside its range is
// an error here, and the bag is not offered.
//
// Wiring, ranges and noise: README.md.
package lps22

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says where the part is and what it is good for.
type Config struct {
	Bus     string `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address int    `toml:"address" doc:"I²C address, 0x5c or 0x5d by the SA0 pin"`
	Air     bool   `toml:"air" doc:"its temperature is that of the room's air"`
}

// Defaults is the part as most boards wire it.
func Defaults() Config { return Config{Address: 0x5D, Air: true} }

// Reads leaves out the temperature when it is not the air's.
func (c Config) Reads() []sensor.Quantity {
	if c.Air {
		return []sensor.Quantity{sensor.Ambient, sensor.Air}
	}
	return []sensor.Quantity{sensor.Ambient}
}

// Registers, their values and the part's identities.
const (
	regWho     = 0x0F
	regControl = 0x10 // CTRL_REG1
	regStatus  = 0x27 // followed by 3 bytes of pressure and 2 of temperature

	tenPerSecond = 2<<4 | 1<<3 | 1<<1 // output rate, low-pass filter, no tearing of a value
	hasPressure  = 1 << 0
	hasAll       = 1<<1 | 1<<0

	whoHB = 0xB1
	whoHH = 0xB3
)

// The pressures that the datasheet specifies, Pa.
const (
	lowest  = 26000
	highest = 126000
)

// Errors of the part itself.
var (
	ErrNotLPS22 = errors.New("the part's identity is none of an LPS22HB or LPS22HH; is another part at this address?")
	ErrStill    = errors.New("the part has no new conversion; it may have lost its settings")
	ErrRange    = errors.New("outside the 260 to 1260 hPa of the datasheet: this part is for the room, not for the bag")
)

// Part is an open part, converting ten times a second.
type Part struct {
	dev *bus.Device
	cfg Config
	now func() time.Time
}

// firstTime is when the first conversion is there at the latest.
const firstTime = 150 * time.Millisecond

// Open finds the part, sets it up and waits for its first conversion.
func Open(ctx context.Context, h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("lps22: %w", err)
	}
	p := &Part{dev: dev, cfg: c, now: now}
	if err := p.start(ctx); err != nil {
		return nil, fmt.Errorf("lps22: %w", errors.Join(err, dev.Close()))
	}
	return p, nil
}

func (p *Part) start(ctx context.Context) error {
	var who [1]byte
	if err := p.dev.Tx([]byte{regWho}, who[:]); err != nil {
		return err
	}
	if who[0] != whoHB && who[0] != whoHH {
		return fmt.Errorf("identity 0x%02x: %w", who[0], ErrNotLPS22)
	}
	if err := p.dev.Tx([]byte{regControl, tenPerSecond}, nil); err != nil {
		return err
	}
	return bus.Wait(ctx, firstTime)
}

// Read returns the newest conversion. Read faster than ten times a second it
// finds nothing new, which is an error.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	var b [6]byte
	if err := p.dev.Tx([]byte{regStatus}, b[:]); err != nil {
		return sensor.Sample{}, fmt.Errorf("lps22: %w", err)
	}
	if b[0]&hasPressure == 0 {
		return sensor.Sample{}, fmt.Errorf("lps22: %w", ErrStill)
	}
	pa := pascal(b[1:4])
	if pa < lowest || pa > highest {
		return sensor.Sample{}, fmt.Errorf("lps22: %.0f Pa: %w", pa, ErrRange)
	}
	s := sensor.Ambient.With(sensor.Blank(p.now()), pa)
	if p.cfg.Air && b[0]&hasAll == hasAll {
		s.Air = float64(int16(uint16(b[5])<<8|uint16(b[4]))) / 100 //nolint:gosec // two's complement on the wire
	}
	return s, nil
}

// pascal is 24 bits, low byte first, of 1/4096 hPa.
func pascal(b []byte) float64 {
	count := int32(b[0]) | int32(b[1])<<8 | int32(int8(b[2]))<<16 //nolint:gosec // two's complement on the wire
	return float64(count) / 4096 * 100
}

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
