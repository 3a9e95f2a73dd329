// Package hsc reads the digital pressure parts of the HSC and SSC series over
// I²C.
//
// Datasheet: Honeywell, TruStability HSC and SSC Series, 50099148 and 50099533,
// with the technical note on their I²C protocol (from memory; the transfer's
// ends are checked in the test).
//
// The part converts by itself and answers a read with two status bits, 14 bits
// of pressure and 11 of temperature:
//
//	p = (count − low·2¹⁴) · (max − min) / ((high − low)·2¹⁴) + min
//	t = count / 2047 · 200 − 50 °C
//
// with low and high by the transfer function of the part number: A 10 and 90 %,
// B 5 and 95 %, C 5 and 85 %, F 4 and 94 %.
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - Read faster than it converts, the part repeats itself and says "stale":
//     no fault once, but a part that says nothing else has stopped.
//   - The gauge parts of the series (…PG, …KG, …BG) begin at 0 and see no vacuum:
//     reference = "gauge" is for the differential ones (015PD, 100KD, 001BD).
//   - The two diagnostic bits mean a broken bridge or memory.
package hsc

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says which part of the series it is and where.
type Config struct {
	Bus         string  `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address     int     `toml:"address" doc:"I²C address, from the part number"`
	Transfer    string  `toml:"transfer" doc:"transfer function of the part number: A, B, C or F"`
	Reference   string  `toml:"reference" doc:"absolute, or gauge (against the room), which for a bag is a differential part"`
	MinPa       float64 `toml:"min_pa" doc:"lower end of the part's range, Pa; of a gauge part negative below the room"`
	MaxPa       float64 `toml:"max_pa" doc:"upper end of the part's range, Pa"`
	Temperature string  `toml:"temperature" doc:"what its temperature is: air, glueline or none"`
}

const psi = 6894.757293168 // Pa, NIST SP 811

// Defaults is the 0 to 15 psi absolute part with transfer function A.
func Defaults() Config {
	return Config{Address: 0x28, Transfer: "A", Reference: "absolute", MaxPa: 15 * psi, Temperature: "none"}
}

// Check refuses a part that the series does not have, or that sees no bag.
func (c Config) Check() error {
	if _, err := ends(c.Transfer); err != nil {
		return err
	}
	switch {
	case c.Reference != "absolute" && c.Reference != "gauge":
		return fmt.Errorf("reference is %q: give absolute or gauge", c.Reference)
	case !(c.MaxPa > c.MinPa) || (c.Reference == "absolute" && c.MinPa < 0):
		return fmt.Errorf("range of the part is %g to %g Pa: give min_pa and max_pa of the part number", c.MinPa, c.MaxPa)
	case c.Temperature != "air" && c.Temperature != "glueline" && c.Temperature != "none":
		return fmt.Errorf("temperature is %q: give air, glueline or none", c.Temperature)
	}
	return c.Span().Check()
}

// Span is the range of the part.
func (c Config) Span() sensor.Span {
	return sensor.SpanOf(c.Reference, c.MinPa, "min_pa", c.MaxPa, "max_pa")
}

// Reads is the bag, and what the temperature is.
func (c Config) Reads() []sensor.Quantity {
	reads := []sensor.Quantity{sensor.Bag}
	if c.Temperature != "none" {
		reads = append(reads, sensor.Quantity(c.Temperature))
	}
	return reads
}

// ends are the shares of 2^14 at both ends of the range.
func ends(transfer string) ([2]float64, error) {
	switch transfer {
	case "A":
		return [2]float64{0.10, 0.90}, nil
	case "B":
		return [2]float64{0.05, 0.95}, nil
	case "C":
		return [2]float64{0.05, 0.85}, nil
	case "F":
		return [2]float64{0.04, 0.94}, nil
	}
	return [2]float64{}, fmt.Errorf("transfer function is %q: give A, B, C or F, the letter of the part number", transfer)
}

// The two status bits.
const (
	statusGood    = 0
	statusCommand = 1
	statusStale   = 2
)

// Errors of the part itself.
var (
	ErrDiagnostic = errors.New("the part reports a fault of its bridge or memory; check its supply, then replace it")
	ErrCommand    = errors.New("the part is in command mode; cycle its power")
	ErrStale      = errors.New("the part has stopped converting; cycle its power")
)

// How often a read is tried again that finds nothing new, and after what time:
// the part converts about once a millisecond.
const (
	tries = 5
	again = 2 * time.Millisecond
)

// Part is an open part.
type Part struct {
	dev   *bus.Device
	ends  [2]float64
	cfg   Config
	now   func() time.Time
	count float64 // of pressure, at the newest reading
}

// Open opens the part. Whether it is there is known with the first reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	e, err := ends(c.Transfer)
	if err != nil {
		return nil, fmt.Errorf("hsc: %w", err)
	}
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("hsc: %w", err)
	}
	return &Part{dev: dev, ends: e, cfg: c, now: now}, nil
}

// Read returns the newest conversion.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	release, err := p.dev.Claim(ctx)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("hsc: %w", err)
	}
	defer release()
	for range tries {
		var answer [4]byte
		if err := p.dev.Tx(nil, answer[:]); err != nil {
			return sensor.Sample{}, fmt.Errorf("hsc: %w", err)
		}
		switch answer[0] >> 6 {
		case statusGood:
			return p.sample(answer), nil
		case statusCommand:
			return sensor.Sample{}, fmt.Errorf("hsc: %w", ErrCommand)
		case statusStale:
			if err := bus.Wait(ctx, again); err != nil {
				return sensor.Sample{}, fmt.Errorf("hsc: %w", err)
			}
		default:
			return sensor.Sample{}, fmt.Errorf("hsc: %w", ErrDiagnostic)
		}
	}
	return sensor.Sample{}, fmt.Errorf("hsc: %w", ErrStale)
}

// Raw is what the part gave at the newest reading, before it was converted.
func (p *Part) Raw() string { return fmt.Sprintf("%.0f counts", p.count) }

func (p *Part) sample(answer [4]byte) sensor.Sample {
	const full = 1 << 14
	p.count = float64(uint16(answer[0]&0x3F)<<8 | uint16(answer[1]))
	share := (p.count/full - p.ends[0]) / (p.ends[1] - p.ends[0])
	pa := p.cfg.MinPa + share*(p.cfg.MaxPa-p.cfg.MinPa)
	s := sensor.Blank(p.now())
	if p.cfg.Reference == "gauge" {
		s = sensor.FromVacuum(s.Time, -pa)
	} else {
		s.Bag = pa
	}
	if p.count == 0 || p.count == full-1 {
		s.Quality |= sensor.Saturated
	}
	warmth := float64(uint16(answer[2])<<3|uint16(answer[3])>>5)/2047*200 - 50
	return sensor.Quantity(p.cfg.Temperature).With(s, warmth) // none leaves it as it is
}

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
