package alert

import (
	"slices"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// lanes sorts the messages by their way.
func lanes(waiting []press.Delivery) map[string][]press.Delivery {
	m := map[string][]press.Delivery{}
	for _, d := range waiting {
		m[d.Way] = append(m[d.Way], d)
	}
	return m
}

// dueIn picks what may be sent now, the most urgent alert first, and returns
// how long until something may when nothing does. A message waits for an
// earlier one of its alert that has been tried and failed: the order within one
// alert is kept.
func (d *Dispatcher) dueIn(lane []press.Delivery, now time.Time) (due []press.Delivery, wait time.Duration) {
	wait = horizon
	failed := map[string]bool{}
	urgency := map[string]int{}
	for _, m := range lane {
		at, tried := m.DueAt, m.Attempts > 0
		if after := d.noted(m.Key).after; after.After(at) {
			at, tried = after, true
		}
		if at.After(now) {
			failed[m.AlertID] = failed[m.AlertID] || tried
			wait = min(wait, at.Sub(now))
		} else if !failed[m.AlertID] {
			due = append(due, m)
			urgency[m.AlertID] = max(urgency[m.AlertID], rank(m.Severity))
		}
	}
	slices.SortStableFunc(due, func(a, b press.Delivery) int { return urgency[b.AlertID] - urgency[a.AlertID] })
	return due, wait
}

// settle reports an outbox that did not take what became of a message, and
// remembers it in its place.
func (d *Dispatcher) settle(m press.Delivery, sent bool, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err == nil {
		delete(d.notes, m.Key)
		return
	}
	const again = time.Minute
	d.notes[m.Key] = note{after: time.Now().Add(again), sent: sent || d.notes[m.Key].sent}
	d.log.Error("outbox cannot be written; trying again", "way", m.Way, "alert", m.AlertID, "sent", sent, "err", err)
}

func (d *Dispatcher) noted(key string) note {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.notes[key]
}

// stateOf is the state of the alert that a message tells of: it is part of the key.
func stateOf(m press.Delivery) press.AlertState {
	if parts := strings.Split(m.Key, "|"); len(parts) > 1 {
		return press.AlertState(parts[1])
	}
	return ""
}

// held reports whether the message was written to be told later than at once.
func held(m press.Delivery) bool { return m.Attempts == 0 && m.DueAt.Sub(m.Created) > time.Second }

// past reports whether a message that was held back is not true any more.
func (d *Dispatcher) past(m press.Delivery) bool {
	if d.state == nil || !held(m) || stateOf(m) != press.AlertRaised {
		return false
	}
	state, known := d.state(m.AlertID)
	return !known || state != press.AlertRaised
}

// newest leaves out the messages that have not been tried and are followed by a
// newer one that says the same better: of a night of reminders one is enough,
// and what was held back for the morning is told as it ended.
func newest(due []press.Delivery) (send, superseded []press.Delivery) {
	last, lastOfState := map[string]string{}, map[string]string{}
	for _, m := range due {
		last[m.AlertID] = m.Key
		lastOfState[m.AlertID+"|"+string(stateOf(m))] = m.Key
	}
	for _, m := range due {
		again := m.Attempts == 0 && stateOf(m) != "" && lastOfState[m.AlertID+"|"+string(stateOf(m))] != m.Key
		if again || (held(m) && last[m.AlertID] != m.Key) {
			superseded = append(superseded, m)
		} else {
			send = append(send, m)
		}
	}
	return send, superseded
}
