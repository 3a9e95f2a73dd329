package intake

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/record/photo"
)

// Keeper is where runs are taken in; a [record.Store] is one.
type Keeper interface {
	Add(ctx context.Context, w record.Whole) error
}

// mostBytes is more than any record.json has.
const mostBytes = 64 << 20

// Folder takes in the run of an exported folder, from its record.json and the
// samples beside it, and returns the run's ID. Its photos go into the folder
// photos; one that is missing is left out. A run that is in the record already is
// [record.ErrExists].
func Folder(ctx context.Context, keeper Keeper, folder, photos string) (string, error) {
	path := filepath.Join(folder, "record.json")
	text, err := os.ReadFile(path) //nolint:gosec // the user names the folder
	if err != nil {
		return "", fmt.Errorf("import %s: %w: name a folder that `nightclamp record export` wrote", folder, err)
	}
	whole, samples, err := parse(text)
	if err != nil {
		return "", fmt.Errorf("import %s: %w", path, err)
	}
	path = filepath.Join(folder, "samples.csv")
	table, err := os.Open(path) //nolint:gosec // the user names the folder
	if err != nil {
		return "", fmt.Errorf("import %s: %w", folder, err)
	}
	defer table.Close() //nolint:errcheck // it was only read
	whole.Rows = rows(table, path, samples)
	if err := keeper.Add(ctx, whole); err != nil {
		return "", fmt.Errorf("import %s: %w", folder, err)
	}
	for _, o := range whole.Outcomes {
		for _, p := range o.Photos {
			if _, err := photo.Take(photos, whole.Run.ID, p, filepath.Join(folder, "photos", filepath.Base(p.Name))); err != nil {
				return "", fmt.Errorf("import %s: the run is taken in, a photo is not: %w", folder, err)
			}
		}
	}
	return whole.Run.ID, nil
}

// parse reads record.json. Fields that a later version added are passed over.
func parse(text []byte) (record.Whole, export.Samples, error) {
	if len(text) > mostBytes {
		return record.Whole{}, export.Samples{}, fmt.Errorf("%d bytes are more than a record has", len(text))
	}
	var o export.Object
	d := json.NewDecoder(bytes.NewReader(text))
	if err := d.Decode(&o); err != nil {
		return record.Whole{}, export.Samples{}, fmt.Errorf("no JSON as nightclamp writes it: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return record.Whole{}, export.Samples{}, errors.New("there is more after the end of the JSON object")
	}
	switch {
	case o.Schema > export.Schema:
		return record.Whole{}, export.Samples{}, fmt.Errorf("schema %d, this build knows %d: update nightclamp", o.Schema, export.Schema)
	case o.Schema < 1:
		return record.Whole{}, export.Samples{}, errors.New(`"schema" is missing: this is no record.json of nightclamp`)
	case o.Run.ID == "":
		return record.Whole{}, export.Samples{}, errors.New(`"run.id" is missing`)
	}
	whole := record.Whole{Run: runOf(o), Events: o.Events, Alerts: o.Alerts, Outcomes: o.Outcomes}
	return whole, o.Samples, belong(whole)
}

// belong refuses events and alerts of another run: they would be lost in ours.
func belong(w record.Whole) error {
	for i, e := range w.Events {
		if e.Run != w.Run.ID {
			return fmt.Errorf("event %d belongs to run %q, the record to %q", i+1, e.Run, w.Run.ID)
		}
		if _, known := e.Kind.Fields(); !known {
			return fmt.Errorf("event %d is of kind %q, which this build does not know: update nightclamp", i+1, e.Kind)
		}
	}
	for i, a := range w.Alerts {
		if a.Run != w.Run.ID {
			return fmt.Errorf("alert %d belongs to run %q, the record to %q", i+1, a.Run, w.Run.ID)
		}
	}
	seen := map[record.After]bool{}
	for _, o := range w.Outcomes {
		if !slices.Contains(record.Afters(), o.After) || seen[o.After] {
			return fmt.Errorf("an outcome measured after %q, wanted one each of release, day and week", o.After)
		}
		seen[o.After] = true
	}
	return nil
}

func runOf(o export.Object) record.Run {
	r := record.Run{
		ID: o.Run.ID, Site: o.Run.Site, Press: o.Run.Press, Work: o.Run.Work, Glue: o.Run.Glue,
		FloorPa: float64(o.Run.FloorPa), Strained: o.Run.Strained, Plies: o.Run.Plies, AreaM2: float64(o.Run.AreaM2),
		Notes: o.Run.Notes, Started: o.Run.Started, Ended: o.Run.Ended, Stage: o.Run.Stage, Verdict: o.Run.Verdict, Thinned: o.Run.Thinned,
	}
	if r.Ended.IsZero() { // open there; here nobody would close it
		r.Ended = lastMoment(o)
		r.Stage = press.Release
	}
	if o.Run.Sheet != "" {
		r.Sheet = []byte(o.Run.Sheet)
	}
	if o.Run.Layup != "" {
		r.Layup = []byte(o.Run.Layup)
	}
	var final bytes.Buffer
	if string(o.Final) != "null" && json.Compact(&final, o.Final) == nil {
		r.Final = final.Bytes()
	}
	return r
}

// lastMoment is the end of a run that was open when it was exported.
func lastMoment(o export.Object) time.Time {
	last := o.Run.Started
	for _, e := range o.Events {
		if e.Time.After(last) {
			last = e.Time
		}
	}
	if o.Summary.EndAt.After(last) {
		last = o.Summary.EndAt
	}
	return last
}
