package export

import (
	_ "embed"
	"encoding/json"
	"math"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
)

// Schema is the version of record.json. It goes up when a field changes its
// meaning or goes away, not when one is added.
const Schema = 1

//go:embed schema.json
var schema []byte

// JSONSchema is the JSON schema (draft 2020-12) of record.json.
func JSONSchema() []byte { return append([]byte(nil), schema...) }

// Object is record.json. schema.json says what its fields mean.
type Object struct {
	Schema   int              `json:"schema"`
	Run      RunObject        `json:"run"`
	Summary  Summary          `json:"summary"`
	Events   []press.Event    `json:"events"`
	Alerts   []press.Alert    `json:"alerts"`
	Outcomes []record.Outcome `json:"outcomes"`
	Bends    []bent.Bend      `json:"bends"` // worked out from the outcomes and the lay-up
	Samples  Samples          `json:"samples"`
	Final    json.RawMessage  `json:"final"` // the last status, as it was sent; null when none was kept
}

// RunObject is the run in it.
type RunObject struct {
	ID       string        `json:"id"`
	Site     string        `json:"site"`
	Press    string        `json:"press"`
	Work     string        `json:"work"`
	Glue     string        `json:"glue"`
	Sheet    string        `json:"sheet"`           // the datasheet's file as it was then
	Layup    string        `json:"layup,omitempty"` // the lay-up file with which it was started
	FloorPa  Exact         `json:"floor_pa"`
	Strained bool          `json:"strained"`
	Plies    int           `json:"plies"`
	AreaM2   Exact         `json:"area_m2"`
	Notes    string        `json:"notes"`
	Started  time.Time     `json:"started,omitzero"`
	Ended    time.Time     `json:"ended,omitzero"` // left out while the run is open
	Stage    press.Stage   `json:"stage"`
	Verdict  press.Verdict `json:"verdict"`
	Thinned  bool          `json:"thinned"` // its samples were thinned further
}

// Samples says what is in the file beside it.
type Samples struct {
	File    string   `json:"file"`
	Rows    int      `json:"rows"`
	Columns []string `json:"columns"`
	Boots   []string `json:"boots"` // boot identities; the column boot counts from 1
}

func (t *told) json() ([]byte, error) {
	o := Object{
		Schema: Schema, Run: objectOf(t.run), Summary: t.sum,
		Events: list(t.events), Alerts: list(t.alerts),
		Outcomes: list(t.outcomes), Bends: list(t.bends),
		Samples: Samples{File: "samples.csv", Rows: len(t.rows), Columns: Columns(), Boots: list(t.boots())},
	}
	if json.Valid(t.run.Final) {
		o.Final = t.run.Final
	}
	b, err := json.MarshalIndent(o, "", "  ")
	return append(b, '\n'), err
}

func objectOf(r record.Run) RunObject {
	return RunObject{
		ID: r.ID, Site: r.Site, Press: r.Press, Work: r.Work, Glue: r.Glue, Sheet: string(r.Sheet), Layup: string(r.Layup),
		FloorPa: Exact(r.FloorPa), Strained: r.Strained, Plies: r.Plies, AreaM2: Exact(r.AreaM2), Notes: r.Notes,
		Started: r.Started.UTC(), Ended: r.Ended.UTC(), Stage: r.Stage, Verdict: r.Verdict, Thinned: r.Thinned,
	}
}

// Exact is a number that reads back as it was, unlike a press.Num, which is
// rounded to what it is good for. NaN and the infinities are null.
type Exact float64

// MarshalJSON writes the shortest decimal that reads back the same, or null.
func (n Exact) MarshalJSON() ([]byte, error) {
	if math.IsNaN(float64(n)) || math.IsInf(float64(n), 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(n), 'f', -1, 64), nil
}

// UnmarshalJSON reads a number, or null as NaN.
func (n *Exact) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = Exact(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(n))
}

// list makes an empty list of none, so that JSON has [] and not null.
func list[T any](l []T) []T {
	if l == nil {
		return []T{}
	}
	return l
}
