package bme280

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// chip is the part at register level.
type chip struct {
	bustest.Registers
	deafUntil time.Time // after a reset
	deafFor   time.Duration
	rawP      uint32
	rawT      uint32
}

// The worked example of the BMP280 datasheet (BST-BMP280-DS001, section on the
// compensation formula): these raw values and coefficients give 25.08 °C and
// 100653.27 Pa.
func example() *chip {
	c := &chip{deafFor: 2 * time.Millisecond, rawP: 415148, rawT: 519888}
	c.Bytes[0xD0] = 0x60
	for i, v := range []int{27504, 26435, -1000, 36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000} {
		binary.LittleEndian.PutUint16(c.Bytes[0x88+2*i:], uint16(v))
	}
	c.sleep()
	return c
}

func (c *chip) sleep() {
	for _, first := range []int{0xF7, 0xFA} {
		copy(c.Bytes[first:], []byte{0x80, 0, 0})
	}
	c.Bytes[0xF4], c.Bytes[0xF5] = 0, 0
}

func (c *chip) Tx(w, r []byte) error {
	if time.Now().Before(c.deafUntil) {
		return syscall.EREMOTEIO
	}
	if err := c.Registers.Tx(w, r); err != nil {
		return err
	}
	if len(w) == 2 && w[0] == 0xE0 && w[1] == 0xB6 {
		c.sleep()
		c.deafUntil = time.Now().Add(c.deafFor)
	}
	if len(w) == 2 && w[0] == 0xF4 && w[1]&3 == 3 {
		c.put(0xF7, c.rawP)
		c.put(0xFA, c.rawT)
	}
	return nil
}

func (c *chip) put(at int, raw uint32) {
	c.Bytes[at], c.Bytes[at+1], c.Bytes[at+2] = byte(raw>>12), byte(raw>>4), byte(raw<<4)
}

func open(t *testing.T, c *chip, cfg Config) (*Part, *bustest.Bus, error) {
	t.Helper()
	b := bustest.New(map[uint16]bustest.Part{0x76: c})
	p, err := Open(t.Context(), b.Host(), cfg, time.Now)
	return p, b, err
}

func TestDatasheetExample(t *testing.T) {
	for id, name := range map[byte]string{0x60: "BME280", 0x58: "BMP280"} {
		synctest.Test(t, func(t *testing.T) {
			c := example()
			c.Bytes[0xD0] = id
			p, _, err := open(t, c, Defaults())
			if err != nil {
				t.Fatal(name, err)
			}
			s, err := p.Read(t.Context())
			// The driver package computes in whole pascals.
			if err != nil || math.Abs(s.Ambient-100653.27) > 1 || math.Abs(s.Air-25.08) > 0.001 {
				t.Errorf("%s: got %v Pa, %v °C, %v", name, s.Ambient, s.Air, err)
			}
			if s.Knows(sensor.Bag) || s.Knows(sensor.GlueLine) || !s.Time.Equal(time.Now()) {
				t.Errorf("%s: got %+v", name, s)
			}
		})
	}
}

func TestWithoutAir(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := Defaults()
		cfg.Air = false
		p, _, err := open(t, example(), cfg)
		if err != nil {
			t.Fatal(err)
		}
		if s, err := p.Read(t.Context()); err != nil || s.Knows(sensor.Air) || len(cfg.Reads()) != 1 {
			t.Errorf("got %+v, %v", s, err)
		}
	})
}

func TestOpenFails(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*chip)
		want  error
	}{
		"another part":     {func(c *chip) { c.Bytes[0xD0] = 0x61 }, ErrNotBME280},
		"stays in reset":   {func(c *chip) { c.deafFor = time.Hour }, nil},
		"no part, no bits": {func(c *chip) { c.Bytes[0xD0] = 0xFF }, ErrNotBME280},
	} {
		synctest.Test(t, func(t *testing.T) {
			chip := example()
			c.spoil(chip)
			_, _, err := open(t, chip, Defaults())
			if err == nil || (c.want != nil && !errors.Is(err, c.want)) {
				t.Errorf("%s: got %v, want %v", name, err, c.want)
			}
		})
	}
}

func TestReadFails(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*chip, *bustest.Bus)
		want  string
	}{
		"lost its settings": {func(c *chip, _ *bustest.Bus) { c.sleep() }, ErrNoReading.Error()},
		"in the bag":        {func(c *chip, _ *bustest.Bus) { c.put(0xF7, 900000) }, ErrRange.Error()},
		"bus held down":     {func(_ *chip, b *bustest.Bus) { b.Fail(syscall.ETIMEDOUT) }, "held down"},
	} {
		synctest.Test(t, func(t *testing.T) {
			chip := example()
			p, b, err := open(t, chip, Defaults())
			if err != nil {
				t.Fatal(err)
			}
			c.spoil(chip, b)
			if _, err := p.Read(t.Context()); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s: got %v, want %q", name, err, c.want)
			}
			b.Fail(nil)
			chip.put(0xF7, chip.rawP)
			chip.put(0xFA, chip.rawT)
			if _, err := p.Read(t.Context()); err != nil {
				t.Errorf("%s: an old error sticks: %v", name, err)
			}
		})
	}
}

func TestWrongAddress(t *testing.T) {
	cfg := Defaults()
	cfg.Address = 0x77
	if _, _, err := open(t, example(), cfg); err == nil || !strings.Contains(err.Error(), "address 0x77") {
		t.Errorf("got %v", err)
	}
}
