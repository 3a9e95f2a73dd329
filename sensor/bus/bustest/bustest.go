// Package bustest is an I²C bus with parts that behave at register level, for
// the tests of drivers: parts that are busy, stuck or absent and a bus that
// fails.
package bustest

import (
	"errors"
	"fmt"
	"sync"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2ctest"
	"periph.io/x/conn/v3/physic"

	"github.com/nightclamp/nightclamp/sensor/bus"
)

// Part is what sits at one address.
type Part interface {
	// Tx takes what the master writes, then fills in what it reads.
	Tx(w, r []byte) error
}

// Bus is a simulated bus. An address without a part does not answer.
type Bus struct {
	mu    sync.Mutex
	parts map[uint16]Part
	fail  error
	hang  chan struct{}
	count int
}

// New returns a bus with the parts at their addresses.
func New(parts map[uint16]Part) *Bus { return &Bus{parts: parts} }

// Fail makes every transfer fail with err, nil ends it.
func (b *Bus) Fail(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fail = err
}

// Hang makes transfers block, as with a clock line that is held down, until
// the returned function is called.
func (b *Bus) Hang() (release func()) {
	b.mu.Lock()
	defer b.mu.Unlock()
	hang := make(chan struct{})
	b.hang = hang
	return func() { close(hang) }
}

// Count is the number of transfers so far.
func (b *Bus) Count() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.count
}

// Tx is a transfer.
func (b *Bus) Tx(addr uint16, w, r []byte) error {
	b.mu.Lock()
	hang, fail, part := b.hang, b.fail, b.parts[addr]
	b.count++
	b.mu.Unlock()
	if hang != nil {
		<-hang
	}
	if fail != nil {
		return fmt.Errorf("bustest: %v", fail) //nolint:errorlint // as periph does: the text is all there is
	}
	if part == nil {
		return errors.New("bustest: remote I/O error") // EREMOTEIO, as Linux says it
	}
	return part.Tx(w, r)
}

// SetSpeed does nothing.
func (b *Bus) SetSpeed(physic.Frequency) error { return nil }

// String names the bus.
func (b *Bus) String() string { return "I2C1" }

// Close does nothing: the bus can be opened again.
func (b *Bus) Close() error { return nil }

// Host returns a host with this as its only bus.
func (b *Bus) Host() *bus.Host {
	return bus.With(func(string) (i2c.BusCloser, error) { return b, nil })
}

// Playback returns a host whose bus expects exactly these transfers. Closing
// the source that uses it fails when some are left.
func Playback(ops ...i2ctest.IO) *bus.Host {
	return bus.With(func(string) (i2c.BusCloser, error) {
		return &i2ctest.Playback{Ops: ops, DontPanic: true}, nil
	})
}

// Registers is a part that is a row of byte registers: a write sets the
// pointer and the registers from there, a read returns them from the pointer.
type Registers struct {
	Bytes   [256]byte
	Pointer byte
}

// Tx is a transfer.
func (p *Registers) Tx(w, r []byte) error {
	if len(w) > 0 {
		p.Pointer = w[0]
		for i, v := range w[1:] {
			p.Bytes[p.Pointer+byte(i)] = v
		}
	}
	for i := range r {
		r[i] = p.Bytes[p.Pointer+byte(i)]
	}
	return nil
}
