package currentloop

import (
	"errors"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

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

func with(milliampere, ohm float64) *bus.Host {
	return bustest.New(map[uint16]bustest.Part{0x48: &bustest.ADS1115{Volts: [4]float64{milliampere / 1000 * ohm}}}).Host()
}

// IEC 60381-1: 4 mA is the lower end of the range, 20 mA the upper, 12 mA the
// middle.
func TestSignal(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for milliampere, vacuum := range map[float64]float64{4: 100000, 12: 50000, 20: 0, 6.4: 85000} {
			s, err := open(t, with(milliampere, 150), Defaults()).Read(t.Context())
			if err != nil || math.Abs(s.GaugeVacuum()-vacuum) > 5.3 {
				t.Errorf("%v mA: got %v Pa, %v, want %v", milliampere, s.GaugeVacuum(), err, vacuum)
			}
		}
		c := Defaults()
		c.Reference, c.LowPa, c.HighPa, c.ShuntOhm = "absolute", 0, 160000, 100
		p := open(t, with(5.6, 100), c)
		s, err := p.Read(t.Context())
		if p.Raw() != "5.600 mA" {
			t.Errorf("raw is %q", p.Raw())
		}
		if err != nil || math.Abs(s.Bag-16000) > 13 || s.Quality != 0 {
			t.Errorf("absolute: got %+v, %v", s, err)
		}
	})
}

// NAMUR NE 43: below 3.6 and above 21 mA is a fault; 3.8 and 20.5 are not.
func TestLimits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for milliampere, fault := range map[float64]bool{0: true, 3.5: true, 3.8: false, 20.5: false, 21.1: true, 25: true} {
			_, err := open(t, with(milliampere, 150), Defaults()).Read(t.Context())
			if errors.Is(err, ErrLoop) != fault {
				t.Errorf("%v mA: got %v", milliampere, err)
			}
		}
	})
}

func TestAbsent(t *testing.T) {
	if _, err := open(t, bustest.New(nil).Host(), Defaults()).Read(t.Context()); err == nil || !strings.HasPrefix(err.Error(), "currentloop: ") {
		t.Errorf("got %v", err)
	}
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"no shunt":  func(c *Config) { c.ShuntOhm = 0 },
		"big shunt": func(c *Config) { c.ShuntOhm = 250 },
		"channel":   func(c *Config) { c.Channel = 7 },
		"range":     func(c *Config) { c.HighPa = c.LowPa },
		"no vacuum": func(c *Config) { c.LowPa, c.HighPa = 0, 100000 },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
