package web_test

import (
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/dashboards/web"
)

type columns struct {
	Press  string
	T      []float64
	Vacuum map[string][]*float64 `json:"vacuum_pa"`
	Glue   map[string][]*float64 `json:"glueline_c"`
	Done   []*float64            `json:"clamped_progress"`
}

func TestHistory(t *testing.T) {
	src := newFake(deck())
	rec := get(t, web.New(config(src)), "/api/v1/presses/deck/history")
	var got columns
	if err := json.Unmarshal(rec.Body.Bytes(), &got); err != nil {
		t.Fatalf("%v in %.200s", err, rec.Body)
	}
	if want := (history{"deck", begun, night, 600}); src.asked != want {
		t.Errorf("without a query the run is asked for: got %+v, want %+v", src.asked, want)
	}
	if len(got.T) != 600 || got.T[0] != float64(begun.Unix()) {
		t.Fatalf("%d points from %v", len(got.T), got.T[0])
	}
	for _, col := range [][]*float64{got.Vacuum["min"], got.Vacuum["mean"], got.Vacuum["max"], got.Glue["mean"], got.Done} {
		if len(col) != len(got.T) {
			t.Fatalf("a column has %d of %d values", len(col), len(got.T))
		}
	}
	i := 500
	if want := vacuumAt(time.Unix(int64(got.T[i]), 0)); math.Abs(*got.Vacuum["mean"][i]-want) > 1 {
		t.Errorf("vacuum %v, want %v", *got.Vacuum["mean"][i], want)
	}
}

func TestHistoryQuery(t *testing.T) {
	src := newFake(deck())
	h := web.New(config(src))
	if rec := get(t, h, "/api/v1/presses/deck/history?from=2026-10-16T20:00:00Z&to=1792198800.5&points=50"); rec.Code != 200 {
		t.Fatalf("%d %s", rec.Code, rec.Body)
	}
	want := history{"deck", time.Date(2026, 10, 16, 20, 0, 0, 0, time.UTC), time.UnixMilli(1792198800500).UTC(), 50}
	if src.asked != want {
		t.Errorf("asked %+v, want %+v", src.asked, want)
	}
	for query, say := range map[string]string{
		"from=yesterday": "from=", "to=-5": "to=", "points=1": "from 2 to 2000", "points=5000": "points",
		"from=2026-10-17T00:00:00Z&to=2026-10-16T00:00:00Z": "before", "to=NaN": "to=", "from=1e300": "from=",
	} {
		rec := get(t, h, "/api/v1/presses/deck/history?"+query)
		if rec.Code != http.StatusBadRequest || !strings.Contains(rec.Body.String(), say) {
			t.Errorf("%s: %d %s", query, rec.Code, rec.Body)
		}
		if kind := rec.Header().Get("Content-Type"); kind != "application/problem+json" {
			t.Errorf("%s: %s", query, kind)
		}
	}
	if rec := get(t, h, "/api/v1/presses/keel/history"); rec.Code != 404 || !strings.Contains(rec.Body.String(), "keel") {
		t.Errorf("an unknown press: %d %s", rec.Code, rec.Body)
	}
}

// A run of 48 h must open on a phone with a bad line: less than 300 kB for all
// that the page loads, as a browser gets it.
func TestPageIsLight(t *testing.T) {
	st := deck()
	st.Started = night.Add(-48 * time.Hour)
	h := web.New(config(newFake(st)))
	total := 0
	for _, path := range []string{
		"/", "/page.css", "/app.js", "/live.js", "/view.js", "/clock.js", "/picture.js", "/forecast.js", "/act.js", "/api.js", "/login.js", "/wall.js", "/icon.svg", "/app.webmanifest",
		"/lib/uPlot.js", "/lib/uPlot.css", "/api/v1/config", "/api/v1/status", "/api/v1/presses/deck/history?points=600",
	} {
		rec := get(t, h, path, "Accept-Encoding", "gzip")
		if rec.Code != 200 {
			t.Errorf("%s: %d", path, rec.Code)
		}
		total += rec.Body.Len()
	}
	t.Logf("%d bytes", total)
	if total > 300_000 {
		t.Errorf("the page moves %d bytes", total)
	}
}

func BenchmarkHistory(b *testing.B) {
	h := web.New(config(newFake(deck())))
	for b.Loop() {
		get(&testing.T{}, h, "/api/v1/presses/deck/history", "Accept-Encoding", "gzip")
	}
}
