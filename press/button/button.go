// Package button tells how a push button was pressed: short, long or twice. It is
// pure: feed [Decoder.Sample] the state of the contact with its time, some tens of
// times a second, and it says what was meant once that is sure.
package button

import "time"

// Press is how the button was pressed; the zero value is: not, or not sure yet.
type Press string

// The ways to press it.
const (
	Short  Press = "short"
	Double Press = "double"
	Long   Press = "long"
)

const (
	// bounce is how long a contact must rest for its state to count. Common
	// contacts bounce for less than 10 ms; a glove on a button for more.
	bounce = 40 * time.Millisecond
	// longFrom is from when on a press is long.
	longFrom = 1200 * time.Millisecond
	// secondWithin is how soon after the first press the second of two must begin.
	secondWithin = 450 * time.Millisecond
)

// Decoder follows one button. Its zero value is ready, with the button up.
type Decoder struct {
	raw     bool          // the contact at the newest sample
	rawAt   time.Duration // since when it is so
	down    bool          // the contact without its bouncing
	downAt  time.Duration
	upAt    time.Duration
	pending bool // pressed once, and a second press may follow
	second  bool // this press is the second
	said    bool // this press was told already
}

// Sample takes the state of the contact at a time, counted from any moment, and
// returns what has become sure. A long press is told while the button is still
// down, so that a person feels that it was enough.
func (d *Decoder) Sample(at time.Duration, closed bool) Press {
	if closed != d.raw {
		d.raw, d.rawAt = closed, at
	}
	if d.raw != d.down && at-d.rawAt >= bounce {
		return d.change(at)
	}
	switch {
	case d.down && !d.said && at-d.downAt >= longFrom:
		d.said, d.pending, d.second = true, false, false
		return Long
	case !d.down && d.pending && at-d.upAt >= secondWithin:
		d.pending = false
		return Short
	}
	return ""
}

// change takes a press or a release that is sure.
func (d *Decoder) change(at time.Duration) Press {
	d.down = d.raw
	if d.down {
		d.downAt, d.said = at, false
		d.second, d.pending = d.pending, false
		return ""
	}
	d.upAt = at
	switch {
	case d.said:
		return ""
	case d.second:
		d.second = false
		return Double
	}
	d.pending = true
	return ""
}
