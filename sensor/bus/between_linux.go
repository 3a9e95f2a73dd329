package bus

import (
	"context"
	"errors"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// between keeps processes off each other's chips, as the daemon and a command
// that reads a sensor beside it: by locks of the bus's device file, one byte
// for each address. Locks of an open file, not of a process, so that they also
// work between two hosts of one process.
type between struct{ file *os.File }

// again is how long a lock that another holds is left alone.
const again = time.Millisecond

// openBetween opens the device file of a bus that periph calls I2C1. A bus
// without one is nobody else's.
func openBetween(bus string) *between {
	number, ok := strings.CutPrefix(bus, "I2C")
	if !ok {
		return nil
	}
	return openLockFile("/dev/i2c-" + number)
}

func openLockFile(path string) *between {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil
	}
	return &between{file: f}
}

func (b *between) lock(ctx context.Context, addr uint16) error {
	if b == nil {
		return nil
	}
	for {
		err := b.set(unix.F_WRLCK, addr)
		if !errors.Is(err, unix.EAGAIN) && !errors.Is(err, unix.EACCES) {
			return err
		}
		if err := Wait(ctx, again); err != nil {
			return err
		}
	}
}

// unlock cannot fail on a file that is open; closing it unlocks as well.
func (b *between) unlock(addr uint16) {
	if b != nil {
		_ = b.set(unix.F_UNLCK, addr)
	}
}

func (b *between) set(kind int16, addr uint16) error {
	return unix.FcntlFlock(b.file.Fd(), unix.F_OFD_SETLK, &unix.Flock_t{
		Type: kind, Whence: io.SeekStart, Start: int64(addr), Len: 1,
	})
}

func (b *between) close() error {
	if b == nil {
		return nil
	}
	return b.file.Close()
}
