package daemon

import (
	"context"
	"errors"
	"log/slog"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/pump"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// pumped is a bag with an electric pump on a relay: it is both the feed, which the
// relay moves, and the relay. Somebody draws it down by hand first.
type pumped struct {
	hours  int
	leak   float64 // Pa/s
	dead   bool    // the pump does not start
	broken error   // the relay takes nothing
	on     bool
	vacuum float64
	during func(hour float64)
}

func (p *pumped) Set(on bool) error {
	if p.broken != nil {
		return p.broken
	}
	p.on = on
	return nil
}

func (*pumped) Health() []press.SensorStatus { return nil }

func (p *pumped) Run(_ context.Context, take func(sensor.Sample)) error {
	begins := time.Date(2026, time.October, 17, 19, 0, 0, 0, time.UTC)
	rng := rand.New(rand.NewPCG(7, 9))
	for i := range p.hours * 3600 {
		switch {
		case i >= 60 && i < 240: // pulled down by another pump
			p.vacuum += (80e3 - p.vacuum) / 40
		case i >= 240:
			p.vacuum -= p.leak
			if p.on && !p.dead {
				p.vacuum += (88e3 - p.vacuum) / 60
			}
		}
		if p.during != nil {
			p.during(float64(i) / 3600)
		}
		p.vacuum = math.Max(p.vacuum, 0)
		s := sensor.Blank(begins.Add(time.Duration(i) * time.Second))
		s.Ambient, s.Air, s.GlueLine = 101300, 12, 14
		s.Bag = 101300 - p.vacuum + 15*rng.NormFloat64()
		take(s)
	}
	return nil
}

func pumpedDaemon(t *testing.T, p *pumped, store *record.Store) *Daemon {
	t.Helper()
	d, err := New(t.Context(), Config{
		Stations: []StationConfig{{
			Site: "boatshed", Press: "sled", Glue: "pva-d3",
			Pump: &Pump{Control: pump.Config{StartBelow: 70e3, StopAbove: 78e3}, Relay: p},
		}},
		Feeds: []Feed{p}, Store: store, Link: Unlinked{}, Sheets: datasheets.Load, Log: slog.New(slog.DiscardHandler),
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// TestPumpTopsUp leaves a bag that leaks 3 kPa/h to the pump. The engine counts
// each run of the pump as one top-up, and the leak it finds is the bag's.
func TestPumpTopsUp(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	p := &pumped{hours: 10, leak: 3000.0 / 3600}
	least := math.Inf(1)
	p.during = func(hour float64) {
		if hour > 1 {
			least = math.Min(least, p.vacuum)
		}
	}
	st := play(t, pumpedDaemon(t, p, store))
	if least < 69.5e3 {
		t.Errorf("the vacuum fell to %.0f Pa", least)
	}
	_, events := lastRun(t, store)
	starts, stops, topUps := countOf(events, press.PumpStarted), countOf(events, press.PumpStopped), countOf(events, press.ToppedUp)
	// 80 to 70 kPa takes 3.3 h, each 78 to 70 2.7 h: at 3.3, 6 and 8.7 h.
	if starts != 3 || stops != 3 || topUps != 3 || st.TopUps != 3 {
		t.Errorf("%d starts, %d stops, %d top-ups, %d in the status", starts, stops, topUps, st.TopUps)
	}
	if n := countOf(events, press.HoldStarted) + countOf(events, press.Released); n != 1 {
		t.Errorf("the hold began or ended %d times", n)
	}
	if low, high := float64(st.LeakRate.Low), float64(st.LeakRate.High); low > 3000 || high < 3000 {
		t.Errorf("the leak is 3000 Pa/h and told as %.0f to %.0f", low, high)
	}
	if st.Pump == nil || st.Pump.On || st.Pump.Locked != "" {
		t.Errorf("the pump's status: %+v", st.Pump)
	}
}

// TestPumpIsLocked has a pump that does not start, and somebody who mends it.
func TestPumpIsLocked(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	p := &pumped{hours: 6, leak: 4000.0 / 3600, dead: true}
	d := pumpedDaemon(t, p, store)
	mended := false
	p.during = func(hour float64) {
		st := d.stations[0]
		if hour < 4 || mended {
			return
		}
		mended, p.dead = true, false
		if got := st.Status().Pump; got == nil || got.Locked != string(pump.NoGain) || p.on {
			t.Errorf("after four hours: %+v, relay on %v", got, p.on)
		}
		active := st.Alerts()
		if len(active) == 0 || active[0].Name != alert.PumpLocked && !hasAlert(active, alert.PumpLocked) {
			t.Errorf("alerts: %+v", active)
		}
		if _, err := d.TopUp(t.Context(), press.MarkOrder{Text: "the plug was out"}); err != nil {
			t.Error(err)
		}
	}
	play(t, d)
	_, events := lastRun(t, store)
	for kind, want := range map[press.Kind]int{press.PumpLocked: 1, press.PumpFreed: 1} {
		if n := countOf(events, kind); n != want {
			t.Errorf("%d times %s, want %d", n, kind, want)
		}
	}
	if n := countOf(events, press.PumpStarted); n < 2 {
		t.Errorf("%d starts", n)
	}
	for _, e := range events {
		if e.Kind == press.PumpLocked && !strings.Contains(e.Text, "did not start") {
			t.Errorf("why it is locked: %q", e.Text)
		}
	}
}

func hasAlert(list []press.Alert, name string) bool {
	for _, a := range list {
		if a.Name == name {
			return true
		}
	}
	return false
}

// TestRelayThatFails is told of, and the press is watched all the same.
func TestRelayThatFails(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "n.db"))
	p := &pumped{hours: 1, leak: 0.1, broken: errors.New("no such pin")}
	st := play(t, pumpedDaemon(t, p, store))
	_, events := lastRun(t, store)
	if countOf(events, press.PumpLocked) != 1 || st.Pump.Locked != string(pump.SwitchFail) || st.Stage != press.Hold {
		t.Errorf("%+v in %s", st.Pump, st.Stage)
	}
}

// TestRestartWhilePumping ends the daemon while the pump runs. The next one finds a
// pump that its record has on, says that it is off, and rests first; a lock stays.
func TestRestartWhilePumping(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	store := openStore(t, path)
	p := &pumped{hours: 1, leak: 20000.0 / 3600}
	ctx, stop := context.WithCancel(t.Context())
	d := pumpedDaemon(t, p, store)
	feed := p.Run
	_ = feed(ctx, func(s sensor.Sample) {
		if ctx.Err() == nil {
			d.stations[0].Take(ctx, s)
		}
		if p.on {
			stop()
		}
	})
	if !p.on {
		t.Fatal("the pump never ran")
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	store = openStore(t, path)
	d = pumpedDaemon(t, p, store)
	last := d.stations[0].run.Status().Time
	s := sensor.Blank(last.Add(10 * time.Second))
	s.Bag, s.Ambient, s.Air, s.GlueLine = 101300-69e3, 101300, 12, 14
	d.stations[0].Take(t.Context(), s)
	if p.on {
		t.Error("the pump is on after the restart")
	}
	_, events := lastRun(t, store)
	if n := len(events); n == 0 || countOf(events, press.PumpStopped) != 1 {
		t.Errorf("events: %v", events)
	}
	for _, e := range events {
		if e.Kind == press.PumpStopped && e.Text != string(pump.Restarted) {
			t.Errorf("stopped because %q", e.Text)
		}
	}
}

// corrected is a feed whose readings have a correction, which changes in the run.
type corrected struct {
	tape
	text string
}

func (c *corrected) Calibration() string { return c.text }

// TestCalibrationIsInTheRun: each run says once which corrections its readings have,
// also after a restart, and again when they change.
func TestCalibrationIsInTheRun(t *testing.T) {
	path := filepath.Join(t.TempDir(), "n.db")
	samples := night(t, 0, 3*3600)
	feed := &corrected{text: "mpr: bag zero -312 Pa"}
	for part, text := range []string{feed.text, feed.text, ""} {
		store := openStore(t, path)
		d := newDaemon(t, store, nil)
		feed.text = text
		d.stations[0].feed = feed
		feed.samples = samples[part*3600 : (part+1)*3600]
		play(t, d)
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
	}
	_, events := lastRun(t, openStore(t, path))
	var told []string
	for _, e := range events {
		if e.Kind == press.Calibrated {
			told = append(told, e.Text)
		}
	}
	if len(told) != 2 || told[0] != "mpr: bag zero -312 Pa" || told[1] != "none" {
		t.Errorf("told %q", told)
	}
}
