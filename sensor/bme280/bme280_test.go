package bme280

import (
	"encoding/binary"
	"errors"
	"math"
	"slices"
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
	rawH      uint16
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
	binary.BigEndian.PutUint16(c.Bytes[0xFD:], 0x8000)
	c.Bytes[0xF2], c.Bytes[0xF4], c.Bytes[0xF5] = 0, 0, 0
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
		if c.Bytes[0xF2]&7 != 0 { // else the hygrometer is skipped
			binary.BigEndian.PutUint16(c.Bytes[0xFD:], c.rawH)
		}
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

// hygrometer gives the part coefficients such as parts have, and a raw humidity.
func (c *chip) hygrometer(raw uint16) *chip {
	c.rawH = raw
	c.Bytes[0xA1] = 75                                             // H1
	copy(c.Bytes[0xE1:], []byte{0x68, 0x01, 0, 0x14, 0x21, 3, 30}) // H2 360, H3 0, H4 321, H5 50, H6 30
	return c
}

// compensateH is the integer arithmetic of the BME280's datasheet (BST-BME280-DS002,
// section on the compensation formulas; from memory): an independent check of the
// driver package, which computes in floating point. %, at the example's temperature.
func compensateH(raw uint16) float64 {
	const h1, h2, h3, h4, h5, h6, fine = 75, 360, 0, 321, 50, 30, 128422
	v := int32(fine - 76800)
	offset := (int32(raw)<<14 - h4<<20 - h5*v + 16384) >> 15
	warmth := ((v*h6)>>10)*(((v*h3)>>11)+32768)>>10 + 2097152
	v = offset * ((warmth*h2 + 8192) >> 14)
	v -= (((v >> 15) * (v >> 15)) >> 7) * h1 >> 4
	return float64(max(0, min(419430400, v))>>12) / 1024
}

func TestHumidity(t *testing.T) {
	for _, raw := range []uint16{22000, 26000, 30000, 34000, 50000} {
		synctest.Test(t, func(t *testing.T) {
			cfg := Defaults()
			cfg.Humid = true
			p, _, err := open(t, example().hygrometer(raw), cfg)
			if err != nil {
				t.Fatal(err)
			}
			s, err := p.Read(t.Context())
			if want := compensateH(raw); err != nil || math.Abs(s.Humidity-want) > 0.05 {
				t.Errorf("raw %d: got %.2f %%, %v, want %.2f", raw, s.Humidity, err, want)
			}
			if math.Abs(s.Air-25.08) > 0.001 || !slices.Contains(cfg.Reads(), sensor.Humidity) {
				t.Errorf("got %+v, reads %v", s, cfg.Reads())
			}
		})
	}
}

func TestNoHygrometer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := Defaults()
		cfg.Humid = true
		c := example()
		c.Bytes[0xD0] = 0x58
		if _, _, err := open(t, c, cfg); !errors.Is(err, ErrNotHumid) {
			t.Errorf("a BMP280: %v", err)
		}
		c = example().hygrometer(30000)
		p, _, err := open(t, c, cfg)
		if err != nil {
			t.Fatal(err)
		}
		binary.BigEndian.PutUint16(c.Bytes[0xFD:], 0x8000) // skipped
		if _, err := p.Read(t.Context()); !errors.Is(err, ErrNoReading) {
			t.Errorf("skipped: %v", err)
		}
	})
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
