package bus

import (
	"context"
	"errors"
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

	// shared says that other processes may use these buses too.
	shared bool

	mu    sync.Mutex
	chips map[string]chip // by bus and address
}

// chip is free when there is something in it.
type chip chan struct{}

// New returns the buses of this machine. Nothing is opened yet.
func New() *Host {
	h := With(openPeriph())
	h.shared = true
	return h
}

// With returns a host whose buses are opened by open, for tests and for buses
// that periph does not find by itself.
func With(open func(name string) (i2c.BusCloser, error)) *Host {
	return &Host{open: open, chips: map[string]chip{}}
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

// FirstAddress and LastAddress are those that a part can have: 0x08 to 0x77 (NXP
// UM10204, section 3.1.12: the rest is reserved), and 0x78 besides, with which
// pressure parts of the hsc, mpr and abp2 families are sold all the same (their
// makers' order guides, from memory).
const (
	FirstAddress = 0x08
	LastAddress  = 0x78
)

// Device opens the bus of that name ("1", "/dev/i2c-1"; empty: the first one
// there is) for the part at addr.
func (h *Host) Device(name string, addr int) (*Device, error) {
	if addr < FirstAddress || addr > LastAddress {
		return nil, fmt.Errorf("I²C address 0x%02x: addresses go from 0x%02x to 0x%02x", addr, FirstAddress, LastAddress)
	}
	b, err := h.open(name)
	if err != nil {
		return nil, explainOpen(name, err)
	}
	d := &Device{bus: b, name: b.String(), addr: uint16(addr), chip: h.chip(b.String(), addr)}
	if h.shared {
		d.between = openBetween(b.String())
	}
	return d, nil
}

func (h *Host) chip(bus string, addr int) chip {
	h.mu.Lock()
	defer h.mu.Unlock()
	key := fmt.Sprintf("%s/%d", bus, addr)
	if h.chips[key] == nil {
		h.chips[key] = make(chip, 1)
		h.chips[key] <- struct{}{}
	}
	return h.chips[key]
}

// Device is a part at an address of a bus.
type Device struct {
	bus     i2c.BusCloser
	name    string
	addr    uint16
	chip    chip
	between *between // processes; nil: no other can use this bus
}

// Tx writes w, then reads r, as one transfer. Its errors name the bus, the
// address and the remedy.
func (d *Device) Tx(w, r []byte) error {
	if err := d.bus.Tx(d.addr, w, r); err != nil {
		return explainTx(d.name, d.addr, err)
	}
	return nil
}

// Claim keeps others off the chip until release is called. What a chip is told
// to measure and what it measured belong under one claim, or another part on
// the same converter, or a command beside the daemon, comes in between and the
// reading is that of another channel.
func (d *Device) Claim(ctx context.Context) (release func(), err error) {
	select {
	case <-d.chip:
	case <-ctx.Done():
		return nil, fmt.Errorf("%s address 0x%02x is in use: %w", d.name, d.addr, ctx.Err())
	}
	if err := d.between.lock(ctx, d.addr); err != nil {
		d.chip <- struct{}{}
		return nil, fmt.Errorf("%s address 0x%02x is in use by another process: %w", d.name, d.addr, err)
	}
	return func() {
		d.between.unlock(d.addr)
		d.chip <- struct{}{}
	}, nil
}

// Bus returns the bus itself, for a driver package that wants one.
func (d *Device) Bus() i2c.Bus { return d.bus }

// Explain makes an error that such a package returned say what to do.
func (d *Device) Explain(err error) error { return explainTx(d.name, d.addr, err) }

// Close closes this handle to the bus.
func (d *Device) Close() error { return errors.Join(d.between.close(), d.bus.Close()) }

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
