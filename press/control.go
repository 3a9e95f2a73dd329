package press

import "time"

// StartOrder begins a run: glue is being spread from now on.
type StartOrder struct {
	Press    string    `json:"press"`           // may be empty where there is only one
	Glue     string    `json:"glue"`            // a datasheet's name; empty: the configured default
	Sheet    string    `json:"sheet,omitempty"` // the datasheet's TOML, where it is a file of the builder's own
	Work     string    `json:"work"`            // what is being pressed
	FloorPa  Num       `json:"floor_pa"`
	Plies    int       `json:"plies,omitempty"`
	AreaM2   float64   `json:"area_m2,omitempty"`
	Notes    string    `json:"notes,omitempty"`
	Layup    string    `json:"layup,omitempty"`    // a lay-up file (TOML): stands in for what is left open above, and is kept with the run
	Strained *bool     `json:"strained,omitempty"` // nil: the default for a curved mould, true
	At       time.Time `json:"at,omitzero"`        // zero: now
}

// CourseOrder asks how the vacuum of a run has gone so far.
type CourseOrder struct {
	Press  string `json:"press"`
	Points int    `json:"points,omitempty"` // at most so many; 0: 200
}

// Course is the vacuum of the run that is, or was last, on a press: means over
// stretches of time, for a small picture.
type Course struct {
	Schema   int         `json:"schema"`
	Press    string      `json:"press"`
	Run      string      `json:"run"` // empty: there was none
	Times    []time.Time `json:"t"`
	VacuumPa []Num       `json:"vacuum_pa"`
}

// MarkOrder adds something to the run that is on a press.
type MarkOrder struct {
	Press string `json:"press"`
	Text  string `json:"text,omitempty"`
	// Strokes of the hand pump that a top-up took; 0: not counted.
	Strokes int `json:"strokes,omitempty"`
}

// GlueOrder sets or corrects the adhesive of the run that is on a press; the
// estimate is worked out again from the record.
type GlueOrder struct {
	Press string `json:"press"`
	Glue  string `json:"glue"`
	Sheet string `json:"sheet,omitempty"` // the datasheet's TOML, where it is a file of the builder's own
}
