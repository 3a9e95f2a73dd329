package press

import "time"

// Tried is what one way out for alerts said to a test message.
type Tried struct {
	Way   string  `json:"way"`
	Error string  `json:"error,omitempty"` // empty: it took the message
	TookS float64 `json:"took_s"`
}

// WayHealth is how one way out for alerts is doing.
type WayHealth struct {
	Name    string    `json:"name"`
	Waiting int       `json:"waiting"`           // messages that wait for it
	LastOK  time.Time `json:"last_ok,omitzero"`  // when it last took one
	Failing time.Time `json:"failing,omitzero"`  // since when it has taken none; zero: it is well, or was not needed
	Error   string    `json:"error,omitempty"`   // what the last try said
	GivenUp uint64    `json:"given_up,omitzero"` // messages that never went out, since the start
}
