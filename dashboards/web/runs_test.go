package web_test

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/press"
)

// shelf is a Records with two runs: last night's and one before it.
type shelf struct{ *fake }

func (shelf) Runs(_ context.Context, name string, limit int) ([]web.Run, error) {
	all := []web.Run{
		{
			ID: "20261016T194000Z-deck", Site: "boatshed", Press: "deck", Work: "Birch sled deck, 5 plies", Glue: "uf-two-part", FloorPa: 65000,
			Strained: true, Started: begun, Stage: press.Hold, Verdict: press.WillNotHold, Sentence: deck().Sentence, Progress: 0.5,
		},
		{
			ID: "20261014T174000Z-runners", Site: "boatshed", Press: "runners", Work: "Two sled runners, ash", Glue: "uf-two-part", FloorPa: 65000,
			Started: begun.Add(-50 * time.Hour), Ended: begun.Add(-34 * time.Hour), Stage: press.Release, Verdict: press.Pressed,
			Sentence: "Pressed: the whole press time was earned under clamp.", Progress: 1, TopUps: 1, Notes: "Second heater on.",
		},
	}
	var found []web.Run
	for _, r := range all {
		if (name == "" || r.Press == name) && len(found) < limit {
			found = append(found, r)
		}
	}
	return found, nil
}

func (s shelf) Run(ctx context.Context, id string) (web.Run, []web.Happening, error) {
	all, _ := s.Runs(ctx, "", 10)
	for _, r := range all {
		if r.ID == id {
			return r, []web.Happening{
				{Event: press.Event{Time: r.Started, Kind: press.LayupStarted}, Words: "Glue was being spread"},
				{Event: press.Event{Time: r.Started.Add(35 * time.Minute), Kind: press.HoldStarted, VacuumPa: 85000}, Words: "Vacuum reached, pumping stopped: 85 kPa"},
			}, nil
		}
	}
	return web.Run{}, nil, press.Errorf(press.NotFound, "no run %q in the record", id)
}

func (s shelf) RunHistory(ctx context.Context, id string, _, _ time.Time, most int) (web.Series, error) {
	if _, _, err := s.Run(ctx, id); err != nil {
		return web.Series{}, err
	}
	return s.History(ctx, "deck", begun, night, most)
}

func TestRuns(t *testing.T) {
	cfg := config(newFake(deck()))
	cfg.Records = shelf{newFake(deck())}
	h := web.New(cfg)
	var runs []web.Run
	if err := json.Unmarshal(get(t, h, "/api/v1/runs").Body.Bytes(), &runs); err != nil || len(runs) != 2 {
		t.Fatalf("%v %+v", err, runs)
	}
	want := web.RunShown{Verdict: "Pressed", Started: "17:40 on 14 October", Ended: "09:40 on 15 October", Took: "16 h", Floor: "65 kPa", Progress: "100 %"}
	if runs[1].Shown != want {
		t.Errorf("shown %+v, want %+v", runs[1].Shown, want)
	}
	if runs[0].Shown.Ended != "" || runs[0].Shown.Took != "7 h 20 min" {
		t.Errorf("an open run is shown as %+v", runs[0].Shown)
	}
	if err := json.Unmarshal(get(t, h, "/api/v1/runs?press=deck&limit=1").Body.Bytes(), &runs); err != nil || len(runs) != 1 {
		t.Errorf("%v %+v", err, runs)
	}
	var detail web.RunDetail
	if err := json.Unmarshal(get(t, h, "/api/v1/runs/20261016T194000Z-deck").Body.Bytes(), &detail); err != nil {
		t.Fatal(err)
	}
	if len(detail.Events) != 2 || detail.Events[1].At != "20:15" || detail.Events[1].Words == "" {
		t.Errorf("events %+v", detail.Events)
	}
	var got columns
	if err := json.Unmarshal(get(t, h, "/api/v1/runs/20261016T194000Z-deck/history?points=50").Body.Bytes(), &got); err != nil || len(got.T) != 50 {
		t.Errorf("%v, %d points", err, len(got.T))
	}
	for path, code := range map[string]int{
		"/api/v1/runs/nothing": 404, "/api/v1/runs/nothing/history": 404, "/api/v1/runs?limit=0": 400, "/api/v1/runs?limit=x": 400,
		"/api/v1/runs/20261016T194000Z-deck/history?points=0": 400,
	} {
		if rec := get(t, h, path); rec.Code != code || !strings.HasPrefix(rec.Header().Get("Content-Type"), "application/problem+json") {
			t.Errorf("%s: %d %s", path, rec.Code, rec.Body)
		}
	}
	if rec := get(t, web.New(config(newFake())), "/api/v1/runs"); rec.Code != 404 {
		t.Errorf("runs where none are kept: %d", rec.Code)
	}
}
