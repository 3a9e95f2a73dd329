package reader

import (
	"os"
	"strings"
	"time"
)

// Moment is one moment, told by the wall clock and by the monotonic one.
type Moment struct {
	Time time.Time     // UTC
	Mono time.Duration // since the boot, sleep included
	Boot string        // which boot that was; empty: Mono means nothing
}

// behind reports whether the moment is a little before the other one. (A wall
// clock that was set back is another matter.)
func (m Moment) behind(other Moment) bool {
	if m.Boot != "" && m.Boot == other.Boot {
		return m.Mono < other.Mono
	}
	back := other.Time.Sub(m.Time)
	return back > 0 && back < clockStep
}

// Clock tells the present moment.
type Clock func() Moment

// SystemClock returns the machine's clock. Mono is CLOCK_BOOTTIME and Boot the
// kernel's boot_id, where there are such things.
func SystemClock() Clock {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil { // not Linux: samples then have no boot, as documented
		return func() Moment { return Moment{Time: time.Now().UTC()} }
	}
	boot := strings.TrimSpace(string(id))
	return func() Moment {
		mono, err := bootTime()
		if err != nil {
			return Moment{Time: time.Now().UTC()}
		}
		return Moment{Time: time.Now().UTC(), Mono: mono, Boot: boot}
	}
}
