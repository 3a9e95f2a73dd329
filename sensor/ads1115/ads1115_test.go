package ads1115

import (
	"errors"
	"math"
	"strings"
	"syscall"
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

func with(c *bustest.ADS1115) *bus.Host { return bustest.New(map[uint16]bustest.Part{0x48: c}).Host() }

// Step sizes of the ranges: ADS1115 datasheet (SBAS444), table of full-scale
// ranges.
func TestStepOfEachRange(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for rangeV, step := range map[float64]float64{
			6.144: 187.5e-6, 4.096: 125e-6, 2.048: 62.5e-6, 1.024: 31.25e-6, 0.512: 15.625e-6, 0.256: 7.8125e-6,
		} {
			c, err := OpenConverter(with(&bustest.ADS1115{Volts: [4]float64{2: step}}), "", 0x48, rangeV, 860)
			if err != nil {
				t.Fatal(err)
			}
			volts, clipped, err := c.Volts(t.Context(), 2)
			if err != nil || clipped || math.Abs(volts[0]-step) > 1e-12 {
				t.Errorf("±%v V: one step is %v V, %v, want %v", rangeV, volts, err, step)
			}
		}
	})
}

// A 0.5 to 4.5 V part of −14.5 to +30 psi has 11.125 psi/V: 0.5 V is −14.5 psi,
// 1.80337 V is 0, 4.5 V is 30 psi; one step of 187.5 µV is 14.4 Pa.
func TestGauge(t *testing.T) {
	const psi = 6894.757293168
	synctest.Test(t, func(t *testing.T) {
		for _, c := range []struct{ volts, psi float64 }{{0.5, -14.5}, {1.803371, 0}, {4.5, 30}, {0.75, -11.71875}} {
			p := open(t, with(&bustest.ADS1115{Volts: [4]float64{c.volts}}), Defaults())
			s, err := p.Read(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if got := -s.GaugeVacuum() / psi; math.Abs(got-c.psi) > 14.4/psi {
				t.Errorf("%v V: got %v psi, want %v", c.volts, got, c.psi)
			}
			if !s.Quality.Has(sensor.Gauge) || s.Knows(sensor.Ambient) {
				t.Errorf("%v V: got %+v", c.volts, s)
			}
		}
	})
}

// A supply of 4.8 V lowers the signal by 4 %; measuring it takes that out.
func TestRatiometric(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := Defaults()
		c.SupplyChannel, c.SupplyDivider = 3, 2
		p := open(t, with(&bustest.ADS1115{Volts: [4]float64{0: 0.7 * 4.8 / 5, 3: 2.4}}), c)
		s, err := p.Read(t.Context())
		want := 14.5*6894.757293168 - 0.2*11.125*6894.757293168
		if err != nil || math.Abs(s.GaugeVacuum()-want) > 20 {
			t.Errorf("got %v Pa, %v, want %v", s.GaugeVacuum(), err, want)
		}
	})
}

func TestAbsolute(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := Defaults()
		c.Reference, c.LowV, c.LowPa, c.HighV, c.HighPa = "absolute", 0, 0, 5, 100000
		s, err := open(t, with(&bustest.ADS1115{Volts: [4]float64{1}}), c).Read(t.Context())
		if err != nil || math.Abs(s.Bag-20000) > 5 || s.Quality != 0 {
			t.Errorf("got %+v, %v", s, err)
		}
	})
}

// Every byte on the wire: single shot of AIN1 against ground, ±6.144 V, 860 a
// second, comparator off (0xD1E3), and 0x2AAB counts, which are 2.0480625 V.
func TestWire(t *testing.T) {
	c := Defaults()
	c.Channel, c.Rate = 1, 860
	p := open(t, bustest.Playback(
		i2ctest.IO{Addr: 0x48, W: []byte{0x01, 0xD1, 0xE3}},
		i2ctest.IO{Addr: 0x48, W: []byte{0x01}, R: []byte{0x51, 0xE3}},
		i2ctest.IO{Addr: 0x48, W: []byte{0x01}, R: []byte{0xD1, 0xE3}},
		i2ctest.IO{Addr: 0x48, W: []byte{0x00}, R: []byte{0x2A, 0xAB}},
	), c)
	s, err := p.Read(t.Context())
	if p.Raw() != "2.0481 V" {
		t.Errorf("raw is %q", p.Raw())
	}
	want := (2.0480625 - 0.5) * 11.125 * 6894.757293168
	if err != nil || math.Abs(-s.GaugeVacuum()-(want-14.5*6894.757293168)) > 0.01 {
		t.Errorf("got %v Pa, %v", -s.GaugeVacuum(), err)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}

func TestFaults(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		supplied := Defaults()
		supplied.SupplyChannel = 1
		narrow := Defaults()
		narrow.RangeV = 2.048
		for _, c := range []struct {
			name string
			chip bustest.ADS1115
			cfg  Config
			want error
		}{
			{"broken wire", bustest.ADS1115{Volts: [4]float64{0.01}}, Defaults(), ErrSignal},
			{"short to supply", bustest.ADS1115{Volts: [4]float64{5}}, Defaults(), ErrSignal},
			{"no supply", bustest.ADS1115{Volts: [4]float64{0.6, 0.1}}, supplied, ErrSupply},
			{"wrong divider", bustest.ADS1115{Volts: [4]float64{0.6, 6.1}}, supplied, ErrSupply},
			{"busy for ever", bustest.ADS1115{BusyReads: 1 << 30}, Defaults(), ErrBusy},
		} {
			begin := time.Now()
			_, err := open(t, with(&c.chip), c.cfg).Read(t.Context())
			if !errors.Is(err, c.want) || time.Since(begin) > 100*time.Millisecond {
				t.Errorf("%s: got %v after %v, want %v", c.name, err, time.Since(begin), c.want)
			}
		}
		s, err := open(t, with(&bustest.ADS1115{Volts: [4]float64{3}}), narrow).Read(t.Context())
		if err != nil || !s.Quality.Has(sensor.Saturated) {
			t.Errorf("clipped: got %+v, %v", s, err)
		}
	})
}

func TestBusError(t *testing.T) {
	b := bustest.New(nil)
	p := open(t, b.Host(), Defaults())
	if _, err := p.Read(t.Context()); err == nil || !strings.Contains(err.Error(), "channel 0: I2C1 address 0x48") {
		t.Errorf("wrong address: %v", err)
	}
	b.Fail(syscall.ETIMEDOUT)
	if _, err := p.Read(t.Context()); err == nil || !strings.Contains(err.Error(), "held down") {
		t.Errorf("stuck bus: %v", err)
	}
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"range":          func(c *Config) { c.RangeV = 5 },
		"rate":           func(c *Config) { c.Rate = 100 },
		"channel":        func(c *Config) { c.Channel = 4 },
		"supply channel": func(c *Config) { c.SupplyChannel = 0 },
		"divider":        func(c *Config) { c.Divider = 0 },
		"reference":      func(c *Config) { c.Reference = "sealed" },
		"transfer":       func(c *Config) { c.HighV = c.LowV },
		"margin":         func(c *Config) { c.Margin = math.NaN() },
		"no vacuum":      func(c *Config) { c.LowPa = 0 },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: impossible part was accepted", name)
		}
	}
}
