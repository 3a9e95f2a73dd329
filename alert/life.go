package alert

import (
	"fmt"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// pauseBefore is how long an alert keeps still before its next reminder: ever
// longer, because whoever has not come after the third has heard it. A note is
// never said twice.
func pauseBefore(severity press.Severity, reminders int) (time.Duration, bool) {
	switch severity {
	case press.Wake: // 5, 10, 20, 40 minutes, then every hour
		return min(time.Hour, 5*time.Minute<<min(reminders, 10)), true
	case press.Warn: // 1, 2 hours, then every four
		return min(4*time.Hour, time.Hour<<min(reminders, 10)), true
	}
	return 0, false
}

// freshEvery is how often the text of an open alert is written anew.
const freshEvery = 10 * time.Second

// freshen writes the text as it would be said now. One that was taken over from before
// a restart, and one that only waits to be called off, stay as they were said.
func (c *changes) freshen(e *entry, p picture) {
	if since := c.at().Sub(e.nowAt); since >= 0 && since < freshEvery {
		return
	}
	e.now, e.nowAt = "", c.at()
	known := e.ev.Kind != "" || e.row.holds != nil // else what raised it was not kept
	if known && (e.row.again == nil || e.row.again(p)) {
		e.now = short(e.row.text(p))
	}
}

// live moves an alert that has been told through its life: reminded while
// nobody answers, and woken from its snooze.
func (c *changes) live(e *entry, p picture) {
	if c.at().Before(e.alert.At) { // the clock was set back: count from now
		e.alert.At = c.at()
	}
	c.freshen(e, p)
	switch e.alert.State {
	case press.AlertAcknowledged:
		if until := e.alert.SnoozedUntil; !until.IsZero() && !c.at().Before(until) {
			e.alert.SnoozedUntil, e.alert.Reminders = time.Time{}, 0
			c.say(e, p, "the snooze is over")
		}
	case press.AlertRaised:
		pause, ever := pauseBefore(e.row.severity(p), e.alert.Reminders)
		if e.row.again != nil && !e.row.again(p) { // it only waits to be called off
			return
		}
		if !ever || e.row.lasts > 0 || c.at().Sub(e.alert.At) < pause {
			return
		}
		if most := e.row.reminders; most > 0 && e.alert.Reminders >= most {
			return
		}
		e.alert.Reminders++
		c.say(e, p, fmt.Sprintf("reminder %d", e.alert.Reminders))
	}
}

// say tells an alert again with what is known now.
func (c *changes) say(e *entry, p picture, reason string) {
	e.alert.State, e.alert.At, e.alert.Reason = press.AlertRaised, c.at(), reason
	e.alert.Severity, e.alert.Text = e.row.severity(p), short(e.row.text(p))
	e.now = ""
	c.out = append(c.out, e.alert)
}

// Acknowledge says that somebody looks after the alerts that the order means,
// and returns those that it changed: none when there is no such alert. A
// snoozed alert speaks up again when its time is over and its problem is not.
func (b *Book) Acknowledge(o press.AckOrder, at time.Time) []press.Alert {
	b.mu.Lock()
	defer b.mu.Unlock()
	var changed []press.Alert
	for _, e := range b.open {
		if !e.told() || e.silent || (o.Alert != "" && o.Alert != e.alert.ID && o.Alert != e.alert.Name) {
			continue
		}
		e.alert.State, e.alert.At, e.alert.SnoozedUntil = press.AlertAcknowledged, at, time.Time{}
		e.alert.Reason = "acknowledged"
		if snooze := o.SnoozeFor(); snooze > 0 {
			e.alert.SnoozedUntil = at.Add(snooze)
			e.alert.Reason = "snoozed for " + b.cfg.Display.Span(snooze)
		}
		if o.By != "" {
			e.alert.Reason += " by " + o.By
		}
		changed = append(changed, e.alert)
	}
	return changed
}
