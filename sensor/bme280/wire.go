package bme280

import (
	"tinygo.org/x/drivers/bme280"

	"github.com/nightclamp/nightclamp/sensor/bus"
)

// wire is the bus as the driver package sees it. That package drops some
// errors and prints others, so the wire keeps the first one and tells it
// nothing; and it looks at raw conversions, which that package does not show.
type wire struct {
	dev   *bus.Device
	humid bool // the hygrometer is read too
	err   error
}

// Tx makes a transfer with the part.
func (w *wire) Tx(_ uint16, out, in []byte) error {
	if w.err != nil {
		return nil //nolint:nilerr // kept for take; see above
	}
	w.err = w.dev.Tx(out, in)
	if w.err == nil && len(out) == 1 && out[0] == bme280.REG_PRESSURE && len(in) >= 6 {
		w.err = converted(in, w.humid)
	}
	return nil
}

// take returns the first error since the last take.
func (w *wire) take() error {
	err := w.err
	w.err = nil
	return err
}

// converted refuses the values that stand in the registers before the first
// conversion.
func converted(raw []byte, humid bool) error {
	unset := func(b []byte) bool { return b[0] == 0x80 && b[1] == 0 && b[2]&0xF0 == 0 }
	if unset(raw[0:]) || unset(raw[3:]) || humid && raw[6] == 0x80 && raw[7] == 0 {
		return ErrNoReading
	}
	return nil
}
