package export

import (
	"context"
	"encoding/json"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/bent"
	"github.com/nightclamp/nightclamp/press/units"
)

// chartPoints is how many points a line of the chart is drawn with at most:
// about one a pixel.
const chartPoints = 900

// told is a run with all that is known of it.
type told struct {
	run      record.Run
	sheet    *cure.Sheet   // nil: none was chosen, or it cannot be read
	final    *press.Status // nil: none was kept
	events   []press.Event
	alerts   []press.Alert
	outcomes []record.Outcome
	bends    []bent.Bend
	photos   map[string]string // where each picture lies, by its name
	rows     []record.Thin     // all that were kept
	points   []record.Thin     // fewer, for the chart
	// progress has the share of the press time earned under clamp, in percent
	// with its bounds, where a row has the vacuum.
	progress []record.Thin
	sum      Summary
	d        units.Display
	shifts   bool // the clock went to or from summer time during the run
}

func gather(ctx context.Context, src Source, id string, o Options) (*told, error) {
	run, err := src.Run(ctx, id)
	if err != nil {
		return nil, err
	}
	t := &told{run: run, d: o.Display}
	if t.d.Location == nil {
		t.d.Location = time.UTC
	}
	if t.events, err = src.Events(ctx, run.ID); err != nil {
		return nil, err
	}
	if t.alerts, err = src.Alerts(ctx, record.AlertFilter{Run: run.ID}); err != nil {
		return nil, err
	}
	if t.outcomes, err = src.Outcomes(ctx, run.ID); err != nil {
		return nil, err
	}
	t.bends = bent.Of(run, t.outcomes)
	t.findPhotos(o.Photos)
	if t.rows, err = collect(ctx, src, run.ID, 0); err != nil {
		return nil, err
	}
	if t.points, err = collect(ctx, src, run.ID, chartPoints); err != nil {
		return nil, err
	}
	// What cannot be read of these two is left out; the run was pressed all the same.
	if sheet, err := cure.ParseSheet(run.Glue, run.Sheet); err == nil {
		t.sheet = sheet
	}
	var final press.Status
	if err := json.Unmarshal(run.Final, &final); err == nil {
		t.final = &final
	}
	t.shifts = t.begin().In(t.d.Location).Format("-07:00") != t.end().In(t.d.Location).Format("-07:00")
	t.sum = t.summarise()
	t.progress = t.earn()
	return t, nil
}

func collect(ctx context.Context, src Source, run string, most int) ([]record.Thin, error) {
	var rows []record.Thin
	for row, err := range src.Thinned(ctx, run, time.Time{}, time.Time{}, most) {
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// when returns the time of the first event of the kind, or zero.
func (t *told) when(kind press.Kind) time.Time {
	for _, e := range t.events {
		if e.Kind == kind {
			return e.Time
		}
	}
	return time.Time{}
}

// first returns the first event of the kind.
func (t *told) first(kind press.Kind) (press.Event, bool) {
	for _, e := range t.events {
		if e.Kind == kind {
			return e, true
		}
	}
	return press.Event{}, false
}

// begin and end of what the record covers.
func (t *told) begin() time.Time {
	begin := t.run.Started
	if len(t.rows) > 0 && (begin.IsZero() || t.rows[0].First.Before(begin)) {
		begin = t.rows[0].First
	}
	if len(t.events) > 0 && (begin.IsZero() || t.events[0].Time.Before(begin)) {
		begin = t.events[0].Time
	}
	return begin
}

func (t *told) end() time.Time {
	end := t.run.Ended
	for _, row := range t.rows {
		if row.Last.After(end) {
			end = row.Last
		}
	}
	for _, e := range t.events {
		if e.Time.After(end) {
			end = e.Time
		}
	}
	return end
}
