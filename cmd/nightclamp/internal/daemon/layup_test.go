package daemon

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure/layup"
	"github.com/nightclamp/nightclamp/press"
)

// A lay-up stands in for what the order leaves open, is kept with the run, and
// is known again after a stop.
func TestStartWithALayup(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	store := openStore(t, path)
	d := newDaemon(t, store, nil)
	text := string(layup.Example())
	l, err := layup.Parse("example", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	order := press.StartOrder{FloorPa: press.Unknown(), Work: "deck of mine", Layup: text}
	if _, err := d.stations[0].Start(t.Context(), order); err != nil {
		t.Fatal(err)
	}
	run, _ := lastRun(t, store)
	if run.Work != "deck of mine" || run.Glue != l.Glue || run.Plies != len(l.Plies) || run.AreaM2 != l.Area || run.FloorPa != l.Floor || !run.Strained {
		t.Errorf("kept %+v", run)
	}
	if string(run.Layup) != text {
		t.Error("the lay-up is not kept as it was given")
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	again := newDaemon(t, openStore(t, path), nil).stations[0]
	if id := again.run.ID(); id != run.ID {
		t.Fatalf("picked up %q, want %q", id, run.ID)
	}
	if got := again.run.Config().Stack; got != l.GlueLine() {
		t.Errorf("after a stop the stack is %+v, want %+v", got, l.GlueLine())
	}
}

// A start may come before the first sample: the run begins now, not in year one.
func TestStartBeforeTheFirstSample(t *testing.T) {
	s := newDaemon(t, openStore(t, filepath.Join(t.TempDir(), "n.db")), nil).stations[0]
	before := time.Now().Add(-time.Second)
	st, err := s.Start(t.Context(), press.StartOrder{FloorPa: press.Unknown()})
	if err != nil {
		t.Fatal(err)
	}
	if st.Started.Before(before) {
		t.Errorf("begun at %s", st.Started)
	}
}

func TestLayupsThatAreRefused(t *testing.T) {
	s := newDaemon(t, openStore(t, filepath.Join(t.TempDir(), "n.db")), nil).stations[0]
	for what, text := range map[string]string{
		"a key that is none": "plice = []", "no TOML": "plies = [", "too long": "# " + strings.Repeat("x", maxLayup),
	} {
		_, err := s.Start(t.Context(), press.StartOrder{FloorPa: press.Unknown(), Layup: text})
		if err == nil || press.Code(err) != 400 {
			t.Errorf("%s: %v", what, err)
		}
	}
}
