package daemon

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// What is told in the evening holds for the run that begins afterwards and over a
// restart, and is forgotten a day later, with a word in the record.
func TestTheWeatherIsToldBeforeTheRun(t *testing.T) {
	const evening = 5*24*time.Hour + 18*time.Hour
	path := filepath.Join(t.TempDir(), "n.db")
	store := openStore(t, path)
	d := newDaemon(t, store, shedDays(evening-time.Hour, evening-30*time.Minute))
	play(t, d)
	low := press.WeatherOrder{LowC: 1, HighC: press.Unknown()}
	st, err := d.Weather(t.Context(), low)
	if err != nil || st.Weather == nil || st.Weather.LowC != 1 || st.Stage != press.Idle {
		t.Fatalf("%v: %+v", err, st.Weather)
	}
	until := st.Weather.Until
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}

	store = openStore(t, path)
	d = newDaemon(t, store, shedDays(evening-20*time.Minute, evening+2*time.Hour))
	if st := d.Statuses()[0]; st.Weather == nil || !st.Weather.Until.Equal(until) {
		t.Errorf("after a restart: %+v", st.Weather)
	}
	if st := play(t, d); st.Stage != press.Hold || st.Weather == nil || st.ColdAt.IsZero() {
		t.Errorf("two hours into the run: %s, %+v, cold at %s", st.Stage, st.Weather, st.ColdAt)
	}
	if _, events := lastRun(t, store); countOf(events, press.WeatherTold) != 1 {
		t.Errorf("the run was told %d times", countOf(events, press.WeatherTold))
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}

	store = openStore(t, path)
	d = newDaemon(t, store, shedDays(evening+2*time.Hour+time.Minute, evening+24*time.Hour))
	if st := play(t, d); st.Weather != nil {
		t.Errorf("a day later: %+v", st.Weather)
	}
	_, events := lastRun(t, store)
	if countOf(events, press.WeatherTold) != 1 || countOf(events, press.WeatherForgotten) != 1 {
		t.Errorf("told %d, forgotten %d times", countOf(events, press.WeatherTold), countOf(events, press.WeatherForgotten))
	}
	if _, err := d.Weather(t.Context(), press.WeatherOrder{Forget: true, LowC: press.Unknown(), HighC: press.Unknown()}); press.Code(err) != press.NotFound {
		t.Errorf("nothing was told: %v", err)
	}
}
