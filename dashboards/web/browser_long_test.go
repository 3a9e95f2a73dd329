//go:build full

package web_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"github.com/nightclamp/nightclamp/dashboards/web"
	"github.com/nightclamp/nightclamp/dashboards/web/past"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// longRun is a record of a run of 48 h at 10 Hz, with its noise.
func longRun(t *testing.T) (*record.Store, string) {
	t.Helper()
	store, err := record.Open(t.Context(), filepath.Join(t.TempDir(), "n.db"), record.Options{Flush: time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	const id = "deck-20261014T194000Z"
	run := record.Run{
		ID: id, Site: "boatshed", Press: "deck", Work: "birch sled deck", FloorPa: 65000, Strained: true,
		Started: begun.Add(-48 * time.Hour), Ended: begun, Stage: "release", Verdict: "pressed",
	}
	if err := store.PutRun(t.Context(), run); err != nil {
		t.Fatal(err)
	}
	s := sensor.Sample{Ambient: 100300, GlueLine: 12, Air: 11}
	for i := range 48 * 36000 {
		s.Time = run.Started.Add(time.Duration(i) * 100 * time.Millisecond)
		s.Bag = 16000 + float64(i)/400 + float64(i*7919%61)
		s.GlueLine, s.Air = 12+float64(i%36000)/18000, 11+float64(i%72000)/18000
		if err := store.AddSample(t.Context(), id, s); err != nil {
			t.Fatal(err)
		}
	}
	if err := store.Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	return store, id
}

// A run of 48 h at 10 Hz opens from a real record. What it moves is held to; how
// long it takes, from the click to the picture, is told.
func TestLongRunOpens(t *testing.T) {
	store, id := longRun(t)
	b := browser(t)
	cfg := config(newFake(deck()))
	cfg.Records = past.New(store, cfg.Display)
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	for _, state := range []string{"first visit", "next visit"} {
		b.do(t, chromedp.Navigate("about:blank"), chromedp.Navigate(url+"runs.html#"+id),
			until(`performance.getEntriesByName("drawn").length > 0`))
		ms := eval[float64](t, b, `performance.getEntriesByName("drawn")[0].startTime`)
		kB := eval[float64](t, b, `[...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")].reduce((sum, e) => sum + e.transferSize, 0) / 1000`)
		t.Logf("%s: drawn after %.0f ms, %.0f kB moved", state, ms, kB)
		if kB > 300 {
			t.Errorf("%s: %.0f kB for one run", state, kB)
		}
	}
	b.keep(t, "runs-48h")
	b.clean(t)
}
