package bmp388

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	tinygo "tinygo.org/x/drivers/bmp388"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// chip is the part at register level: no conversions before it is powered.
type chip struct {
	bustest.Registers
	pressure, temperature uint32
	deaf                  bool // it loses its settings
}

func newChip(id byte) *chip {
	c := &chip{pressure: 8300000, temperature: 8200000}
	c.Bytes[regID] = id
	put16 := func(at int, v int) { binary.LittleEndian.PutUint16(c.Bytes[regCalibration+at:], uint16(v)) } //nolint:gosec // two's complement
	put8 := func(at int, v int) { c.Bytes[regCalibration+at] = byte(v) }                                   //nolint:gosec // two's complement
	put16(0, 27504)
	put16(2, 19040)
	put8(4, -10)
	put16(5, 500)
	put16(7, -1100)
	put8(9, 35)
	put8(10, 0)
	put16(11, 25500)
	put16(13, 30500)
	put8(15, 3)
	put8(16, -8)
	put16(17, 15900)
	put8(19, 9)
	put8(20, -60)
	return c
}

func (c *chip) Tx(w, r []byte) error {
	if c.deaf && len(w) == 2 && w[0] == regPower {
		return nil
	}
	if c.Bytes[regPower] == normal {
		c.Bytes[regStatus] = pressureIsNew | 1<<6
		for i := range 3 {
			c.Bytes[regStatus+1+i] = byte(c.pressure >> (8 * i))
			c.Bytes[regStatus+4+i] = byte(c.temperature >> (8 * i))
		}
	}
	return c.Registers.Tx(w, r)
}

func open(t *testing.T, c *chip) (*Part, *bustest.Bus, error) {
	t.Helper()
	b := bustest.New(map[uint16]bustest.Part{0x77: c})
	p, err := Open(t.Context(), b.Host(), Defaults(), time.Now)
	return p, b, err
}

// The same chip, read through the integer arithmetic of tinygo.org/x/drivers.
func TestAgainstIntegerArithmetic(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newChip(idBMP388)
		p, b, err := open(t, c)
		if err != nil {
			t.Fatal(err)
		}
		other := tinygo.New(b)
		if err := other.Configure(tinygo.Config{Pressure: tinygo.Sampling8X, Mode: tinygo.Normal, ODR: tinygo.Odr12p5}); err != nil {
			t.Fatal(err)
		}
		compared := 0
		for c.pressure = 6200000; c.pressure < 10000000; c.pressure += 250000 {
			for c.temperature = 7600000; c.temperature < 8900000; c.temperature += 200000 {
				s, err := p.Read(t.Context())
				if errors.Is(err, ErrRange) {
					continue
				}
				pascal, _ := other.ReadPressure()
				celsius, _ := other.ReadTemperature()
				if err != nil || math.Abs(s.Ambient-float64(pascal)/100) > 0.5 || math.Abs(s.Air-float64(celsius)/100) > 0.02 {
					t.Errorf("%d, %d: got %v Pa, %v °C, %v; the other has %v Pa, %v °C",
						c.pressure, c.temperature, s.Ambient, s.Air, err, float64(pascal)/100, float64(celsius)/100)
				}
				compared++
			}
		}
		if compared < 20 {
			t.Errorf("only %d pairs compared", compared)
		}
	})
}

func TestBMP390(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p, _, err := open(t, newChip(idBMP390))
		if err != nil {
			t.Fatal(err)
		}
		if s, err := p.Read(t.Context()); err != nil || !s.Knows(sensor.Ambient) || s.Knows(sensor.Bag) {
			t.Errorf("got %+v, %v", s, err)
		}
	})
}

func TestFaults(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		if _, _, err := open(t, newChip(0x58)); !errors.Is(err, ErrNotBMP388) {
			t.Errorf("another part: got %v", err)
		}
		deaf := newChip(idBMP388)
		deaf.deaf = true
		if _, _, err := open(t, deaf); !errors.Is(err, ErrSettings) {
			t.Errorf("settings lost: got %v", err)
		}
		c := newChip(idBMP388)
		p, _, err := open(t, c)
		if err != nil {
			t.Fatal(err)
		}
		c.pressure = 0xFFFFFF
		if _, err := p.Read(t.Context()); !errors.Is(err, ErrRange) {
			t.Errorf("outside: got %v", err)
		}
		c.Bytes[regPower] = 0
		c.Bytes[regStatus] = 0
		if _, err := p.Read(t.Context()); !errors.Is(err, ErrStill) {
			t.Errorf("nothing new: got %v", err)
		}
	})
	if _, err := Open(t.Context(), bustest.New(nil).Host(), Defaults(), time.Now); err == nil || !strings.Contains(err.Error(), "nothing answers there") {
		t.Errorf("absent: got %v", err)
	}
}
