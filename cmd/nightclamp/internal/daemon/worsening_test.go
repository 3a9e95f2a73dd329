package daemon

import (
	"encoding/json"
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
)

// keepRuns keeps finished runs of a press with the leaks, Pa/h.
func keepRuns(t *testing.T, store *record.Store, pressName, work string, leaks ...float64) {
	t.Helper()
	begin := time.Date(2026, time.September, 1, 18, 0, 0, 0, time.UTC)
	for i, rate := range leaks {
		started := begin.Add(time.Duration(i) * 48 * time.Hour)
		b := press.Band{Low: press.Num(rate - 30), Expected: press.Num(rate), High: press.Num(rate + 30)}
		final, err := json.Marshal(press.Status{Press: pressName, Work: work, Stage: press.Release, BagLeak: b})
		if err != nil {
			t.Fatal(err)
		}
		err = store.PutRun(t.Context(), record.Run{
			ID: pressName + work + started.Format("20060102"), Site: "boatshed", Press: pressName, Work: work, FloorPa: 65e3,
			Started: started, Ended: started.Add(24 * time.Hour), Stage: press.Release, Verdict: press.Pressed, Final: final,
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// TestBagThatGetsWorse: the leak of the run that ends is compared with the earlier
// ones of its press, and of no other, and not with tests of the empty bag.
func TestBagThatGetsWorse(t *testing.T) {
	for name, c := range map[string]struct {
		leaks []float64 // of the runs before; the one that ends leaks 60 Pa/h
		press string
		work  string
		worse bool
	}{
		"as ever":       {[]float64{50, 62, 55, 58, 61, 57}, "sled", "deck", false},
		"worse":         {[]float64{8, 12, 9, 10, 11, 9, 150, 160}, "sled", "deck", true},
		"another press": {[]float64{8, 12, 9, 10, 11, 9, 150, 160}, "keel", "deck", false},
		"empty bags":    {[]float64{8, 12, 9, 10, 11, 9, 150, 160}, "sled", press.EmptyBag, false},
		"too few":       {[]float64{8, 12}, "sled", "deck", false},
	} {
		store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
		keepRuns(t, store, c.press, c.work, c.leaks...)
		d := newDaemon(t, store, benchBag(7100))
		play(t, d)
		if _, err := d.Release(t.Context(), press.MarkOrder{}); err != nil {
			t.Fatal(err)
		}
		_, events := lastRun(t, store)
		if got := countOf(events, press.BagWorsening) == 1; got != c.worse {
			t.Errorf("%s: the bag of %+v counts as worse: %t", name, d.Statuses()[0].BagLeak, got)
		}
		told := 0
		for _, a := range d.Statuses()[0].Alerts {
			if a.Name == alert.BagWorsening && a.Severity == string(press.Note) {
				told++
			}
		}
		if (told == 1) != c.worse {
			t.Errorf("%s: told %d times: %+v", name, told, d.Statuses()[0].Alerts)
		}
	}
}
