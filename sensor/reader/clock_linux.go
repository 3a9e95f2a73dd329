package reader

import (
	"fmt"
	"time"

	"golang.org/x/sys/unix"
)

// bootTime is the time since the boot, sleep included.
func bootTime() (time.Duration, error) {
	var ts unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_BOOTTIME, &ts); err != nil {
		return 0, fmt.Errorf("reading CLOCK_BOOTTIME: %w", err)
	}
	return time.Duration(ts.Nano()), nil
}
