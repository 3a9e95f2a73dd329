// Package thermistor reads a thermistor (NTC) in a divider, through an ADS1115
// converter: a thin bead that can stay in the glue line.
//
// Sources: Steinhart and Hart, Deep-Sea Research 15 (1968), in the extended form
// that makers publish,
//
//	1/T = a + b·ln(R/R0) + c·ln²(R/R0) + d·ln³(R/R0)
//
// with T in kelvin; and the B value, 1/T = 1/298.15 + ln(R/R25)/B, which is the
// same with two terms. (Both from memory.) The converter is that of package
// ads1115, with its traps.
//
// The divider is supply – series resistor – input – thermistor – ground (wired =
// "low"), or with the two exchanged ("high"). Only the ratio of the input to the
// supply counts.
//
// Wiring, ranges and noise: README.md.
package thermistor

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config describes the converter, the divider and the bead.
type Config struct {
	Bus           string  `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address       int     `toml:"address" doc:"I²C address of the converter, 0x48 to 0x4b by the ADDR pin"`
	RangeV        float64 `toml:"range_v" doc:"range of the converter, ± volts"`
	Rate          int     `toml:"rate" doc:"conversions a second; slower is quieter"`
	Channel       int     `toml:"channel" doc:"input at the divider's middle, 0 to 3"`
	SupplyChannel int     `toml:"supply_channel" doc:"input at the divider's supply, 0 to 3; -1: it is supply_v"`
	SupplyV       float64 `toml:"supply_v" doc:"supply of the divider where it is not measured, volts"`

	SeriesOhm    float64   `toml:"series_ohm" doc:"the divider's other resistor, ohm"`
	Wired        string    `toml:"wired" doc:"low: the thermistor is on the ground side; high: on the supply side"`
	R0Ohm        float64   `toml:"r0_ohm" doc:"resistance at 25 °C, or the reference of the coefficients, ohm"`
	BetaK        float64   `toml:"beta_k" doc:"the B value, K; not used when there are coefficients"`
	Coefficients []float64 `toml:"coefficients" doc:"a, b, c and d of 1/T = a + b·ln(R/R0) + c·ln²(R/R0) + d·ln³(R/R0)"`
	As           string    `toml:"as" doc:"where it lies: glueline or air"`
}

// Defaults is a 10 kΩ bead with B 3950 K below 10 kΩ.
func Defaults() Config {
	return Config{
		Address: 0x48, RangeV: 4.096, Rate: 128, SupplyChannel: -1, SupplyV: 3.3,
		SeriesOhm: 10000, Wired: "low", R0Ohm: 10000, BetaK: 3950, As: "glueline",
	}
}

// Check refuses what cannot be measured.
func (c Config) Check() error {
	a := ads1115.Defaults()
	a.RangeV, a.Rate, a.Channel, a.SupplyChannel = c.RangeV, c.Rate, c.Channel, c.SupplyChannel
	if err := a.Check(); err != nil {
		return err
	}
	switch {
	case !(c.SupplyV > 0) || !(c.SeriesOhm > 0) || !(c.R0Ohm > 0):
		return fmt.Errorf("supply_v %g, series_ohm %g and r0_ohm %g must be above 0", c.SupplyV, c.SeriesOhm, c.R0Ohm)
	case c.Wired != "low" && c.Wired != "high":
		return fmt.Errorf("wired is %q: give low or high, the side of the divider on which the thermistor is", c.Wired)
	case len(c.Coefficients) != 0 && len(c.Coefficients) != 4:
		return fmt.Errorf("%d coefficients: give four, with 0 for one that the datasheet does not have", len(c.Coefficients))
	case len(c.Coefficients) == 0 && !(c.BetaK > 0):
		return fmt.Errorf("beta_k is %g: give the B value of the datasheet", c.BetaK)
	case c.As != "glueline" && c.As != "air":
		return fmt.Errorf("as is %q: give glueline or air", c.As)
	}
	return nil
}

// Reads is where the thermistor lies.
func (c Config) Reads() []sensor.Quantity { return []sensor.Quantity{sensor.Quantity(c.As)} }

// Celsius is the temperature at which the bead has the resistance, °C.
func (c Config) Celsius(ohm float64) float64 {
	const zeroC, roomK = 273.15, 298.15
	a := [4]float64{1 / roomK, 1 / c.BetaK}
	if len(c.Coefficients) == 4 {
		a = [4]float64(c.Coefficients)
	}
	l := math.Log(ohm / c.R0Ohm)
	return 1/(a[0]+l*(a[1]+l*(a[2]+l*a[3]))) - zeroC
}

// Errors of the bead and its wires.
var (
	ErrOpen   = errors.New("the thermistor or its wire is open")
	ErrShort  = errors.New("the thermistor or its wires are shorted")
	ErrSupply = errors.New("the divider has no supply")
	ErrRange  = errors.New("no workshop has this temperature: are series_ohm, r0_ohm and wired those of the circuit?")
)

// Part is an open thermistor.
type Part struct {
	converter     *ads1115.Converter
	cfg           Config
	now           func() time.Time
	volts, supply float64 // at the newest reading
}

// Open opens the converter. Whether it is there is known with the first
// reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	converter, err := ads1115.OpenConverter(h, c.Bus, c.Address, c.RangeV, c.Rate)
	if err != nil {
		return nil, fmt.Errorf("thermistor: %w", err)
	}
	return &Part{converter: converter, cfg: c, now: now}, nil
}

// Read measures the divider and, when it has a channel, its supply.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	channels := []int{p.cfg.Channel}
	if p.cfg.SupplyChannel >= 0 {
		channels = append(channels, p.cfg.SupplyChannel)
	}
	volts, _, err := p.converter.Volts(ctx, channels...)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("thermistor: %w", err)
	}
	supply := p.cfg.SupplyV
	if len(volts) > 1 {
		supply = volts[1]
	}
	p.volts, p.supply = volts[0], supply
	c, err := p.judge(volts[0], supply)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("thermistor: %.3f of %.3f V: %w", volts[0], supply, err)
	}
	return sensor.Quantity(p.cfg.As).With(sensor.Blank(p.now()), c), nil
}

// Raw is what the divider gave at the newest reading, before it was converted.
func (p *Part) Raw() string { return fmt.Sprintf("%.4f of %.4f V", p.volts, p.supply) }

// judge turns the two voltages into a temperature, °C.
func (p *Part) judge(volts, supply float64) (float64, error) {
	if supply < 0.5 {
		return 0, ErrSupply
	}
	share := volts / supply // of the voltage, on the thermistor
	if p.cfg.Wired == "high" {
		share = 1 - share
	}
	switch {
	case share > 0.99:
		return 0, ErrOpen
	case share < 0.01:
		return 0, ErrShort
	}
	c := p.cfg.Celsius(p.cfg.SeriesOhm * share / (1 - share))
	if !(c > -40 && c < 125) {
		return 0, fmt.Errorf("%.1f °C: %w", c, ErrRange)
	}
	return c, nil
}

// Close closes the converter's handle to the bus.
func (p *Part) Close() error { return p.converter.Close() }
