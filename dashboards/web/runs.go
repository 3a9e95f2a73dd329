package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Records is where the page reads of runs, the open ones and those of the
// past. Package past shows a record as one.
type Records interface {
	// Runs returns the runs of a press, or of all when it is empty, newest first.
	Runs(ctx context.Context, press string, limit int) ([]Run, error)
	// Run returns a run and what happened in it, in order.
	Run(ctx context.Context, id string) (Run, []Happening, error)
	// RunHistory is like [Source].History for any run. Zero times are no bounds.
	RunHistory(ctx context.Context, id string, from, to time.Time, maxPoints int) (Series, error)
}

// Run is one pressing, as it is kept.
type Run struct {
	ID       string        `json:"id"`
	Site     string        `json:"site"`
	Press    string        `json:"press"`
	Work     string        `json:"work"`
	Glue     string        `json:"glue"`
	FloorPa  press.Num     `json:"floor_pa"`
	Strained bool          `json:"strained"`
	Plies    int           `json:"plies,omitempty"`
	AreaM2   float64       `json:"area_m2,omitempty"`
	Notes    string        `json:"notes,omitempty"`
	Started  time.Time     `json:"started"`
	Ended    time.Time     `json:"ended,omitzero"` // left out while the run is open
	Stage    press.Stage   `json:"stage"`
	Verdict  press.Verdict `json:"verdict"`
	Sentence string        `json:"sentence"` // the last one
	Progress press.Num     `json:"clamped_progress"`
	TopUps   int           `json:"top_ups"`

	Shown RunShown `json:"shown"` // filled in by the page's server
}

// RunShown is a run in words and figures.
type RunShown struct {
	Verdict  string `json:"verdict"`
	Started  string `json:"started"`
	Ended    string `json:"ended"`
	Took     string `json:"took"`
	Floor    string `json:"floor"`
	Progress string `json:"progress"`
}

// Happening is one event of a run.
type Happening struct {
	Event press.Event `json:"event"`
	Words string      `json:"words"` // what happened, for people
	At    string      `json:"at"`    // when, for people; filled in by the page's server
}

// RunDetail is the answer of /api/v1/runs/{run}.
type RunDetail struct {
	Run    Run         `json:"run"`
	Events []Happening `json:"events"`
}

func showRun(r Run, d units.Display, now time.Time) Run {
	end := r.Ended
	if end.IsZero() {
		end = now
	}
	r.Shown = RunShown{
		Verdict: verdictWords(r.Verdict), Started: d.Clock(r.Started, now), Took: d.Span(max(0, end.Sub(r.Started))),
		Floor: d.Pressure(float64(r.FloorPa)), Progress: percent(r.Progress),
	}
	if !r.Ended.IsZero() {
		r.Shown.Ended = d.Clock(r.Ended, now)
	}
	return r
}

const mostRuns = 500

func (s *server) past() []route {
	return []route{
		{"GET /api/v1/runs", s.runs},
		{"GET /api/v1/runs/{run}", s.run},
		{"GET /api/v1/runs/{run}/history", s.runHistory},
	}
}

func (s *server) runs(w http.ResponseWriter, r *http.Request) {
	limit := 50
	if v := r.URL.Query().Get("limit"); v != "" {
		n, err := strconv.Atoi(v)
		if err != nil || n < 1 || n > mostRuns {
			s.fail(w, r, http.StatusBadRequest, fmt.Sprintf("limit=%q: want a whole number from 1 to %d", v, mostRuns))
			return
		}
		limit = n
	}
	runs, err := s.Records.Runs(r.Context(), r.URL.Query().Get("press"), limit)
	if err != nil {
		s.fail(w, r, press.Code(err), err.Error())
		return
	}
	all := make([]Run, len(runs))
	for i, run := range runs {
		all[i] = showRun(run, s.Display, s.Now())
	}
	s.send(w, r, all)
}

func (s *server) run(w http.ResponseWriter, r *http.Request) {
	run, events, err := s.Records.Run(r.Context(), r.PathValue("run"))
	if err != nil {
		s.fail(w, r, press.Code(err), err.Error())
		return
	}
	detail := RunDetail{showRun(run, s.Display, s.Now()), make([]Happening, len(events))}
	for i, e := range events {
		e.At = s.Display.Clock(e.Event.Time, run.Started)
		detail.Events[i] = e
	}
	s.send(w, r, detail)
}

func (s *server) runHistory(w http.ResponseWriter, r *http.Request) {
	_, _, points, err := historyQuery(r, press.Status{})
	if err != nil {
		s.fail(w, r, http.StatusBadRequest, err.Error())
		return
	}
	id := r.PathValue("run")
	series, err := s.Records.RunHistory(r.Context(), id, time.Time{}, time.Time{}, points)
	if err != nil {
		s.fail(w, r, press.Code(err), err.Error())
		return
	}
	var from, to time.Time
	if n := len(series.Times); n > 0 {
		from, to = series.Times[0], series.Times[n-1]
	}
	answer(w, r, series.appendJSON(nil, id, from, to))
}

// send answers with a value as JSON.
func (s *server) send(w http.ResponseWriter, r *http.Request, value any) {
	body, err := json.Marshal(value)
	if err != nil {
		s.fail(w, r, http.StatusInternalServerError, err.Error())
		return
	}
	answer(w, r, body)
}
