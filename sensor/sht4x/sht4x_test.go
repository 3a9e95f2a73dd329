package sht4x

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// The datasheet's example: the checksum of 0xBEEF is 0x92.
func TestChecksumExample(t *testing.T) {
	if got := crc8([]byte{0xBE, 0xEF}); got != 0x92 {
		t.Errorf("got %#x", got)
	}
}

func read(t *testing.T, h *bus.Host, c Config) (sensor.Sample, error) {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	p, err := Open(h, c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	s, err := p.Read(t.Context())
	if closed := p.Close(); closed != nil && err == nil {
		t.Error(closed)
	}
	return s, err
}

// The ends of the datasheet's conversion are −45 and 130 °C; 0xBEEF, the word
// of its checksum example, is 85.523 °C.
func TestRead(t *testing.T) {
	for celsius, word := range map[float64][]byte{-45: {0x00, 0x00, 0x81}, 130: {0xFF, 0xFF, 0xAC}, 85.523003: {0xBE, 0xEF, 0x92}} {
		s, err := read(t, bustest.Playback(
			i2ctest.IO{Addr: 0x44, W: []byte{0xFD}},
			i2ctest.IO{Addr: 0x44, R: append(word, 0x80, 0x00, 0xA2)},
		), Defaults())
		if err != nil || math.Abs(s.Air-celsius) > 0.0001 || s.Knows(sensor.GlueLine) {
			t.Errorf("%x: got %+v, %v, want %v °C", word, s, err, celsius)
		}
	}
}

// The ends of the datasheet's conversion are −6 and 119 %, cropped to what air can
// have; 0x8000 is a hair above 56.5 %. In the glue line it is not the room's.
func TestHumidity(t *testing.T) {
	for percent, word := range map[float64][]byte{0: {0x00, 0x00, 0x81}, 100: {0xFF, 0xFF, 0xAC}, 56.500954: {0x80, 0x00, 0xA2}} {
		for as, want := range map[string]float64{"air": percent, "glueline": math.NaN()} {
			c := Defaults()
			c.As = as
			s, err := read(t, bustest.Playback(
				i2ctest.IO{Addr: 0x44, W: []byte{0xFD}},
				i2ctest.IO{Addr: 0x44, R: append([]byte{0xBE, 0xEF, 0x92}, word...)},
			), c)
			if err != nil || math.Abs(s.Humidity-want) > 1e-6 || math.IsNaN(want) == s.Knows(sensor.Humidity) {
				t.Errorf("%s, %x: got %+v, %v, want %v %%", as, word, s, err, want)
			}
			if slices.Contains(c.Reads(), sensor.Humidity) != (as == "air") {
				t.Errorf("%s reads %v", as, c.Reads())
			}
		}
	}
}

func TestFaults(t *testing.T) {
	_, err := read(t, bustest.Playback(
		i2ctest.IO{Addr: 0x44, W: []byte{0xFD}},
		i2ctest.IO{Addr: 0x44, R: []byte{0xBE, 0xEE, 0x92, 0x80, 0x00, 0xA2}},
	), Defaults())
	if !errors.Is(err, ErrChecksum) {
		t.Errorf("got %v", err)
	}
	_, err = read(t, bustest.Playback(
		i2ctest.IO{Addr: 0x44, W: []byte{0xFD}},
		i2ctest.IO{Addr: 0x44, R: []byte{0xBE, 0xEF, 0x92, 0x80, 0x01, 0xA2}},
	), Defaults())
	if !errors.Is(err, ErrChecksum) {
		t.Errorf("humidity: got %v", err)
	}
	if _, err := read(t, bustest.New(nil).Host(), Defaults()); err == nil || !strings.Contains(err.Error(), "nothing answers there") {
		t.Errorf("got %v", err)
	}
	c := Defaults()
	c.As = "bag"
	if c.Check() == nil {
		t.Error("a bag thermometer was accepted")
	}
}
