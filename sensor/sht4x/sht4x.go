// Package sht4x reads an SHT40, SHT41 or SHT45 thermometer and hygrometer over
// I²C.
//
// Datasheet: Sensirion, SHT4x, version 6 (from memory; its checksum example is
// the test). Write 0xFD, wait 8.3 ms, read two words with a checksum each:
//
//	t = −45 + 175 · raw/65535 °C
//	h = −6 + 125 · raw/65535 %, cropped to 0 to 100
//
// Wiring, ranges and noise: README.md.
//
// Traps: it answers with a NACK while it converts: read too early, it seems
// absent.
package sht4x

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says where the part is.
type Config struct {
	Bus     string `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address int    `toml:"address" doc:"I²C address, 0x44 to 0x46 by the part number"`
	As      string `toml:"as" doc:"where it lies: glueline or air"`
}

// Defaults is the usual part, in the room.
func Defaults() Config { return Config{Address: 0x44, As: "air"} }

// Check refuses a place that a thermometer cannot speak for.
func (c Config) Check() error {
	if c.As != "glueline" && c.As != "air" {
		return fmt.Errorf("as is %q: give glueline or air", c.As)
	}
	return nil
}

// Reads is the temperature where it lies, and in the room the air's humidity.
func (c Config) Reads() []sensor.Quantity {
	if c.As == "air" {
		return []sensor.Quantity{sensor.Air, sensor.Humidity}
	}
	return []sensor.Quantity{sensor.GlueLine}
}

const (
	measure    = 0xFD // at high repeatability
	conversion = 10 * time.Millisecond
)

// ErrChecksum means that a transfer was garbled.
var ErrChecksum = errors.New("checksum is wrong: check the wiring and the length of the lead")

// Part is an open part.
type Part struct {
	dev *bus.Device
	cfg Config
	now func() time.Time
}

// Open opens the part. Whether it is there is known with the first reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("sht4x: %w", err)
	}
	return &Part{dev: dev, cfg: c, now: now}, nil
}

// Read makes one conversion, 10 ms.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	release, err := p.dev.Claim(ctx)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("sht4x: %w", err)
	}
	defer release()
	if err := p.dev.Tx([]byte{measure}, nil); err != nil {
		return sensor.Sample{}, fmt.Errorf("sht4x: %w", err)
	}
	if err := bus.Wait(ctx, conversion); err != nil {
		return sensor.Sample{}, fmt.Errorf("sht4x: %w", err)
	}
	var answer [6]byte
	if err := p.dev.Tx(nil, answer[:]); err != nil {
		return sensor.Sample{}, fmt.Errorf("sht4x: %w", err)
	}
	if crc8(answer[0:2]) != answer[2] || crc8(answer[3:5]) != answer[5] {
		return sensor.Sample{}, fmt.Errorf("sht4x: answer % x: %w", answer, ErrChecksum)
	}
	s := sensor.Quantity(p.cfg.As).With(sensor.Blank(p.now()), -45+175*share(answer[0:2]))
	if p.cfg.As == "air" {
		s.Humidity = max(0, min(100, -6+125*share(answer[3:5]))) // as the datasheet crops it
	}
	return s, nil
}

// share is a word as a share of the largest.
func share(b []byte) float64 { return float64(binary.BigEndian.Uint16(b)) / math.MaxUint16 }

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }

// crc8 is the part's checksum: polynomial 0x31, begun with 0xFF.
func crc8(b []byte) byte {
	crc := byte(0xFF)
	for _, v := range b {
		crc ^= v
		for range 8 {
			carry := crc & 0x80
			crc <<= 1
			if carry != 0 {
				crc ^= 0x31
			}
		}
	}
	return crc
}
