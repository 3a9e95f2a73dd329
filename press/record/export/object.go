package export

import (
	_ "embed"
	"encoding/json"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// Schema is the version of record.json. It goes up when a field changes its
// meaning or goes away, not when one is added.
const Schema = 1

//go:embed schema.json
var schema []byte

// JSONSchema is the JSON schema (draft 2020-12) of record.json.
func JSONSchema() []byte { return append([]byte(nil), schema...) }

// object is record.json.
type object struct {
	Schema  int             `json:"schema"`
	Run     runObject       `json:"run"`
	Summary summary         `json:"summary"`
	Events  []press.Event   `json:"events"`
	Alerts  []press.Alert   `json:"alerts"`
	Samples samplesObject   `json:"samples"`
	Final   json.RawMessage `json:"final"` // the last status, as it was sent; null when none was kept
}

type runObject struct {
	ID       string        `json:"id"`
	Site     string        `json:"site"`
	Press    string        `json:"press"`
	Work     string        `json:"work"`
	Glue     string        `json:"glue"`
	Sheet    string        `json:"sheet"` // the datasheet's file as it was then
	FloorPa  press.Num     `json:"floor_pa"`
	Strained bool          `json:"strained"`
	Plies    int           `json:"plies"`
	AreaM2   press.Num     `json:"area_m2"`
	Notes    string        `json:"notes"`
	Started  time.Time     `json:"started,omitzero"`
	Ended    time.Time     `json:"ended,omitzero"` // left out while the run is open
	Stage    press.Stage   `json:"stage"`
	Verdict  press.Verdict `json:"verdict"`
}

type samplesObject struct {
	File    string   `json:"file"`
	Rows    int      `json:"rows"`
	Columns []string `json:"columns"`
	Boots   []string `json:"boots"` // boot identities; the column boot counts from 1
}

func (t *told) json() ([]byte, error) {
	o := object{
		Schema: Schema, Run: objectOf(t.run), Summary: t.sum,
		Events: list(t.events), Alerts: list(t.alerts),
		Samples: samplesObject{File: "samples.csv", Rows: len(t.rows), Columns: columns(), Boots: list(t.boots())},
	}
	if json.Valid(t.run.Final) {
		o.Final = t.run.Final
	}
	b, err := json.MarshalIndent(o, "", "  ")
	return append(b, '\n'), err
}

func objectOf(r record.Run) runObject {
	return runObject{
		ID: r.ID, Site: r.Site, Press: r.Press, Work: r.Work, Glue: r.Glue, Sheet: string(r.Sheet),
		FloorPa: known(r.FloorPa), Strained: r.Strained, Plies: r.Plies, AreaM2: known(r.AreaM2), Notes: r.Notes,
		Started: r.Started.UTC(), Ended: r.Ended.UTC(), Stage: r.Stage, Verdict: r.Verdict,
	}
}

func known(v float64) press.Num {
	if math.IsInf(v, 0) {
		return press.Unknown()
	}
	return press.Num(v)
}

// list makes an empty list of none, so that JSON has [] and not null.
func list[T any](l []T) []T {
	if l == nil {
		return []T{}
	}
	return l
}
