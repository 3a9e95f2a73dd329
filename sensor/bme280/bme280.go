package bme280

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tinygo.org/x/drivers/bme280"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says where the part is and what it is good for.
type Config struct {
	Bus     string `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address int    `toml:"address" doc:"I²C address, 0x76 or 0x77 by the SDO pin"`
	Air     bool   `toml:"air" doc:"its temperature is that of the room's air"`
	Humid   bool   `toml:"humidity" doc:"its humidity is that of the room's air; a BMP280 has none"`
}

// Defaults is the part at its usual address.
func Defaults() Config { return Config{Address: bme280.Address, Air: true} }

// Reads is what the part tells of the room.
func (c Config) Reads() []sensor.Quantity {
	reads := []sensor.Quantity{sensor.Ambient}
	if c.Air {
		reads = append(reads, sensor.Air)
	}
	if c.Humid {
		reads = append(reads, sensor.Humidity)
	}
	return reads
}

// The pressures that the datasheet specifies, Pa.
const (
	lowest  = 30000
	highest = 110000
)

const (
	startUp   = 3 * time.Millisecond  // the datasheet says 2
	firstTime = 60 * time.Millisecond // one conversion at the oversampling below
)

// Errors of the part itself.
var (
	ErrNotBME280 = errors.New("the part's identity is none of a BME280 or BMP280; is another part at this address?")
	ErrNotHumid  = errors.New("this is a BMP280, which has no hygrometer: take humidity = true out of the config")
	ErrAsleep    = errors.New("the part did not take its settings; check the wiring and the supply")
	ErrNoReading = errors.New("the part has not converted yet, or lost its settings")
	ErrRange     = errors.New("outside the 300 to 1100 hPa of the datasheet: this part is for the room, not for the bag")
)

// Part is an open part, converting once a second.
type Part struct {
	wire *wire
	dev  *bus.Device
	part bme280.Device
	cfg  Config
	now  func() time.Time
}

// Open finds the part, sets it up and waits for its first conversion, some
// 60 ms.
func Open(ctx context.Context, h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("bme280: %w", err)
	}
	w := &wire{dev: dev, humid: c.Humid}
	p := &Part{wire: w, dev: dev, part: bme280.New(w), cfg: c, now: now}
	p.part.Address = uint16(c.Address)
	if err := p.start(ctx); err != nil {
		return nil, fmt.Errorf("bme280: %w", errors.Join(err, dev.Close()))
	}
	return p, nil
}

func (p *Part) start(ctx context.Context) error {
	release, err := p.dev.Claim(ctx)
	if err != nil {
		return err
	}
	defer release()
	if err := p.identify(); err != nil {
		return err
	}
	p.part.ConfigureWithSettings(bme280.Config{
		Pressure: bme280.Sampling16X, Temperature: bme280.Sampling2X, Humidity: bme280.Sampling1X,
		Period: bme280.Period1000ms, Mode: bme280.ModeNormal, IIR: bme280.Coeff4,
	})
	// Configure resets the part and goes on at once, so its settings may be
	// lost or refused: give them again when the part listens.
	if err := bus.Wait(ctx, startUp); err != nil {
		return err
	}
	p.wire.err = nil
	if err := p.settle(); err != nil {
		return err
	}
	return bus.Wait(ctx, firstTime)
}

func (p *Part) identify() error {
	var id [1]byte
	if err := p.dev.Tx([]byte{bme280.WHO_AM_I}, id[:]); err != nil {
		return err
	}
	switch id[0] {
	case bme280.CHIP_ID:
		return nil
	case 0x56, 0x57, 0x58: // BMP280
		if p.cfg.Humid {
			return ErrNotHumid
		}
		return nil
	}
	return fmt.Errorf("identity 0x%02x: %w", id[0], ErrNotBME280)
}

// settle writes the settings and reads the decisive one back.
func (p *Part) settle() error {
	c := p.part.Config
	measure := byte(c.Temperature)<<5 | byte(c.Pressure)<<2 | byte(c.Mode)
	if err := p.dev.Tx([]byte{bme280.CTRL_CONFIG, byte(c.Period)<<5 | byte(c.IIR)<<2}, nil); err != nil {
		return err
	}
	if p.cfg.Humid { // taken over with the write of the next register
		if err := p.dev.Tx([]byte{bme280.CTRL_HUMIDITY_ADDR, byte(c.Humidity)}, nil); err != nil {
			return err
		}
	}
	if err := p.dev.Tx([]byte{bme280.CTRL_MEAS_ADDR, measure}, nil); err != nil {
		return err
	}
	var back [1]byte
	if err := p.dev.Tx([]byte{bme280.CTRL_MEAS_ADDR}, back[:]); err != nil {
		return err
	}
	if back[0] != measure {
		return fmt.Errorf("wrote 0x%02x, read back 0x%02x: %w", measure, back[0], ErrAsleep)
	}
	return nil
}

// Read returns the newest conversion.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	release, err := p.dev.Claim(ctx)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("bme280: %w", err)
	}
	defer release()
	milliPascal, _ := p.part.ReadPressure() // its error is the wire's
	milliC, _ := p.part.ReadTemperature()
	centiPercent := int32(0)
	if p.cfg.Humid {
		centiPercent, _ = p.part.ReadHumidity()
	}
	if err := p.wire.take(); err != nil {
		return sensor.Sample{}, fmt.Errorf("bme280: reading a conversion: %w", err)
	}
	s := sensor.Blank(p.now())
	s.Ambient = float64(milliPascal) / 1000
	if s.Ambient < lowest || s.Ambient > highest {
		return sensor.Sample{}, fmt.Errorf("bme280: %.0f Pa: %w", s.Ambient, ErrRange)
	}
	if p.cfg.Air {
		s.Air = float64(milliC) / 1000
	}
	if p.cfg.Humid {
		s.Humidity = max(0, min(100, float64(centiPercent)/100))
	}
	return s, nil
}

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
