package press

import (
	"errors"
	"fmt"
	"time"
)

// The codes of an [Error], with the meaning that HTTP gives them.
const (
	BadOrder   = 400 // the order makes no sense: the caller's mistake
	NotFound   = 404 // there is no such press, run, alert or adhesive
	WrongStage = 409 // the order is fine, but not at this stage of the run
	Gone       = 410 // what the order was given with is no longer good
	Failed     = 500 // nightclamp could not carry the order out
)

// Error is why an order was not carried out, with a code that a program can
// act on and a message that a person can: what was asked, and the remedy.
type Error struct {
	Code int
	Msg  string
}

// Error returns the message.
func (e *Error) Error() string { return e.Msg }

// Errorf returns an [Error] with the code and the formatted message.
func Errorf(code int, format string, args ...any) error {
	return &Error{Code: code, Msg: fmt.Sprintf(format, args...)}
}

// Code returns the code of the first [Error] in err's chain, and [Failed] for
// an error without one.
func Code(err error) int {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Failed
}

// AckOrder says that somebody has seen an alert and looks after it.
type AckOrder struct {
	Press  string `json:"press,omitempty"`
	Alert  string `json:"alert"`              // the alert's ID, or its name; empty: every active alert of the press
	By     string `json:"by,omitempty"`       // who
	Snooze Num    `json:"snooze_s,omitempty"` // s; after it the alert speaks up again, 0: never
}

// SnoozeFor is how long the alert is to keep still; 0 is for good.
func (o AckOrder) SnoozeFor() time.Duration {
	return time.Duration(o.Snooze.Or(0) * float64(time.Second))
}
