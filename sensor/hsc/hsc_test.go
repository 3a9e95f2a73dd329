package hsc

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/i2c/i2ctest"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

func open(t *testing.T, h *bus.Host, c Config) *Part {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	p, err := Open(h, c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// answer is what the part says: status, pressure and temperature counts.
func answer(status byte, pressure, temperature uint16) i2ctest.IO {
	return i2ctest.IO{Addr: 0x28, R: []byte{
		status<<6 | byte(pressure>>8), byte(pressure), byte(temperature >> 3), byte(temperature << 5),
	}}
}

// The ends of each transfer function (datasheet, "Transfer Function") are the
// ends of the range: 10 % of 2^14 is 1638.4 counts, 90 % is 14745.6. The
// temperature's ends are −50 and 150 °C.
func TestTransfer(t *testing.T) {
	for _, c := range []struct {
		letter string
		count  uint16
		share  float64
	}{
		{"A", 1638, 0}, {"A", 14746, 1}, {"A", 8192, 0.5}, {"B", 819, 0}, {"B", 15565, 1}, {"C", 819, 0}, {"C", 13926, 1}, {"F", 655, 0}, {"F", 15401, 1},
	} {
		cfg := Defaults()
		cfg.Transfer, cfg.Temperature = c.letter, "air"
		p := open(t, bustest.Playback(answer(0, c.count, 2047)), cfg)
		s, err := p.Read(t.Context())
		if want := fmt.Sprintf("%d counts", c.count); p.Raw() != want {
			t.Errorf("raw is %q, want %q", p.Raw(), want)
		}
		step := cfg.MaxPa / (0.8 * (1 << 14))
		if err != nil || math.Abs(s.Bag-c.share*cfg.MaxPa) > step {
			t.Errorf("%s, count %d: got %v Pa, %v, want %v of the range", c.letter, c.count, s.Bag, err, c.share)
		}
		if math.Abs(s.Air-150) > 1e-9 {
			t.Errorf("%s: got %v °C", c.letter, s.Air)
		}
		if err := p.Close(); err != nil {
			t.Error(err)
		}
	}
}

// A −15 to +15 psi differential part under 12 psi of vacuum.
func TestGauge(t *testing.T) {
	c := Defaults()
	c.Reference, c.MinPa, c.MaxPa = "gauge", -15*psi, 15*psi
	share := (15.0 - 12) / 30
	p := open(t, bustest.Playback(answer(0, uint16(math.Round((0.1+0.8*share)*16384)), 0)), c)
	s, err := p.Read(t.Context())
	if err != nil || math.Abs(s.GaugeVacuum()-12*psi) > 16 {
		t.Errorf("got %v Pa, %v", s.GaugeVacuum(), err)
	}
}

func TestStatus(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := open(t, bustest.Playback(answer(2, 8192, 0), answer(0, 8192, 0)), Defaults())
		if s, err := p.Read(t.Context()); err != nil || math.Abs(s.Bag-7.5*psi) > 1 {
			t.Errorf("stale once: got %v, %v", s.Bag, err)
		}
		for status, want := range map[byte]error{1: ErrCommand, 3: ErrDiagnostic} {
			p := open(t, bustest.Playback(answer(status, 8192, 0)), Defaults())
			if _, err := p.Read(t.Context()); !errors.Is(err, want) {
				t.Errorf("status %d: got %v, want %v", status, err, want)
			}
		}
		stopped := slices.Repeat([]i2ctest.IO{answer(2, 8192, 0)}, tries)
		if _, err := open(t, bustest.Playback(stopped...), Defaults()).Read(t.Context()); !errors.Is(err, ErrStale) {
			t.Errorf("stopped: got %v", err)
		}
	})
}

func TestEndOfScale(t *testing.T) {
	p := open(t, bustest.Playback(answer(0, 16383, 0)), Defaults())
	if s, err := p.Read(t.Context()); err != nil || !s.Quality.Has(sensor.Saturated) {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestAbsent(t *testing.T) {
	p := open(t, bustest.New(nil).Host(), Defaults())
	if _, err := p.Read(t.Context()); err == nil || !strings.Contains(err.Error(), "nothing answers there") {
		t.Errorf("got %v", err)
	}
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"transfer":    func(c *Config) { c.Transfer = "D" },
		"reference":   func(c *Config) { c.Reference = "sealed" },
		"range":       func(c *Config) { c.MaxPa = c.MinPa },
		"absolute":    func(c *Config) { c.MinPa = -1 },
		"no vacuum":   func(c *Config) { c.Reference = "gauge" }, // as 015PG, which begins at 0
		"temperature": func(c *Config) { c.Temperature = "bag" },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
