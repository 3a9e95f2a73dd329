package web_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/dashboards/web/past"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
)

// bench is a page over a real record: six decks that came out, and one in the bag.
func bench(t *testing.T) (http.Handler, *record.Store) {
	t.Helper()
	store, err := record.Open(t.Context(), filepath.Join(t.TempDir(), "record.db"), record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := store.Close(); err != nil {
			t.Error(err)
		}
	})
	for i := range 7 {
		ended := time.Now().UTC().Add(-time.Duration(60-9*i) * 24 * time.Hour)
		run := record.Run{
			ID: fmt.Sprintf("deck-%d", i+1), Press: "deck", Work: fmt.Sprintf("Birch sled deck %d", i+1), Glue: "uf-two-part", FloorPa: 65000,
			Layup: layup.Example(), Started: ended.Add(-14 * time.Hour), Ended: ended, Stage: press.Release, Verdict: press.Pressed,
			Final: []byte(fmt.Sprintf(`{"clamped_progress":{"expected":1.1},"unclamped_share":0.02,"leak_rate_pa_per_h":{"low":%d,"expected":%d,"high":%d}}`, 200+40*i, 240+40*i, 280+40*i)),
		}
		if i == 6 {
			run.Ended, run.Stage = time.Time{}, press.Hold
		}
		if err := store.PutRun(t.Context(), run); err != nil {
			t.Fatal(err)
		}
	}
	src := newFake(deck())
	cfg := config(src)
	cfg.Records, cfg.Keeping = past.New(store, units.Display{}), past.NewKeeping(store, units.Display{}, true)
	return web.New(cfg), store
}

func measure(depth float64) string {
	return fmt.Sprintf(`{"across":{"depth_m":%.4f,"mould_depth_m":0.0225,"span_m":0.32},"weight_kg":1.85,"delaminated":false,"notes":"one edge | lifted"}`, depth)
}

func TestWhatCameOutIsWrittenDown(t *testing.T) {
	h, store := bench(t)
	a := describedAPI(t)
	ask := func(method, path, body string, code int, described ...string) []byte {
		t.Helper()
		rec := visit{method: method, path: path, body: body, from: local}.to(h)
		if rec.Code != code {
			t.Fatalf("%s %s: %d %s", method, path, rec.Code, rec.Body)
		}
		kind, _, _ := strings.Cut(rec.Header().Get("Content-Type"), ";")
		if len(described) > 0 {
			a.check(t, method+" "+path, rec.Body.Bytes(), "paths", described[0], strings.ToLower(method), "responses", fmt.Sprint(code), "content", kind, "schema")
		}
		return rec.Body.Bytes()
	}
	const outcomes, one, photos = "/api/v1/runs/{run}/outcomes", "/api/v1/runs/{run}/outcomes/{after}", "/api/v1/runs/{run}/outcomes/{after}/photos/{name}"
	ask("GET", "/api/v1/runs/deck-6/outcomes", "", 200, outcomes)
	ask("PUT", "/api/v1/runs/deck-6/outcomes/day", measure(0.0214), 200, one)
	a.check(t, "the order", []byte(measure(0.02)), "paths", one, "put", "requestBody", "content", "application/json", "schema")
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewRGBA(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	ask("POST", "/api/v1/runs/deck-6/outcomes/day/photos/edge.png", picture.String(), 200, photos)
	ask("POST", "/api/v1/runs/deck-6/outcomes/day/photos/edge.png", "no picture", 400, photos)
	ask("PUT", "/api/v1/runs/deck-6/outcomes/day", measure(0.0213), 200, one)
	var got past.CameOut
	if err := json.Unmarshal(ask("GET", "/api/v1/runs/deck-6/outcomes", "", 200, outcomes), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Outcomes) != 1 || got.Outcomes[0].Across.DepthM != 0.0213 || len(got.Outcomes[0].Photos) != 1 || got.Outcomes[0].Along.DepthM.Known() || len(got.Says) != 2 {
		t.Errorf("%+v", got)
	}
	if body := ask("GET", "/api/v1/runs/deck-6/photos/edge.png", "", 200); !bytes.Equal(body, picture.Bytes()) {
		t.Error("the photo is not what was given")
	}
	body := ask("GET", "/api/v1/runs/deck-6/record.zip", "", 200)
	archive, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := archive.Open("deck-6/photos/edge.png"); err != nil {
		t.Error(err)
	}
	if waiting, err := store.Unlogged(t.Context()); err != nil || len(waiting) != 1 {
		t.Errorf("the build log does not hear of it: %v, %v", waiting, err)
	}
	for path, code := range map[string]int{
		"GET /api/v1/runs/deck-9/outcomes": 404, "GET /api/v1/runs/deck-9/record.zip": 404, "GET /api/v1/runs/deck-6/photos/none.png": 404,
		"GET /api/v1/runs/deck-6/photos/..%2F..%2Frecord.db": 404, "PUT /api/v1/runs/deck-6/outcomes/month": 400, "PUT /api/v1/runs/deck-7/outcomes/release": 409,
		"PUT /api/v1/runs/deck-9/outcomes/day": 404, "GET /api/v1/compare?last=x": 400,
	} {
		method, at, _ := strings.Cut(path, " ")
		body := ""
		if method == "PUT" {
			body = measure(0.02)
		}
		ask(method, at, body, code)
	}
	ask("PUT", "/api/v1/runs/deck-6/outcomes/day", `{"weight_kg":-1}`, 400, one)
	ask("PUT", "/api/v1/runs/deck-6/outcomes/day", `{"wieght_kg":1}`, 400, one)
}

func TestComparison(t *testing.T) {
	h, _ := bench(t)
	for i := range 6 {
		rec := visit{method: "PUT", path: fmt.Sprintf("/api/v1/runs/deck-%d/outcomes/day", i+1), body: measure(0.0214 - 0.0001*float64(i%3)), from: local}.to(h)
		if rec.Code != 200 {
			t.Fatalf("%d %s", rec.Code, rec.Body)
		}
	}
	body := get(t, h, "/api/v1/compare?last=6").Body.Bytes()
	describedAPI(t).check(t, "compare", body, "paths", "/api/v1/compare", "get", "responses", "200", "content", "application/json", "schema")
	var c past.Comparison
	if err := json.Unmarshal(body, &c); err != nil {
		t.Fatal(err)
	}
	if len(c.Runs) != 6 || c.Runs[5].Run != "deck-6" || c.Runs[0].Shown.Earned != "110 %" || c.Runs[0].Shown.Leak != "0.24 kPa/h" || !strings.Contains(c.Runs[0].Shown.Across, "→") {
		t.Errorf("%+v", c.Runs)
	}
	if len(c.Fits) != 2 || !strings.Contains(c.Fits[0].Says, "nine cases of ten") || !strings.Contains(c.Fits[1].Says, "leaks more from run to run") {
		t.Errorf("%+v", c.Fits)
	}
}
