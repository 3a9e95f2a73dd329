package alert

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// DiskCheck watches the free space where the record is. free returns what is
// free and what there is, in bytes; see [DiskSpace].
func DiskCheck(path string, free func(path string) (free, size uint64, err error)) Check {
	full := false
	return Check{Name: DiskFull, Look: func(time.Time) string {
		left, size, err := free(path)
		if err != nil {
			return fmt.Sprintf("The disk with the record (%s) cannot be looked at: %v. Look at the card or disk and its mounts; the watch over the presses goes on.", path, err)
		}
		// A run of two days takes a few megabytes; half a hundred is near the end.
		limit := min(size/20, 200<<20)
		if full {
			limit += limit / 4
		}
		if full = left < limit; !full {
			return ""
		}
		return fmt.Sprintf("Only %d MB are free where the record is kept (%s). Free some space today; otherwise runs are no longer recorded. "+
			"The watch and the alerts go on without.", left>>20, path)
	}}
}

// RecordCheck watches the writing of the record. failing returns why it has not
// been written lately; nil: it has.
func RecordCheck(failing func() error) Check {
	return Check{Name: RecordFailing, Look: func(time.Time) string {
		err := failing()
		if err == nil {
			return ""
		}
		return short(fmt.Sprintf("The record cannot be written: %v. Samples and events wait in memory and are lost if the power fails. "+
			"The watch and the alerts go on.", err))
	}}
}

// OutcomeCheck asks what came out of the bag: question says it, while it is open.
func OutcomeCheck(question func() string) Check {
	return Check{Name: OutcomeAsked, Look: func(time.Time) string { return short(question()) }}
}

// BuildLogCheck watches whether runs get into the build log.
func BuildLogCheck(failing func() string) Check {
	return Check{Name: BuildLogFails, Look: func(time.Time) string {
		why := failing()
		if why == "" {
			return ""
		}
		return short("A run that is over cannot be written into the build log. Look at the folder and at who may write there; it is tried again every few minutes, and nothing is lost. It says: " + why)
	}}
}

// failingFor is how long a way must take nothing before it is told of.
const failingFor = 10 * time.Minute

// DeliveryCheck watches the ways out. What it finds can be sent only by the
// others; it is for the page and the buzzer.
func DeliveryCheck(health func() []press.WayHealth, show units.Display) Check {
	return Check{Name: DeliveryFails, Look: func(now time.Time) string {
		var bad []string
		var first press.WayHealth
		for _, h := range health() {
			if h.Failing.IsZero() || now.Sub(h.Failing) < failingFor {
				continue
			}
			if len(bad) == 0 {
				first = h
			}
			bad = append(bad, fmt.Sprintf("%q", h.Name))
		}
		if len(bad) == 0 {
			return ""
		}
		return short(fmt.Sprintf("Alerts have not got out by %s since %s; %d wait. Look at the network and the URL in the config; until then rely on the page and the buzzer. It says: %s",
			strings.Join(bad, ", "), show.Clock(first.Failing, now), first.Waiting, first.Error))
	}}
}

// PowerCheck watches the supply of boards whose kernel tells of an undervoltage
// as a hardware monitor named rpi_volt (Linux, drivers/hwmon/raspberrypi-hwmon).
// sys is /sys; a board without it is well.
func PowerCheck(sys string) Check {
	return Check{Name: PowerWeak, Look: func(time.Time) string {
		for _, dir := range glob(filepath.Join(sys, "class/hwmon/hwmon*")) {
			if word(filepath.Join(dir, "name")) == "rpi_volt" && word(filepath.Join(dir, "in0_lcrit_alarm")) == "1" {
				return "The board's supply voltage is too low. Use the supply and cable that belong to the board, and take loads off its USB; " +
					"otherwise it may reset in the middle of a run, or spoil its card."
			}
		}
		return ""
	}}
}

// HeatCheck watches the hottest thermal zone of the board. From 80 °C common
// boards slow themselves down (from memory). sys is /sys.
func HeatCheck(sys string, show units.Display) Check {
	hot := false
	return Check{Name: BoardHot, Look: func(time.Time) string {
		hottest := -300.0
		for _, file := range glob(filepath.Join(sys, "class/thermal/thermal_zone*/temp")) {
			if milli, err := strconv.ParseFloat(word(file), 64); err == nil {
				hottest = max(hottest, milli/1000)
			}
		}
		limit := 80.0
		if hot {
			limit = 74
		}
		if hot = hottest >= limit; !hot {
			return ""
		}
		return fmt.Sprintf("The board is at %s. Give it air and keep it away from the heater; otherwise it slows down, and in the end stops watching.",
			show.Temperature(hottest))
	}}
}

// ClockCheck watches whether the clock has been set from the network. set is
// [ClockSet] on Linux. A board that has just started is given ten minutes.
func ClockCheck(set func() bool, started time.Time) Check {
	return Check{Name: ClockUnset, Look: func(now time.Time) string {
		if set() || now.Sub(started) < 10*time.Minute {
			return ""
		}
		return "The board's clock has not been set from the network since it started: the times in messages and in the record may be wrong. " +
			"The vacuum and the cure are judged all the same. Look at the network, or set the clock by hand."
	}}
}

func glob(pattern string) []string {
	list, err := filepath.Glob(pattern)
	if err != nil { // only for a bad pattern, and these are not
		return nil
	}
	return list
}

// word is the text of a kernel file without its line end; empty when it cannot
// be read.
func word(path string) string {
	text, err := os.ReadFile(path)
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}
