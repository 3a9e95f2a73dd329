//go:build !linux

package alert

import "errors"

// DiskSpace is known on Linux only.
func DiskSpace(string) (free, size uint64, err error) {
	return 0, 0, errors.ErrUnsupported
}

// ClockSet is known on Linux only; elsewhere nothing is said.
func ClockSet() bool { return true }
