package press

import (
	"math"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// The moisture is that of Wood Handbook (FPL-GTR-190) Table 4-2, the row at 50 °F
// (10 °C), from memory: 75 % humidity, 14.5 %; 40 %, 7.9 %. That at 100 % is the
// formula's, which the table leaves out.
func TestWoodInTheRoomsAir(t *testing.T) {
	damp := glue()
	damp.Moisture = [2]float64{7, 13}
	begin := time.Date(2026, 10, 5, 18, 0, 0, 0, time.UTC)
	for _, c := range []struct{ pct, wood float64 }{{75, 14.5}, {40, 7.9}, {100, 29}, {math.NaN(), math.NaN()}, {0, math.NaN()}, {140, math.NaN()}} {
		run := New(Config{Press: "bench", Sheet: damp})
		s := sensor.Blank(begin)
		s.Ambient, s.Bag, s.Air, s.Humidity = 100e3, 100e3, 10, c.pct
		if events := run.Advance(s); len(events) > 0 {
			t.Errorf("%g %%: events %v", c.pct, events)
		}
		st := run.Status()
		if got := float64(st.WoodPct); math.Abs(got-c.wood) > 0.3 || st.WoodPct.Known() == math.IsNaN(c.wood) {
			t.Errorf("%g %%: wood at %.2f %%, want %g", c.pct, got, c.wood)
		}
		if st.HumidityPct.Known() == math.IsNaN(c.wood) {
			t.Errorf("%g %% is told as %v", c.pct, st.HumidityPct)
		}
	}
}

func TestWoodWords(t *testing.T) {
	for _, c := range []struct {
		stage     Stage
		wood      Num
		low, high Num
		want      string
	}{
		{Idle, Unknown(), 7, 13, ""},
		{Idle, 9, Unknown(), Unknown(), "9 % moisture"},
		{Layup, 9, 7, 13, "9 % moisture, the glue wants 7 to 13 %"},
		{Layup, 16, 7, 13, "16 % moisture, the glue wants 7 to 13 %: dry it, and measure it"},
		{Release, 5, 7, 13, "5 % moisture, the glue wants 7 to 13 %: let it take up some, and measure it"},
		{Hold, 16, 7, 13, ""},
	} {
		got := Status{Stage: c.stage, WoodPct: c.wood, WoodWanted: [2]Num{c.low, c.high}}.WoodWords()
		if got != c.want {
			t.Errorf("%v within %v to %v: %q, want %q", c.wood, c.low, c.high, got, c.want)
		}
	}
}

// A hygrometer that falls silent is no event, and its last word does not stand for
// ever.
func TestOldHumidity(t *testing.T) {
	run := New(Config{Press: "bench"})
	at := time.Date(2026, 10, 5, 18, 0, 0, 0, time.UTC)
	for m := range 20 {
		s := sensor.Blank(at.Add(time.Duration(m) * time.Minute))
		s.Ambient, s.Bag, s.Air = 100e3, 16e3+float64(m%7), 10
		if m < 5 {
			s.Humidity = 70
		}
		for _, e := range run.Advance(s) {
			if e.Quantity != "" {
				t.Errorf("minute %d: %+v", m, e)
			}
		}
		if known := run.Status().HumidityPct.Known(); known != (m <= 14) {
			t.Errorf("minute %d: known %v", m, known)
		}
	}
}
