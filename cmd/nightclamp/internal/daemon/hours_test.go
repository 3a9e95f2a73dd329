package daemon

import (
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

// shedDays are days in a made-up shed, a sample a minute: coldest at six in the
// morning with 9 °C, warmest at six in the evening with 21 °C. From the sixth
// evening on the bag is under vacuum.
func shedDays(from, to time.Duration) []sensor.Sample {
	begin := time.Date(2026, 10, 5, 0, 0, 0, 0, time.UTC)
	const underVacuum = 5*24*time.Hour + 18*time.Hour
	var all []sensor.Sample
	for at := from; at < to; at += time.Minute {
		s := sensor.Blank(begin.Add(at))
		s.Ambient, s.Bag = 100e3, 100e3+float64(at/time.Minute%7)
		s.Air = 15 - 6*math.Cos(2*math.Pi*(at.Hours()-6)/24)
		if at >= underVacuum {
			s.Bag -= 84e3
		}
		all = append(all, s)
	}
	return all
}

// TestTheShopIsLearntWhileIdle: the daemon that saw the shop for days without a
// run expects the cold of the night, also after a stop; one that did not, does not.
func TestTheShopIsLearntWhileIdle(t *testing.T) {
	const evening, later = 5*24*time.Hour + 18*time.Hour, 5*24*time.Hour + 20*time.Hour
	path := filepath.Join(t.TempDir(), "n.db")
	idle := openStore(t, path)
	if st := play(t, newDaemon(t, idle, shedDays(0, evening))); st.Stage != press.Idle {
		t.Fatalf("idle days end in %s", st.Stage)
	}
	if err := idle.Close(); err != nil {
		t.Fatal(err)
	}
	stopped := play(t, newDaemon(t, openStore(t, path), shedDays(evening, later)))
	through := play(t, newDaemon(t, openStore(t, filepath.Join(t.TempDir(), "n.db")), shedDays(0, later)))
	fresh := play(t, newDaemon(t, openStore(t, filepath.Join(t.TempDir(), "n.db")), shedDays(evening, later)))

	// The lag of an hour and 6 K of swing: below the 10 °C of this glue soon after four.
	want := time.Date(2026, 10, 11, 4, 30, 0, 0, time.UTC)
	for name, st := range map[string]press.Status{"through": through, "after a stop": stopped} {
		if off := st.ColdAt.Sub(want).Abs(); st.ColdAt.IsZero() || off > time.Hour {
			t.Errorf("%s: cold is foreseen at %s, want about %s", name, st.ColdAt, want)
		}
	}
	if !fresh.ColdAt.IsZero() {
		t.Errorf("a daemon that saw an evening foresees cold at %s", fresh.ColdAt)
	}
	if d := through.PressTimeAt.Expected.Sub(stopped.PressTimeAt.Expected).Abs(); d > 10*time.Minute {
		t.Errorf("press time %s, after a stop %s", through.PressTimeAt.Expected, stopped.PressTimeAt.Expected)
	}
	// A third daemon works the run out again from its record: as it was known then.
	again := newDaemon(t, openStore(t, path), nil).stations[0].run.Status()
	if d := again.ColdAt.Sub(stopped.ColdAt).Abs(); again.Run != stopped.Run || d > 5*time.Minute {
		t.Errorf("worked out again: run %s, cold at %s; before %s at %s", again.Run, again.ColdAt, stopped.Run, stopped.ColdAt)
	}
}

func TestHoursThatAreNoHours(t *testing.T) {
	var h hours
	at := time.Date(2026, 10, 5, 10, 45, 0, 0, time.UTC)
	h.add(at, 12, math.NaN())
	h.add(at.Add(10*time.Minute), 12, math.NaN())
	if got, ok := h.add(at.Add(20*time.Minute), 14, 13); ok {
		t.Errorf("ten minutes stand for an hour: %+v", got)
	}
	h.add(at.Add(50*time.Minute), 15, 13)
	got, ok := h.add(at.Add(80*time.Minute), 15, 13)
	if !ok || got.AirC != 14.5 || got.GluelineC != 13 || got.Hour.Hour() != 11 {
		t.Errorf("half an hour: %v %+v", ok, got)
	}
	if n := len(h.before(at.Add(70 * time.Minute))); n != 0 {
		t.Errorf("%d hours had ended before this one did", n)
	}
	h.remember(press.HourMean{Hour: got.Hour.Add(-3 * time.Hour), AirC: 5})
	if len(h.past) != 1 || h.past[0].AirC != 5 {
		t.Errorf("after a clock that was set back: %+v", h.past)
	}
}
