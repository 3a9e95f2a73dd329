package alert

import (
	"slices"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
	_ "time/tzdata" // the zone of the test must be there everywhere

	"github.com/nightclamp/nightclamp/press"
)

func TestQuietHours(t *testing.T) {
	helsinki, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ hours, now, want string }{
		{"22:00-07:00", "2026-10-16T21:59:00+03:00", "2026-10-16T21:59:00+03:00"},
		{"22:00-07:00", "2026-10-16T22:00:00+03:00", "2026-10-17T07:00:00+03:00"},
		{"22:00-07:00", "2026-10-17T06:59:59+03:00", "2026-10-17T07:00:00+03:00"},
		{"22:00-07:00", "2026-10-17T07:00:00+03:00", "2026-10-17T07:00:00+03:00"},
		{"13:00-14:30", "2026-10-17T14:00:00+03:00", "2026-10-17T14:30:00+03:00"},
		{"22:00-07:00", "2026-10-16T20:30:00Z", "2026-10-17T04:00:00Z"},           // another zone, the same wall
		{"22:00-07:00", "2026-10-25T01:00:00+03:00", "2026-10-25T07:00:00+02:00"}, // summer time ends
		{"", "2026-10-16T23:00:00+03:00", "2026-10-16T23:00:00+03:00"},
	} {
		q, err := ParseQuiet(c.hours, helsinki)
		if err != nil {
			t.Fatal(err)
		}
		now, _ := time.Parse(time.RFC3339, c.now)
		want, _ := time.Parse(time.RFC3339, c.want)
		if got := q.after(now); !got.Equal(want) {
			t.Errorf("%s at %s: told at %s, want %s", c.hours, c.now, got, c.want)
		}
	}
	for _, bad := range []string{"22-7", "22:00", "25:00-07:00", "22:00-22:00", "22:00-07:00x", "-"} {
		if _, err := ParseQuiet(bad, nil); err == nil {
			t.Errorf("%q is taken for quiet hours", bad)
		}
	}
}

// told runs a dispatcher in which state says what becomes of alert "a".
func told(t *testing.T, b *box, p *phone, state func() press.AlertState) {
	t.Helper()
	d := NewDispatcher(b, Ways{list: []openWay{{Way{Name: "p"}, p}}}, quiet())
	d.Ask(func(string) (press.AlertState, bool) { return state(), true })
	runDispatcher(t, d)
}

// raisedAt is the change of an alert that is said the nth time, age after it was raised.
func raisedAt(now time.Time, severity press.Severity, age time.Duration) press.Alert {
	return press.Alert{ID: "a", Name: MarginGone, Press: "deck", Severity: severity, State: press.AlertRaised, RaisedAt: now.Add(-age), At: now, Text: "Top up."}
}

func TestTheNextPersonIsAskedWhenNobodyAnswers(t *testing.T) {
	for _, answered := range []bool{false, true} {
		synctest.Test(t, func(t *testing.T) {
			p := &phone{}
			var state atomic.Value
			state.Store(press.AlertRaised)
			ways := Ways{list: []openWay{{Way{Name: "p", AtLeast: press.Wake, After: 10 * time.Minute}, p}}}
			b := newBox(ways.Deliveries([]press.Alert{raisedAt(time.Now(), press.Wake, 0)})...)
			told(t, b, p, func() press.AlertState { return state.Load().(press.AlertState) })
			time.Sleep(9 * time.Minute)
			synctest.Wait()
			if len(p.received()) != 0 {
				t.Error("asked at once")
			}
			if answered {
				state.Store(press.AlertAcknowledged)
			}
			time.Sleep(2 * time.Minute)
			synctest.Wait()
			if got := len(p.received()); (got == 0) != answered {
				t.Errorf("answered %v, asked %d times", answered, got)
			}
		})
	}
	ways := Ways{list: []openWay{{Way{Name: "p", AtLeast: press.Wake, After: 10 * time.Minute}, nil}}}
	now := time.Now()
	if got := ways.Deliveries([]press.Alert{raisedAt(now, press.Wake, 5*time.Minute)}); len(got) != 0 {
		t.Error("a reminder reaches who has not been asked yet")
	}
	if got := ways.Deliveries([]press.Alert{raisedAt(now, press.Wake, 15*time.Minute)}); len(got) != 1 || got[0].DueAt.Sub(got[0].Created) != 0 {
		t.Errorf("a reminder to who has been asked: %v", got)
	}
}

func TestQuietHoursHoldBackAllButWake(t *testing.T) {
	synctest.Test(t, func(t *testing.T) { // the bubble's clock begins at midnight UTC
		p := &phone{}
		quietNight := Quiet{From: 22 * time.Hour, To: 7 * time.Hour}
		ways := Ways{list: []openWay{{Way{Name: "p", Quiet: quietNight}, p}}}
		now := time.Now()
		warn, again, wake := raisedAt(now, press.Warn, 0), raisedAt(now.Add(time.Minute), press.Warn, time.Minute), raisedAt(now, press.Wake, 0)
		wake.ID = "w"
		b := newBox(ways.Deliveries([]press.Alert{warn, again, wake})...)
		told(t, b, p, func() press.AlertState { return press.AlertRaised })
		time.Sleep(6*time.Hour + 59*time.Minute)
		synctest.Wait()
		if got := p.received(); len(got) != 1 || got[0] != b.list[2].Key {
			t.Errorf("in the night: %v", got)
		}
		time.Sleep(2 * time.Minute)
		synctest.Wait()
		if got := p.received(); !slices.Equal(got, []string{b.list[2].Key, b.list[1].Key}) {
			t.Errorf("in the morning: %v; only the newest of the two warnings is wanted", got)
		}
	})
}

func TestWhatWasOverBeforeTheMorningIsToldOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := &phone{}
		ways := Ways{list: []openWay{{Way{Name: "p", Quiet: Quiet{From: 22 * time.Hour, To: 7 * time.Hour}}, p}}}
		now := time.Now()
		warn := raisedAt(now, press.Warn, 0)
		over := warn
		over.State, over.Reason, over.At = press.AlertCleared, "margin_back", now.Add(time.Hour)
		b := newBox(ways.Deliveries([]press.Alert{warn, over})...)
		told(t, b, p, func() press.AlertState { return press.AlertCleared })
		time.Sleep(8 * time.Hour)
		synctest.Wait()
		if got := p.received(); !slices.Equal(got, []string{b.list[1].Key}) {
			t.Errorf("in the morning: %v", got)
		}
	})
}
