package thermistor

import (
	"errors"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// The datasheet of Vishay's NTCLE100E3103 (10 kΩ, B25/85 3977 K) gives these
// coefficients and this table of resistances (from memory; it also gives the
// curve the other way round, R = R25·exp(A + B/T + C/T² + D/T³) with A −14.6337,
// B 4791.842, C −115334, D −3.730535e6, from which the table is computed).
func vishay() Config {
	c := Defaults()
	c.BetaK = 3977
	c.Coefficients = []float64{3.354016e-3, 2.569850e-4, 2.620131e-6, 6.383091e-8}
	return c
}

func TestDatasheetTable(t *testing.T) {
	table := map[float64]float64{-20: 96360.0, 0: 32554.8, 10: 19872.6, 25: 10000.2, 50: 3605.3, 85: 1070.3}
	for celsius, ohm := range table {
		if got := vishay().Celsius(ohm); math.Abs(got-celsius) > 0.02 {
			t.Errorf("%v Ω: got %v °C, want %v", ohm, got, celsius)
		}
	}
	// The two-term form holds between the temperatures of its B value only.
	twoTerms := vishay()
	twoTerms.Coefficients = nil
	for _, celsius := range []float64{25, 85} {
		if got := twoTerms.Celsius(table[celsius]); math.Abs(got-celsius) > 0.02 {
			t.Errorf("B value at %v °C: got %v", celsius, got)
		}
	}
	if off := twoTerms.Celsius(table[0]) - 0; math.Abs(off) < 0.2 || math.Abs(off) > 1 {
		t.Errorf("B value at 0 °C is off by %v K; the package's doc says about half a kelvin", off)
	}
}

func read(t *testing.T, c Config, volts [4]float64) (float64, error) {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	h := bustest.New(map[uint16]bustest.Part{0x48: &bustest.ADS1115{Volts: volts}}).Host()
	p, err := Open(h, c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	s, err := p.Read(t.Context())
	return s.GlueLine, err
}

func TestDivider(t *testing.T) {
	const at10 = 19872.6 // Ω, at 10 °C by the table
	synctest.Test(t, func(t *testing.T) {
		low := vishay()
		if c, err := read(t, low, [4]float64{3.3 * at10 / (at10 + 10000)}); err != nil || math.Abs(c-10) > 0.03 {
			t.Errorf("low side: got %v °C, %v", c, err)
		}
		high := vishay()
		high.Wired = "high"
		if c, err := read(t, high, [4]float64{3.3 * 10000 / (at10 + 10000)}); err != nil || math.Abs(c-10) > 0.03 {
			t.Errorf("high side: got %v °C, %v", c, err)
		}
		measured := vishay()
		measured.SupplyChannel = 2
		if c, err := read(t, measured, [4]float64{0: 3.1 * at10 / (at10 + 10000), 2: 3.1}); err != nil || math.Abs(c-10) > 0.03 {
			t.Errorf("with supply: got %v °C, %v", c, err)
		}
	})
}

func TestFaults(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		measured := vishay()
		measured.SupplyChannel = 2
		odd := vishay()
		odd.SeriesOhm = 1e6
		for name, c := range map[string]struct {
			cfg   Config
			volts [4]float64
			want  error
		}{
			"open":      {vishay(), [4]float64{3.3}, ErrOpen},
			"short":     {vishay(), [4]float64{0}, ErrShort},
			"no supply": {measured, [4]float64{0: 0.1, 2: 0.1}, ErrSupply},
			"odd":       {odd, [4]float64{3}, ErrRange},
		} {
			if _, err := read(t, c.cfg, c.volts); !errors.Is(err, c.want) {
				t.Errorf("%s: got %v, want %v", name, err, c.want)
			}
		}
		p, err := Open(bustest.New(nil).Host(), Defaults(), time.Now)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Read(t.Context()); err == nil {
			t.Error("absent: no error")
		}
	})
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"series":       func(c *Config) { c.SeriesOhm = 0 },
		"wired":        func(c *Config) { c.Wired = "middle" },
		"coefficients": func(c *Config) { c.Coefficients = []float64{1} },
		"beta":         func(c *Config) { c.BetaK = 0 },
		"as":           func(c *Config) { c.As = "bag" },
		"rate":         func(c *Config) { c.Rate = 3 },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
