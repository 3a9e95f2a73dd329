package bus_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"

	"periph.io/x/conn/v3/i2c"

	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

func TestOpenErrorsTeach(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{fmt.Errorf("open /dev/i2c-1: %w", fs.ErrPermission), "group i2c"},
		{errors.New("sysfs-i2c: are you member of group 'plugdev'? open /dev/i2c-1: permission denied"), "group i2c"},
		{errors.New("i2creg: no bus found; did you forget to call Init()?"), "enable I²C"},
		{errors.New("sysfs-i2c: bus #1 is not configured: open /dev/i2c-1: no such file or directory"), "enable I²C"},
		{errors.New("something else"), "ls /dev/i2c-*"},
	} {
		h := bus.With(func(string) (i2c.BusCloser, error) { return nil, c.err })
		_, err := h.Device("1", 0x18)
		if err == nil || !strings.Contains(err.Error(), c.want) || !errors.Is(err, c.err) {
			t.Errorf("%v does not say %q", err, c.want)
		}
	}
}

func TestTransferErrorsTeach(t *testing.T) {
	b := bustest.New(nil)
	d, err := b.Host().Device("", 0x18)
	if err != nil {
		t.Fatal(err)
	}
	for number, want := range map[syscall.Errno]string{
		syscall.EREMOTEIO: "nothing answers there",
		syscall.ENXIO:     "nothing answers there",
		syscall.ETIMEDOUT: "held down",
		syscall.EBUSY:     "kernel driver",
		syscall.EIO:       "check the wiring",
	} {
		b.Fail(number)
		err := d.Tx([]byte{1}, nil)
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "I2C1 address 0x18") {
			t.Errorf("%v does not say %q and the place", err, want)
		}
	}
}

func TestImpossibleAddress(t *testing.T) {
	for _, addr := range []int{-1, 0, 7, 0x79, 0x100} {
		if _, err := bustest.New(nil).Host().Device("", addr); err == nil {
			t.Errorf("address %#x was taken", addr)
		}
	}
}

func TestPartsOfOneChipTakeTurns(t *testing.T) {
	h := bustest.New(nil).Host()
	open := func(addr int) *bus.Device {
		d, err := h.Device("1", addr)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	free, err := open(0x49).Claim(t.Context()) // has nothing to do with the chip at 0x48
	if err != nil {
		t.Fatal(err)
	}
	defer free()
	var wg sync.WaitGroup
	count := 0
	for _, d := range []*bus.Device{open(0x48), open(0x48)} {
		wg.Go(func() {
			for range 1000 {
				release, err := d.Claim(t.Context())
				if err != nil {
					t.Error(err)
					return
				}
				seen := count
				runtime.Gosched()
				count = seen + 1
				release()
			}
		})
	}
	wg.Wait()
	if count != 2000 {
		t.Errorf("%d of 2000 turns: two parts had the chip at once", count)
	}
}

// Whoever waits for a chip that is never given back waits no longer than its
// context.
func TestClaimEnds(t *testing.T) {
	h := bustest.New(nil).Host()
	d, err := h.Device("1", 0x48)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.Claim(t.Context()); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := d.Claim(ctx); !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "0x48 is in use") {
		t.Errorf("got %v", err)
	}
}
