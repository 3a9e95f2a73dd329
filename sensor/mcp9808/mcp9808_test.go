package mcp9808

import (
	"errors"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// The register map of the datasheet: bits 11 to 0 weigh 2^7 to 2^−4 °C, bit 12
// is the sign (two's complement), bits 15 to 13 are alerts.
func TestWeights(t *testing.T) {
	for word, want := range map[uint16]float64{
		0x0000: 0, 0x0001: 0.0625, 0x0010: 1, 0x0190: 25, 0x0194: 25.25, 0x07D0: 125,
		0x1FFF: -0.0625, 0x1FF0: -1, 0x1E6C: -25.25, 0x1D80: -40, 0xC194: 25.25, 0x3FF0: -1,
	} {
		if got := celsius(word); got != want {
			t.Errorf("%04X: got %v °C, want %v", word, got, want)
		}
	}
}

func identity(maker, device uint16) []i2ctest.IO {
	return []i2ctest.IO{
		{Addr: 0x18, W: []byte{0x06}, R: []byte{byte(maker >> 8), byte(maker)}},
		{Addr: 0x18, W: []byte{0x07}, R: []byte{byte(device >> 8), byte(device)}},
	}
}

func TestWire(t *testing.T) {
	ops := append(identity(0x0054, 0x0400), i2ctest.IO{Addr: 0x18, W: []byte{0x05}, R: []byte{0xC1, 0x94}})
	p, err := Open(bustest.Playback(ops...), Defaults(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if s, err := p.Read(t.Context()); err != nil || s.GlueLine != 25.25 {
		t.Errorf("got %+v, %v", s, err)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}

func TestFaults(t *testing.T) {
	if _, err := Open(bustest.Playback(identity(0x0054, 0x0201)...), Defaults(), time.Now); !errors.Is(err, ErrNotMCP9808) {
		t.Errorf("another part: got %v", err)
	}
	if _, err := Open(bustest.New(nil).Host(), Defaults(), time.Now); err == nil || !strings.Contains(err.Error(), "nothing answers there") {
		t.Errorf("absent: got %v", err)
	}
	c := Defaults()
	c.As = "bag"
	if c.Check() == nil {
		t.Error("a bag thermometer was accepted")
	}
}
