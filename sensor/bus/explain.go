package bus

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
)

// periph puts the kernel's error into its own as text, so that it can only be
// told by its words.
func says(err error, number syscall.Errno) bool {
	return errors.Is(err, number) || strings.Contains(err.Error(), number.Error())
}

// explainOpen says why a bus cannot be opened and what to do.
func explainOpen(name string, err error) error {
	what := "bus " + name
	if name == "" {
		what = "any bus"
	}
	remedy := "see which buses there are with: ls /dev/i2c-*"
	switch {
	case errors.Is(err, fs.ErrPermission) || says(err, syscall.EACCES) || says(err, syscall.EPERM):
		remedy = "the user needs the right to /dev/i2c-*: add it to the group i2c and log in again, or install the udev rule deploy/60-nightclamp.rules"
	case says(err, syscall.ENOENT) || strings.Contains(err.Error(), "no bus") || strings.Contains(err.Error(), "can't open unknown"):
		remedy = "enable I²C in the board's settings (on many boards: dtparam=i2c_arm=on), load the module i2c-dev and restart; " + remedy
	}
	return fmt.Errorf("opening I²C %s: %w; %s", what, err, remedy)
}

// remoteIO is Linux's EREMOTEIO, which other systems do not have.
const remoteIO = "remote I/O error"

// explainTx says why a part does not answer and what to do.
func explainTx(bus string, addr uint16, err error) error {
	remedy := "check the wiring and the supply"
	switch {
	case Absent(err):
		remedy = "nothing answers there: check the part's supply, SDA and SCL not swapped, and its address"
	case says(err, syscall.ETIMEDOUT):
		remedy = "the bus is held down: check for a short and the pull-up resistors, then cycle the part's power"
	case says(err, syscall.EAGAIN) || says(err, syscall.EBUSY):
		remedy = "something else drives the bus: is the address claimed by a kernel driver?"
	}
	return fmt.Errorf("%s address 0x%02x: %w; %s", bus, addr, err, remedy)
}

// Absent reports whether a transfer's error means that nothing acknowledged the
// address, as opposed to a bus that does not work.
func Absent(err error) bool {
	return strings.Contains(err.Error(), remoteIO) || says(err, syscall.ENXIO) || says(err, syscall.ENODEV)
}
