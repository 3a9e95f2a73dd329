package ads1115

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config describes the converter, the part on it and the transfer.
type Config struct {
	Bus     string  `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address int     `toml:"address" doc:"I²C address, 0x48 to 0x4b by the ADDR pin"`
	RangeV  float64 `toml:"range_v" doc:"range of the converter, ± volts"`
	Rate    int     `toml:"rate" doc:"conversions a second; slower is quieter"`

	Channel       int     `toml:"channel" doc:"input of the signal, 0 to 3"`
	Divider       float64 `toml:"divider" doc:"signal volts for each volt at the input"`
	SupplyChannel int     `toml:"supply_channel" doc:"input on which the part's supply is measured, 0 to 3; -1: it is not"`
	SupplyDivider float64 `toml:"supply_divider" doc:"supply volts for each volt at that input"`
	SupplyV       float64 `toml:"supply_v" doc:"nominal supply of the part, volts"`

	Reference string  `toml:"reference" doc:"gauge (against the room) or absolute"`
	LowV      float64 `toml:"low_v" doc:"signal at low_pa with the nominal supply, volts"`
	LowPa     float64 `toml:"low_pa" doc:"pressure there, Pa; of a gauge part negative below the room"`
	HighV     float64 `toml:"high_v" doc:"signal at high_pa, volts"`
	HighPa    float64 `toml:"high_pa" doc:"pressure there, Pa"`
	Margin    float64 `toml:"margin" doc:"how far beyond the two points a signal is believed, as a share of their distance"`
}

// Defaults is the −14.5 to +30 psi gauge part with 0.5 to 4.5 V, its supply
// not measured.
func Defaults() Config {
	const psi = 6894.757293168 // Pa, NIST SP 811
	return Config{
		Address: 0x48, RangeV: 6.144, Rate: 128,
		Divider: 1, SupplyChannel: -1, SupplyDivider: 1, SupplyV: 5,
		Reference: "gauge", LowV: 0.5, LowPa: -14.5 * psi, HighV: 4.5, HighPa: 30 * psi, Margin: 0.06,
	}
}

// Check refuses what cannot be wired or computed, and a part that sees no bag.
func (c Config) Check() error {
	if _, err := gainOf(c.RangeV); err != nil {
		return err
	}
	if _, err := rateOf(c.Rate); err != nil {
		return err
	}
	switch {
	case c.Channel < 0 || c.Channel > 3:
		return fmt.Errorf("channel is %d: give 0 to 3", c.Channel)
	case c.SupplyChannel < -1 || c.SupplyChannel > 3 || c.SupplyChannel == c.Channel:
		return fmt.Errorf("supply_channel is %d: give another one of 0 to 3, or -1", c.SupplyChannel)
	case !(c.Divider > 0) || !(c.SupplyDivider > 0) || !(c.SupplyV > 0):
		return fmt.Errorf("divider %g, supply_divider %g and supply_v %g must be above 0", c.Divider, c.SupplyDivider, c.SupplyV)
	case c.Reference != "gauge" && c.Reference != "absolute":
		return fmt.Errorf("reference is %q: give gauge or absolute", c.Reference)
	case !(c.HighV > c.LowV) || c.HighPa == c.LowPa:
		return fmt.Errorf("transfer goes from %g V, %g Pa to %g V, %g Pa: give two different points, low_v below high_v", c.LowV, c.LowPa, c.HighV, c.HighPa)
	case !(c.Margin >= 0):
		return fmt.Errorf("margin is %g: give a share, 0 or more", c.Margin)
	}
	return c.Span().Check()
}

// Span is the range between the two points of the transfer.
func (c Config) Span() sensor.Span {
	return sensor.SpanOf(c.Reference, c.LowPa, "low_pa", c.HighPa, "high_pa")
}

// Errors of the part on the converter.
var (
	ErrSignal = errors.New("no signal that the part can give: is a wire broken, or the transfer that of another part?")
	ErrSupply = errors.New("the part's supply is more than a fifth off its nominal value; check it, supply_v and supply_divider")
)

// Part is an open analogue part.
type Part struct {
	converter *Converter
	cfg       Config
	now       func() time.Time
	volts     []float64 // at the inputs, at the newest reading
}

// Open opens the converter. Whether it is there is known with the first
// reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	converter, err := OpenConverter(h, c.Bus, c.Address, c.RangeV, c.Rate)
	if err != nil {
		return nil, fmt.Errorf("ads1115: %w", err)
	}
	return &Part{converter: converter, cfg: c, now: now}, nil
}

// Read measures the signal and, when it has a channel, the supply.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	channels := []int{p.cfg.Channel}
	if p.cfg.SupplyChannel >= 0 {
		channels = append(channels, p.cfg.SupplyChannel)
	}
	volts, clipped, err := p.converter.Volts(ctx, channels...)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("ads1115: %w", err)
	}
	p.volts = volts
	signal := volts[0] * p.cfg.Divider
	if len(volts) > 1 {
		supply := volts[1] * p.cfg.SupplyDivider
		if !(supply > 0.8*p.cfg.SupplyV && supply < 1.2*p.cfg.SupplyV) {
			return sensor.Sample{}, fmt.Errorf("ads1115: supply %.2f V, nominal %.2f V: %w", supply, p.cfg.SupplyV, ErrSupply)
		}
		signal *= p.cfg.SupplyV / supply
	}
	return p.sample(signal, clipped)
}

// Raw is what stood at the converter's inputs at the newest reading.
func (p *Part) Raw() string {
	switch len(p.volts) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("%.4f V", p.volts[0])
	}
	return fmt.Sprintf("%.4f V, supply %.4f V", p.volts[0], p.volts[1])
}

// sample turns the signal at the nominal supply into a pressure.
func (p *Part) sample(signal float64, clipped bool) (sensor.Sample, error) {
	c := &p.cfg
	share := (signal - c.LowV) / (c.HighV - c.LowV)
	if share < -c.Margin || share > 1+c.Margin {
		return sensor.Sample{}, fmt.Errorf("ads1115: signal %.3f V outside %.3f to %.3f V: %w", signal, c.LowV, c.HighV, ErrSignal)
	}
	pa := c.LowPa + share*(c.HighPa-c.LowPa)
	s := sensor.FromVacuum(p.now(), -pa)
	if c.Reference == "absolute" {
		s = sensor.Blank(p.now())
		s.Bag = pa
	}
	if clipped {
		s.Quality |= sensor.Saturated
	}
	return s, nil
}

// Close closes the converter's handle to the bus.
func (p *Part) Close() error { return p.converter.Close() }
