package ads1115

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Registers and the bits of the config register.
const (
	regConversion = 0x00
	regConfig     = 0x01

	cfgStart      = 1 << 15 // reads 0 while converting
	cfgSingle     = 1 << 8
	cfgNoCompare  = 3
	cfgMuxShift   = 12
	cfgRangeShift = 9
	cfgRateShift  = 5

	muxGround = 4 // channel 0 against ground; the others follow
	fullScale = 32768
)

// ErrBusy means that a conversion did not end when it should have.
var ErrBusy = errors.New("the converter stays busy; cycle its power")

// Converter is one ADS1115, asked for single conversions.
type Converter struct {
	dev   *bus.Device
	gain  uint16
	volts float64 // full scale
	rate  uint16
	took  time.Duration // one conversion
}

// OpenConverter opens the converter with a range of ± rangeV volts and rate
// conversions a second, which both must be ones that it has.
func OpenConverter(h *bus.Host, busName string, address int, rangeV float64, rate int) (*Converter, error) {
	gain, err := gainOf(rangeV)
	if err != nil {
		return nil, err
	}
	code, err := rateOf(rate)
	if err != nil {
		return nil, err
	}
	dev, err := h.Device(busName, address)
	if err != nil {
		return nil, err
	}
	return &Converter{dev: dev, gain: gain, volts: rangeV, rate: code, took: time.Second / time.Duration(rate)}, nil
}

func gainOf(rangeV float64) (uint16, error) {
	for code, volts := range []float64{6.144, 4.096, 2.048, 1.024, 0.512, 0.256} {
		if volts == rangeV {
			return uint16(code), nil
		}
	}
	return 0, fmt.Errorf("range_v is %g: give 6.144, 4.096, 2.048, 1.024, 0.512 or 0.256", rangeV)
}

func rateOf(rate int) (uint16, error) {
	for code, perSecond := range []int{8, 16, 32, 64, 128, 250, 475, 860} {
		if perSecond == rate {
			return uint16(code), nil
		}
	}
	return 0, fmt.Errorf("rate is %d: give 8, 16, 32, 64, 128, 250, 475 or 860", rate)
}

// Volts measures the channels (0 to 3, against ground) one after the other,
// under one claim on the chip. clipped says that one was at the end of the
// range.
func (c *Converter) Volts(ctx context.Context, channels ...int) (volts []float64, clipped bool, err error) {
	release, err := c.dev.Claim(ctx)
	if err != nil {
		return nil, false, err
	}
	defer release()
	for _, channel := range channels {
		raw, err := c.convert(ctx, channel)
		if err != nil {
			return nil, false, fmt.Errorf("channel %d: %w", channel, err)
		}
		clipped = clipped || raw == fullScale-1 || raw == -fullScale
		volts = append(volts, float64(raw)*c.volts/fullScale)
	}
	return volts, clipped, nil
}

func (c *Converter) convert(ctx context.Context, channel int) (int16, error) {
	cfg := cfgStart | (muxGround+uint16(channel))<<cfgMuxShift | c.gain<<cfgRangeShift | cfgSingle | c.rate<<cfgRateShift | cfgNoCompare
	if err := c.dev.Tx([]byte{regConfig, byte(cfg >> 8), byte(cfg)}, nil); err != nil {
		return 0, err
	}
	if err := c.await(ctx); err != nil {
		return 0, err
	}
	var word [2]byte
	if err := c.dev.Tx([]byte{regConversion}, word[:]); err != nil {
		return 0, err
	}
	return int16(uint16(word[0])<<8 | uint16(word[1])), nil
}

// await waits for the conversion's time, which the part keeps to 10 %, and
// then asks whether it has ended.
func (c *Converter) await(ctx context.Context) error {
	for wait := c.took + c.took/10; wait < 4*c.took; wait += c.took / 2 {
		pause := c.took / 2
		if wait == c.took+c.took/10 {
			pause = wait
		}
		if err := bus.Wait(ctx, pause); err != nil {
			return err
		}
		var word [2]byte
		if err := c.dev.Tx([]byte{regConfig}, word[:]); err != nil {
			return err
		}
		if word[0]&(cfgStart>>8) != 0 {
			return nil
		}
	}
	return ErrBusy
}

// Close closes the converter's handle to the bus.
func (c *Converter) Close() error { return c.dev.Close() }
