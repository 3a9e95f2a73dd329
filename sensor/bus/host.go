package bus

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2creg"
	"periph.io/x/host/v3"
	"periph.io/x/host/v3/sysfs"
)

// Host is the machine's buses. Use [New]; it is safe for concurrent use.
type Host struct {
	open func(name string) (i2c.BusCloser, error)

	mu    sync.Mutex
	locks map[string]*sync.Mutex // of each chip, by bus and address
}

// New returns the buses of this machine. Nothing is opened yet.
func New() *Host { return With(openPeriph()) }

// With returns a host whose buses are opened by open, for tests and for buses
// that periph does not find by itself.
func With(open func(name string) (i2c.BusCloser, error)) *Host {
	return &Host{open: open, locks: map[string]*sync.Mutex{}}
}

// openPeriph opens buses through periph, which looks for them once.
func openPeriph() func(string) (i2c.BusCloser, error) {
	look := sync.OnceValue(func() error {
		_, err := host.Init()
		return err
	})
	return func(name string) (i2c.BusCloser, error) {
		if err := look(); err != nil {
			return nil, fmt.Errorf("looking for buses: %w", err)
		}
		b, err := i2creg.Open(name)
		if err == nil {
			return b, nil
		}
		// A bus whose kernel module was loaded later is not in periph's list.
		if n, notNumber := strconv.Atoi(strings.TrimPrefix(name, "/dev/i2c-")); notNumber == nil {
			return sysfs.NewI2C(n)
		}
		return nil, err
	}
}

// Device opens the bus of that name ("1", "/dev/i2c-1"; empty: the first one
// there is) for the part at addr.
func (h *Host) Device(name string, addr int) (*Device, error) {
	if addr < 0x08 || addr > 0x77 {
		return nil, fmt.Errorf("I²C address 0x%02x: addresses go from 0x08 to 0x77", addr)
	}
	b, err := h.open(name)
	if err != nil {
		return nil, explainOpen(name, err)
	}
	return &Device{bus: b, name: b.String(), addr: uint16(addr), chip: h.lock(b.String(), addr)}, nil
}

// lock returns the one lock of a chip.
func (h *Host) lock(bus string, addr int) *sync.Mutex {
	h.mu.Lock()
	defer h.mu.Unlock()
	key := fmt.Sprintf("%s/%d", bus, addr)
	if h.locks[key] == nil {
		h.locks[key] = &sync.Mutex{}
	}
	return h.locks[key]
}

// Device is a part at an address of a bus.
type Device struct {
	bus  i2c.BusCloser
	name string
	addr uint16
	chip *sync.Mutex
}

// Tx writes w, then reads r, as one transfer. Its errors name the bus, the
// address and the remedy.
func (d *Device) Tx(w, r []byte) error {
	if err := d.bus.Tx(d.addr, w, r); err != nil {
		return explainTx(d.name, d.addr, err)
	}
	return nil
}

// Lock keeps others off the chip until Unlock. What a chip shared by several
// parts is told to measure and what it measured belong under one lock.
func (d *Device) Lock() { d.chip.Lock() }

// Unlock ends Lock.
func (d *Device) Unlock() { d.chip.Unlock() }

// Bus returns the bus itself, for a driver package that wants one.
func (d *Device) Bus() i2c.Bus { return d.bus }

// Explain makes an error that such a package returned say what to do.
func (d *Device) Explain(err error) error { return explainTx(d.name, d.addr, err) }

// Close closes this handle to the bus.
func (d *Device) Close() error { return d.bus.Close() }

// Wait waits for a conversion, or until ctx ends.
func Wait(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
