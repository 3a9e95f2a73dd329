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
func longRun(t *testing.T) *record.Store {
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
	return store
}

// A run of 48 h at 10 Hz opens from a real record. What it moves is held to; how
// long it takes, from the click to the picture, is told.
func TestLongRunOpens(t *testing.T) {
	store := longRun(t)
	b := browser(t)
	cfg := config(newFake(deck()))
	cfg.Records = past.New(store, cfg.Display)
	url, _ := serve(t, web.New(cfg), "127.0.0.1:0")
	b.use(t, screens()[1])
	moved := `[...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")].reduce((sum, e) => sum + e.transferSize, 0) / 1000`
	b.do(t, chromedp.Navigate(url+"runs.html"), until(`document.querySelector("#list a")`))
	for _, state := range []string{"first", "again"} {
		b.do(t, chromedp.Evaluate[chromedp.Void](`location.hash = ""; performance.clearMarks("drawn")`), until(`document.getElementById("run").hidden`),
			chromedp.Evaluate[chromedp.Void](`performance.mark("clicked"); document.querySelector("#list a").click()`),
			until(`performance.getEntriesByName("drawn").length > 0`))
		ms := eval[float64](t, b, `performance.getEntriesByName("drawn")[0].startTime - performance.getEntriesByName("clicked").at(-1).startTime`)
		t.Logf("%s: the picture is drawn %.0f ms after the click", state, ms)
	}
	if kB := eval[float64](t, b, moved); kB > 300 {
		t.Errorf("%.0f kB for the page and a run", kB)
	} else {
		t.Logf("%.0f kB moved", kB)
	}
	b.keep(t, "runs-48h")
	b.clean(t)
}
