package daemon

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// A press without a run that nobody watched for half a night leaves a note and an
// event; a restart of minutes does not.
func TestAPowerCutBetweenRunsIsNoted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	store := openStore(t, path)
	play(t, newDaemon(t, store, shedDays(0, 3*time.Hour)))
	for _, c := range []struct {
		from, to time.Duration
		notes    int
	}{
		{3*time.Hour + 5*time.Minute, 6 * time.Hour, 0},
		{11 * time.Hour, 12 * time.Hour, 1},
	} {
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
		store = openStore(t, path)
		st := play(t, newDaemon(t, store, shedDays(c.from, c.to)))
		events, err := store.Events(t.Context(), "")
		if err != nil || countOf(events, press.Gap) != c.notes || len(st.Alerts) != c.notes {
			t.Fatalf("watched again after %s: %v, %v, %v", c.from, err, events, st.Alerts)
		}
		if c.notes == 0 {
			continue
		}
		if a := st.Alerts[0]; a.Name != "gap" || a.Severity != string(press.Note) {
			t.Errorf("told as %+v", a)
		}
		gap := events[slices.IndexFunc(events, func(e press.Event) bool { return e.Kind == press.Gap })]
		if gap.From.Hour() != 5 || gap.To.Hour() != 11 { // the hour that was not full is not kept
			t.Errorf("from %s to %s", gap.From, gap.To)
		}
	}
}
