package mpr

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Config says which part of the family it is and where.
type Config struct {
	Bus      string  `toml:"bus" doc:"I²C bus, as 1 or /dev/i2c-1; the first one when not given"`
	Address  int     `toml:"address" doc:"I²C address, from the part number"`
	Transfer string  `toml:"transfer" doc:"transfer function of the part number: A, B or C"`
	MinPa    float64 `toml:"min_pa" doc:"lower end of the part's range, absolute, Pa"`
	MaxPa    float64 `toml:"max_pa" doc:"upper end of the part's range, absolute, Pa"`
}

// psi is one pound-force per square inch in pascal (NIST SP 811).
const psi = 6894.757293168

// Defaults is the 0 to 25 psi absolute part with transfer function A.
func Defaults() Config {
	return Config{Address: 0x18, Transfer: "A", MinPa: 0, MaxPa: 25 * psi}
}

// Check refuses a part that the family does not have, or that sees no bag.
func (c Config) Check() error {
	if _, err := c.transfer(); err != nil {
		return err
	}
	if !(c.MaxPa > c.MinPa && c.MinPa >= 0) {
		return fmt.Errorf("range of the part is %g to %g Pa: give min_pa and max_pa of an absolute part", c.MinPa, c.MaxPa)
	}
	return c.Span().Check()
}

// Span is the range of the part.
func (c Config) Span() sensor.Span {
	return sensor.SpanOf("absolute", c.MinPa, "min_pa", c.MaxPa, "max_pa")
}

// Bits of the status byte.
const (
	statusPowered   = 1 << 6
	statusBusy      = 1 << 5
	statusIntegrity = 1 << 2 // the memory test failed
	statusSaturated = 1 << 0
	statusAlwaysLow = 1<<7 | 1<<4 | 1<<3 | 1<<1
)

const (
	conversion  = 5 * time.Millisecond
	pollAgain   = 1 * time.Millisecond
	longestBusy = 50 * time.Millisecond
)

// Errors of the part itself.
var (
	ErrBusy      = errors.New("the part stays busy; cycle its power")
	ErrIntegrity = errors.New("the part's memory test failed; replace it")
	ErrUnpowered = errors.New("the part reports no supply; check its wiring")
	ErrNotMPR    = errors.New("the status is none that such a part gives; is another part at this address?")
)

// transfer is the share of full scale at both ends of the range.
type transfer struct{ low, high float64 }

func (c Config) transfer() (transfer, error) {
	switch c.Transfer {
	case "A":
		return transfer{0.10, 0.90}, nil
	case "B":
		return transfer{0.025, 0.225}, nil
	case "C":
		return transfer{0.20, 0.80}, nil
	}
	return transfer{}, fmt.Errorf("transfer function is %q: give A, B or C, the letter of the part number", c.Transfer)
}

// Part is one open part.
type Part struct {
	dev      *bus.Device
	transfer transfer
	cfg      Config
	now      func() time.Time
	count    uint32 // of the newest reading
}

// Open opens the part. Whether it is there is known with the first reading.
func Open(h *bus.Host, c Config, now func() time.Time) (*Part, error) {
	tf, err := c.transfer()
	if err != nil {
		return nil, fmt.Errorf("mpr: %w", err)
	}
	dev, err := h.Device(c.Bus, c.Address)
	if err != nil {
		return nil, fmt.Errorf("mpr: %w", err)
	}
	return &Part{dev: dev, transfer: tf, cfg: c, now: now}, nil
}

// Read makes one conversion; it takes some 5 ms, and 50 at most.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	var answer [4]byte
	saturated, err := Convert(ctx, p.dev, answer[:])
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("mpr: %w", err)
	}
	s := sensor.Blank(p.now())
	p.count = uint32(answer[1])<<16 | uint32(answer[2])<<8 | uint32(answer[3])
	s.Bag = p.pascal(p.count)
	if saturated {
		s.Quality |= sensor.Saturated
	}
	return s, nil
}

// Raw is what the part gave at the newest reading, before it was converted.
func (p *Part) Raw() string { return fmt.Sprintf("%d counts", p.count) }

// Convert asks a part of this family, or of one that speaks as it does, for a
// conversion and fills answer, whose first byte is the status.
func Convert(ctx context.Context, dev *bus.Device, answer []byte) (saturated bool, err error) {
	release, err := dev.Claim(ctx)
	if err != nil {
		return false, err
	}
	defer release()
	if err := dev.Tx([]byte{0xAA, 0x00, 0x00}, nil); err != nil {
		return false, fmt.Errorf("asking for a conversion: %w", err)
	}
	if err := await(ctx, dev, answer); err != nil {
		return false, fmt.Errorf("reading a conversion: %w", err)
	}
	return judge(answer[0])
}

// await polls until the conversion has ended.
func await(ctx context.Context, dev *bus.Device, answer []byte) error {
	pause := conversion
	for waited := time.Duration(0); waited < longestBusy; waited += pause {
		if waited > 0 {
			pause = pollAgain
		}
		if err := bus.Wait(ctx, pause); err != nil {
			return err
		}
		if err := dev.Tx(nil, answer); err != nil {
			return err
		}
		if answer[0]&statusBusy == 0 || answer[0]&statusAlwaysLow != 0 {
			return nil
		}
	}
	return ErrBusy
}

func judge(status byte) (saturated bool, err error) {
	switch {
	case status&statusAlwaysLow != 0:
		err = ErrNotMPR
	case status&statusPowered == 0:
		err = ErrUnpowered
	case status&statusIntegrity != 0:
		err = ErrIntegrity
	default:
		return status&statusSaturated != 0, nil
	}
	return false, fmt.Errorf("status 0x%02x: %w", status, err)
}

// pascal is the datasheet's transfer function.
func (p *Part) pascal(count uint32) float64 {
	const full = 1 << 24
	share := (float64(count)/full - p.transfer.low) / (p.transfer.high - p.transfer.low)
	return share*(p.cfg.MaxPa-p.cfg.MinPa) + p.cfg.MinPa
}

// Close closes the part's handle to the bus.
func (p *Part) Close() error { return p.dev.Close() }
