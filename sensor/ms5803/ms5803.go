package ms5803

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says which part it is, where, and what it reads.
type Config struct {
	Bus         string `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address     int    `toml:"address" doc:"I²C address, 0x76 or 0x77"`
	Model       string `toml:"model" doc:"the part's number: ms5611, ms5803-01ba, ms5803-02ba, ms5803-05ba, ms5803-07ba, ms5803-14ba, ms5803-30ba, ms5837-02ba or ms5837-30ba"`
	Pressure    string `toml:"pressure" doc:"what its pressure is: bag or ambient"`
	Temperature string `toml:"temperature" doc:"what its temperature is: air, glueline or none"`
}

// Defaults is the 1300 hPa part, on the bag.
func Defaults() Config {
	return Config{Address: 0x76, Model: "ms5803-01ba", Pressure: "bag", Temperature: "none"}
}

// Check refuses a part that the family does not have.
func (c Config) Check() error {
	if _, err := modelOf(c.Model); err != nil {
		return err
	}
	switch {
	case c.Pressure != "bag" && c.Pressure != "ambient":
		return fmt.Errorf("pressure is %q: give bag or ambient", c.Pressure)
	case c.Temperature != "air" && c.Temperature != "glueline" && c.Temperature != "none":
		return fmt.Errorf("temperature is %q: give air, glueline or none", c.Temperature)
	}
	return nil
}

// Reads is what its pressure and its temperature are.
func (c Config) Reads() []sensor.Quantity {
	reads := []sensor.Quantity{sensor.Quantity(c.Pressure)}
	if c.Temperature != "none" {
		reads = append(reads, sensor.Quantity(c.Temperature))
	}
	return reads
}

// Commands, at the highest oversampling (4096).
const (
	cmdReset       = 0x1E
	cmdProm        = 0xA0
	cmdPressure    = 0x48
	cmdTemperature = 0x58
	cmdRead        = 0x00
)

const (
	restart    = 5 * time.Millisecond  // the datasheet says 2.8
	conversion = 10 * time.Millisecond // and 9.04
)

// Errors of the part itself.
var (
	ErrChecksum = errors.New("the checksum of the part's coefficients is wrong: is it the model that the config says? else check the wiring")
	ErrEarly    = errors.New("the part has not converted; check its supply")
	ErrRange    = errors.New("outside what the part can measure: is it the model that the config says?")
)

// Part is an open part.
type Part struct {
	dev   *bus.Device
	model model
	prom  [8]uint16
	cfg   Config
	now   func() time.Time
	raw   [2]uint32 // D1 and D2 of the newest reading
}

// Open resets the part and reads its coefficients.
func Open(ctx context.Context, h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	m, err := modelOf(c.Model)
	if err != nil {
		return nil, fmt.Errorf("ms5803: %w", err)
	}
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("ms5803: %w", err)
	}
	p := &Part{dev: dev, model: m, cfg: c, now: now}
	if err := p.start(ctx); err != nil {
		return nil, fmt.Errorf("ms5803: %w", errors.Join(err, dev.Close()))
	}
	return p, nil
}

func (p *Part) start(ctx context.Context) error {
	release, err := p.dev.Claim(ctx)
	if err != nil {
		return err
	}
	defer release()
	if err := p.dev.Tx([]byte{cmdReset}, nil); err != nil {
		return err
	}
	if err := bus.Wait(ctx, restart); err != nil {
		return err
	}
	last := len(p.prom)
	if p.model.checkFirst {
		last-- // seven words
	}
	for i := range last {
		var word [2]byte
		if err := p.dev.Tx([]byte{cmdProm + byte(2*i)}, word[:]); err != nil {
			return err
		}
		p.prom[i] = uint16(word[0])<<8 | uint16(word[1])
	}
	// A dead bus reads all zeros, whose checksum is right.
	if p.prom[1] == 0 || !p.model.checksum(p.prom) {
		return ErrChecksum
	}
	return nil
}

// Read makes one conversion of pressure and one of temperature, 20 ms in all.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	release, err := p.dev.Claim(ctx)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("ms5803: %w", err)
	}
	defer release()
	var raw [2]uint32
	for i, command := range []byte{cmdPressure, cmdTemperature} {
		if raw[i], err = p.convert(ctx, command); err != nil {
			return sensor.Sample{}, fmt.Errorf("ms5803: %w", err)
		}
	}
	p.raw = raw
	pa, celsius := p.model.convert(p.prom, raw[0], raw[1], true)
	if pa < 0 || pa > 3.2e6 || celsius < -40 || celsius > 90 {
		return sensor.Sample{}, fmt.Errorf("ms5803: %.0f Pa, %.1f °C: %w", pa, celsius, ErrRange)
	}
	s := sensor.Quantity(p.cfg.Pressure).With(sensor.Blank(p.now()), pa)
	return sensor.Quantity(p.cfg.Temperature).With(s, celsius), nil // none leaves it as it is
}

// Raw is what the part gave at the newest reading, before it was converted.
func (p *Part) Raw() string { return fmt.Sprintf("D1 %d, D2 %d", p.raw[0], p.raw[1]) }

func (p *Part) convert(ctx context.Context, command byte) (uint32, error) {
	if err := p.dev.Tx([]byte{command}, nil); err != nil {
		return 0, err
	}
	if err := bus.Wait(ctx, conversion); err != nil {
		return 0, err
	}
	var raw [3]byte
	if err := p.dev.Tx([]byte{cmdRead}, raw[:]); err != nil {
		return 0, err
	}
	v := uint32(raw[0])<<16 | uint32(raw[1])<<8 | uint32(raw[2])
	if v == 0 {
		return 0, ErrEarly
	}
	return v, nil
}

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
