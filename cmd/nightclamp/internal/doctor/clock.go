package doctor

import (
	"fmt"
	"strconv"
	"time"
)

const clock = "clock"

// notBefore is a day that is past for every build of this program: a clock that
// shows an earlier one was never set.
func notBefore() time.Time { return time.Date(2025, time.June, 1, 0, 0, 0, 0, time.UTC) }

// rtcOff is how far a clock chip may be off before it is of no use after a power cut.
const rtcOff = 2 * time.Minute

// clock looks whether the time is right, and would be after a power cut.
func (e *examination) clock() {
	now := e.Now()
	set := e.ClockSet()
	switch {
	case now.Before(notBefore()):
		e.add(clock, Wrong, fmt.Sprintf("the clock shows %s, which is past for sure", now.UTC().Format("2006-01-02 15:04 UTC")), "connect the network and switch its time service on (timedatectl set-ntp true), or set it: sudo date -s 'YYYY-MM-DD HH:MM'")
	case !set:
		e.add(clock, Attention, fmt.Sprintf("no time service has set the clock; it shows %s", now.UTC().Format("2006-01-02 15:04 UTC")), "look at the network and at timedatectl; the vacuum and the cure are judged all the same, the times in messages are not sure")
	default:
		e.ok(clock, "set by a time service")
	}
	e.clockChip(now)
}

func (e *examination) clockChip(now time.Time) {
	chips := e.glob("sys/class/rtc/rtc*")
	if len(chips) == 0 {
		e.ok(clock, "no battery-backed clock: after a power cut without a network the times are wrong until it is back; the run goes on all the same")
		return
	}
	text := e.word(chips[0] + "/since_epoch")
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		e.add(clock, Attention, "the battery-backed clock cannot be read", "its battery may be empty: sudo hwclock --show says more")
		return
	}
	if off := now.Sub(time.Unix(seconds, 0)).Abs(); off > rtcOff {
		e.add(clock, Attention, fmt.Sprintf("the battery-backed clock is off by %s", off.Round(time.Minute)), "once the time is right: sudo hwclock --systohc; if it does not keep it, its battery is empty")
		return
	}
	e.ok(clock, "battery-backed clock is there and right")
}
