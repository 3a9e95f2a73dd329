// Package bmp388 reads the room's pressure and temperature from a BMP388 or
// BMP390 over I²C.
//
// Datasheet: Bosch Sensortec, BST-BMP388-DS001, with the formulas of its
// appendix in floating point (from memory). It gives no worked example: the
// test holds them against the integer arithmetic of tinygo.org/x/drivers, which
// was made from the maker's C code. That package is not used here because it
// refuses the BMP390 and reads pressure and temperature of two conversions.
//
// It is a barometer and cannot see a deep vacuum: a reading outside its range is
// an error here, and the bag is not offered.
//
// Wiring, ranges and noise: README.md.
//
// Traps: an output rate that is too high for the oversampling stops the part; it
// says so in a register that nobody reads unless he must.
package bmp388

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
	Address int    `toml:"address" doc:"I²C address, 0x76 or 0x77 by the SDO pin"`
	Air     bool   `toml:"air" doc:"its temperature is that of the room's air"`
}

// Defaults is the part as most boards wire it.
func Defaults() Config { return Config{Address: 0x77, Air: true} }

// Reads leaves out the temperature when it is not the air's.
func (c Config) Reads() []sensor.Quantity {
	if c.Air {
		return []sensor.Quantity{sensor.Ambient, sensor.Air}
	}
	return []sensor.Quantity{sensor.Ambient}
}

// Registers and their values.
const (
	regID           = 0x00
	regError        = 0x02
	regStatus       = 0x03 // followed by 3 bytes of pressure and 3 of temperature
	regPower        = 0x1B
	regOversampling = 0x1C
	regRate         = 0x1D
	regFilter       = 0x1F
	regCalibration  = 0x31
	regCommand      = 0x7E

	idBMP388, idBMP390 = 0x50, 0x60

	softReset      = 0xB6
	normal         = 0x33 // both sensors on, converting by itself
	pressureEight  = 0x03 // eightfold oversampling
	twelvePerSec   = 0x04
	filterThree    = 2 << 1
	badSettings    = 1 << 2
	pressureIsNew  = 1 << 5
	calibrationLen = 21
)

// The pressures that the datasheet specifies, Pa.
const (
	lowest  = 30000
	highest = 125000
)

const (
	restart   = 10 * time.Millisecond
	firstTime = 120 * time.Millisecond
)

// Errors of the part itself.
var (
	ErrNotBMP388 = errors.New("the part's identity is none of a BMP388 or BMP390; is another part at this address?")
	ErrSettings  = errors.New("the part refuses its settings; check the wiring and the supply")
	ErrStill     = errors.New("the part has no new conversion; it may have lost its settings")
	ErrRange     = errors.New("outside the 300 to 1250 hPa of the datasheet: this part is for the room, not for the bag")
)

// Part is an open part, converting twelve times a second.
type Part struct {
	dev *bus.Device
	c   coefficients
	cfg Config
	now func() time.Time
}

// Open finds the part, sets it up and waits for its first conversion.
func Open(ctx context.Context, h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("bmp388: %w", err)
	}
	p := &Part{dev: dev, cfg: c, now: now}
	if err := p.start(ctx); err != nil {
		return nil, fmt.Errorf("bmp388: %w", errors.Join(err, dev.Close()))
	}
	return p, nil
}

func (p *Part) start(ctx context.Context) error {
	var id [1]byte
	if err := p.dev.Tx([]byte{regID}, id[:]); err != nil {
		return err
	}
	if id[0] != idBMP388 && id[0] != idBMP390 {
		return fmt.Errorf("identity 0x%02x: %w", id[0], ErrNotBMP388)
	}
	if err := p.dev.Tx([]byte{regCommand, softReset}, nil); err != nil {
		return err
	}
	if err := bus.Wait(ctx, restart); err != nil {
		return err
	}
	var raw [calibrationLen]byte
	if err := p.dev.Tx([]byte{regCalibration}, raw[:]); err != nil {
		return err
	}
	p.c = coefficientsOf(raw)
	return p.settle(ctx)
}

func (p *Part) settle(ctx context.Context) error {
	for _, setting := range [][]byte{
		{regOversampling, pressureEight}, {regRate, twelvePerSec}, {regFilter, filterThree}, {regPower, normal},
	} {
		if err := p.dev.Tx(setting, nil); err != nil {
			return err
		}
	}
	if err := bus.Wait(ctx, firstTime); err != nil {
		return err
	}
	var state, power [1]byte
	if err := p.dev.Tx([]byte{regError}, state[:]); err != nil {
		return err
	}
	if err := p.dev.Tx([]byte{regPower}, power[:]); err != nil {
		return err
	}
	if state[0]&badSettings != 0 || power[0] != normal {
		return fmt.Errorf("error register 0x%02x, power register 0x%02x: %w", state[0], power[0], ErrSettings)
	}
	return nil
}

// Read returns the newest conversion. Read faster than twelve times a second
// it finds nothing new, which is an error.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	var b [7]byte
	if err := p.dev.Tx([]byte{regStatus}, b[:]); err != nil {
		return sensor.Sample{}, fmt.Errorf("bmp388: %w", err)
	}
	if b[0]&pressureIsNew == 0 {
		return sensor.Sample{}, fmt.Errorf("bmp388: %w", ErrStill)
	}
	celsius := p.c.celsius(count(b[4:7]))
	pa := p.c.pascal(count(b[1:4]), celsius)
	if pa < lowest || pa > highest {
		return sensor.Sample{}, fmt.Errorf("bmp388: %.0f Pa: %w", pa, ErrRange)
	}
	s := sensor.Ambient.With(sensor.Blank(p.now()), pa)
	if p.cfg.Air {
		s.Air = celsius
	}
	return s, nil
}

// count is 24 bits, low byte first.
func count(b []byte) float64 { return float64(uint32(b[0]) | uint32(b[1])<<8 | uint32(b[2])<<16) }

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
