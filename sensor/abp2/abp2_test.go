package abp2

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
	"github.com/nightclamp/nightclamp/sensor/mpr"
)

const psi = 6894.757293168 // Pa, NIST SP 811

func open(t *testing.T, h *bus.Host, c Config) *Part {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	return openAny(t, h, c)
}

// openAny also opens a part that is no good on a bag.
func openAny(t *testing.T, h *bus.Host, c Config) *Part {
	t.Helper()
	p, err := Open(h, c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The datasheet's worked examples: a −1 to +1 psi part that gives 14260634
// counts is at 0.875 psi, and 6291456 counts of temperature are 25 °C.
func TestDatasheetExamples(t *testing.T) {
	c := Defaults()
	c.Reference, c.MinPa, c.MaxPa, c.Temperature = "gauge", -psi, psi, "glueline"
	if c.Check() == nil {
		t.Error("a part of 1 psi was taken for a bag")
	}
	p := openAny(t, bustest.Playback(
		i2ctest.IO{Addr: 0x28, W: []byte{0xAA, 0x00, 0x00}},
		i2ctest.IO{Addr: 0x28, R: []byte{0x40, 0xD9, 0x99, 0x9A, 0x60, 0x00, 0x00}},
	), c)
	s, err := p.Read(t.Context())
	if err != nil || math.Abs(-s.GaugeVacuum()/psi-0.875) > 1e-6 || math.Abs(s.GlueLine-25) > 1e-4 {
		t.Errorf("got %v psi, %v °C, %v", -s.GaugeVacuum()/psi, s.GlueLine, err)
	}
	if p.Raw() != "14260634 counts" {
		t.Errorf("raw is %q", p.Raw())
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}

func TestAbsolute(t *testing.T) {
	p := open(t, bustest.Playback(
		i2ctest.IO{Addr: 0x28, W: []byte{0xAA, 0x00, 0x00}},
		i2ctest.IO{Addr: 0x28, R: []byte{0x40, 0x80, 0x00, 0x00, 0x60, 0x00, 0x00}},
	), Defaults())
	if s, err := p.Read(t.Context()); err != nil || math.Abs(s.Bag-80000) > 0.1 || s.Quality != 0 {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestFaults(t *testing.T) {
	p := open(t, bustest.Playback(
		i2ctest.IO{Addr: 0x28, W: []byte{0xAA, 0x00, 0x00}},
		i2ctest.IO{Addr: 0x28, R: []byte{0x44, 0x80, 0x00, 0x00, 0x60, 0x00, 0x00}},
	), Defaults())
	if _, err := p.Read(t.Context()); !errors.Is(err, mpr.ErrIntegrity) {
		t.Errorf("got %v", err)
	}
	p = open(t, bustest.New(nil).Host(), Defaults())
	if _, err := p.Read(t.Context()); err == nil || !strings.HasPrefix(err.Error(), "abp2: ") {
		t.Errorf("got %v", err)
	}
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"reference":   func(c *Config) { c.Reference = "sealed" },
		"range":       func(c *Config) { c.MaxPa = c.MinPa },
		"absolute":    func(c *Config) { c.MinPa = -1 },
		"no vacuum":   func(c *Config) { c.Reference = "gauge" },
		"temperature": func(c *Config) { c.Temperature = "bag" },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
