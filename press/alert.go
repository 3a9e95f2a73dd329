package press

import "time"

// Severity is how loudly an alert speaks.
type Severity string

// The severities: a note is read in the morning, a warn when the phone is next
// looked at, a wake at once.
const (
	Note Severity = "note"
	Warn Severity = "warn"
	Wake Severity = "wake"
)

// AlertState is where an alert is in its life.
type AlertState string

// The states of an alert.
const (
	AlertRaised       AlertState = "raised"
	AlertAcknowledged AlertState = "acknowledged"
	AlertCleared      AlertState = "cleared"
)

// Alert is one problem of one run, from when it was raised until it is cleared.
type Alert struct {
	Schema   int        `json:"schema"`
	ID       string     `json:"id"` // unique for ever: press, name and time of raising
	Name     string     `json:"name"`
	Site     string     `json:"site"`
	Press    string     `json:"press"`
	Run      string     `json:"run"`
	Severity Severity   `json:"severity"`
	State    AlertState `json:"state"`
	Text     string     `json:"text"`   // what happened, what to do, by when; at most 300 characters
	Reason   string     `json:"reason"` // why it is in this state, as an event kind or a person's words
	RaisedAt time.Time  `json:"raised_at"`
	At       time.Time  `json:"at"` // of the newest change

	Reminders    int       `json:"reminders,omitempty"`    // how often it was said again
	SnoozedUntil time.Time `json:"snoozed_until,omitzero"` // it keeps still until then, and then speaks up again
}

// Delivery is one message on its way to one person. It stays in the outbox
// until the way took it.
type Delivery struct {
	Key      string    // idempotency key: alert, state and way; a second one with the same key is dropped
	AlertID  string    // the alert it speaks of
	Way      string    // the configured name of the way out; never its URL, which holds secrets
	Title    string    // first line
	Text     string    // the message
	Severity Severity  // for ways that can tell
	Created  time.Time // wall clock
	DueAt    time.Time // not tried before this
	Attempts int       // how often it was tried
	Error    string    // what the last try said
	Answer   string    // link by which its reader acknowledges the alert; made for each try, never kept
}
