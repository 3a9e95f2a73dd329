package units

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// Duration is a span of time, never negative.
type Duration time.Duration

const durationNames = "d, h, min (or m), s, ms"

const day = 24 * time.Hour

// ParseDuration reads a span of time with its units, the largest first, such
// as "36h", "90m", "2d", "1h30m" or "45 s".
func ParseDuration(text string) (Duration, error) {
	if len(text) > maxText {
		return 0, fmt.Errorf("duration of %d characters: write numbers and units, %s", len(text), durationNames)
	}
	var total float64 // ns
	last := time.Duration(math.MaxInt64)
	rest := strings.TrimSpace(text)
	for first := true; first || rest != ""; first = false {
		v, unit, after, err := durationPart(rest, text)
		if err != nil {
			return 0, err
		}
		if unit >= last {
			return 0, fmt.Errorf("duration %q: write each unit once, the largest first", text)
		}
		total, last, rest = total+v*float64(unit), unit, after
	}
	if total >= math.MaxInt64 {
		return 0, fmt.Errorf("duration %q is too long: at most 292 years", text)
	}
	return Duration(math.Round(total)), nil
}

// durationPart takes the first number and its unit off rest.
func durationPart(rest, text string) (v float64, unit time.Duration, after string, err error) {
	if strings.HasPrefix(rest, "-") || strings.HasPrefix(rest, "−") {
		return 0, 0, "", fmt.Errorf("duration %q is negative", text)
	}
	end := len(rest)
	if n := numberLen(rest); n > 0 {
		tail := strings.TrimLeft(rest[n:], " ")
		letters := strings.IndexFunc(tail, func(r rune) bool { return r == ' ' || r == '.' || r == '-' || r == '+' || (r >= '0' && r <= '9') })
		if letters >= 0 {
			end = len(rest) - len(tail) + letters
		}
	}
	v, symbol, err := split(rest[:end], "duration", durationNames)
	if err != nil {
		return 0, 0, "", err
	}
	unit, ok := durationUnit(symbol)
	if !ok {
		return 0, 0, "", fmt.Errorf("duration %q: unknown unit %q: use one of %s", text, symbol, durationNames)
	}
	return v, unit, strings.TrimLeft(rest[end:], " "), nil
}

func durationUnit(symbol string) (time.Duration, bool) {
	switch symbol {
	case "d":
		return day, true
	case "h":
		return time.Hour, true
	case "min", "m":
		return time.Minute, true
	case "s":
		return time.Second, true
	case "ms":
		return time.Millisecond, true
	}
	return 0, false
}

// Std returns the span as the standard library's type.
func (d Duration) Std() time.Duration { return time.Duration(d) }

// String writes the span in hours, minutes and seconds, without those that are
// nothing: "36h", "1h30m", "0.1s".
func (d Duration) String() string {
	t := time.Duration(d)
	if t == 0 {
		return "0s"
	}
	var b strings.Builder
	if h := t / time.Hour; h > 0 {
		fmt.Fprintf(&b, "%dh", h)
	}
	if m := t % time.Hour / time.Minute; m > 0 {
		fmt.Fprintf(&b, "%dm", m)
	}
	if s := t % time.Minute; s > 0 {
		b.WriteString(plain(s.Seconds()) + "s")
	}
	return b.String()
}

// Set reads the span from a flag.
func (d *Duration) Set(text string) error {
	v, err := ParseDuration(text)
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// Type names the kind of value in a command's help.
func (d *Duration) Type() string { return "duration" }

// UnmarshalText reads what [ParseDuration] reads.
func (d *Duration) UnmarshalText(text []byte) error { return d.Set(string(text)) }

// MarshalText writes what [Duration.String] writes.
func (d Duration) MarshalText() ([]byte, error) { return []byte(d.String()), nil }
