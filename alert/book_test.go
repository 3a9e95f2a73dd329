package alert

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

var night = time.Date(2026, 10, 16, 22, 0, 0, 0, time.UTC)

// holding is a press in its hold with nothing wrong.
func holding() press.Status {
	return press.Status{
		Time: night, Site: "shed", Press: "deck", Run: "deck-1", Glue: "uf-two-part", Stage: press.Hold,
		Verdict: press.WillHold, VacuumPa: 84000, FloorPa: 65000, GluelineC: 12, MinUseC: 10,
		ClampedProgress: press.Band{Low: 0.3, Expected: 0.41, High: 0.5},
		PressTimeAt:     press.Span{Early: night.Add(10 * time.Hour), Expected: night.Add(11 * time.Hour), Late: night.Add(13 * time.Hour)},
		LeakRate:        press.Band{Low: 1500, Expected: 2100, High: 2600},
	}
}

// story plays events into a book and collects what changes.
type story struct {
	t    *testing.T
	book *Book
	st   press.Status
	log  []string
	all  []press.Alert
}

func newStory(t *testing.T) *story {
	return &story{t: t, book: NewBook(Config{}), st: holding()}
}

// at moves to s seconds after the begin of the night.
func (s *story) at(sec int) *story {
	s.st.Time = night.Add(time.Duration(sec) * time.Second)
	return s
}

// hold and drop set what the status says holds.
func (s *story) hold(k press.Kind, quantity string) {
	s.st.Conditions = append(s.st.Conditions, press.Condition{Kind: k, Quantity: quantity, Since: s.st.Time})
}

func (s *story) drop(k press.Kind, quantity string) {
	s.st.Conditions = slices.DeleteFunc(s.st.Conditions, func(c press.Condition) bool {
		return c.Kind == k && (quantity == "" || c.Quantity == quantity)
	})
}

func (s *story) event(kinds ...press.Kind) *story {
	return s.events("", kinds...)
}

func (s *story) events(quantity string, kinds ...press.Kind) *story {
	var evs []press.Event
	for _, k := range kinds {
		evs = append(evs, press.Event{
			Time: s.st.Time, Site: "shed", Press: "deck", Run: "deck-1", Kind: k, Quantity: quantity, VacuumPa: s.st.VacuumPa,
			FloorAt: s.st.Time.Add(5 * time.Hour), PressTimeAt: s.st.Time.Add(10 * time.Hour), Onset: s.st.Time.Add(-time.Hour),
			RatePaPerH: 2100, RateLow: 1500, RateHigh: 2600, GluelineC: 9.2, LimitC: 10,
			From: s.st.Time.Add(-75 * time.Minute), To: s.st.Time, ByS: -7260, Limit: s.st.Time.Add(3 * time.Minute),
			Early: s.st.Time, Late: s.st.Time.Add(2 * time.Hour),
		})
	}
	s.took(s.book.Advance(evs, s.st))
	return s
}

func (s *story) tick() *story {
	s.took(s.book.Advance(nil, s.st))
	return s
}

func (s *story) took(changed []press.Alert) {
	for _, a := range changed {
		s.log = append(s.log, fmt.Sprintf("%s %s %s", a.Name, a.Severity, a.State))
		s.all = append(s.all, a)
	}
}

func (s *story) want(lines ...string) {
	s.t.Helper()
	if !slices.Equal(s.log, lines) {
		s.t.Errorf("got\n  %s\nwant\n  %s", strings.Join(s.log, "\n  "), strings.Join(lines, "\n  "))
	}
}

func TestALeakThatCannotEatTheMarginIsANote(t *testing.T) {
	s := newStory(t)
	s.hold(press.LeakFound, "")
	s.event(press.LeakFound).at(60).tick().at(120)
	s.drop(press.LeakFound, "")
	s.event(press.LeakEnded)
	s.want("leak_found note raised", "leak_found note cleared")
}

func TestALeakThatEatsTheMarginIsOneAlert(t *testing.T) {
	s := newStory(t)
	s.st.Verdict, s.st.Leaking, s.st.LeakOnset = press.WillNotHold, true, night.Add(-time.Hour)
	s.hold(press.LeakFound, "")
	s.hold(press.MarginGone, "")
	s.event(press.LeakFound, press.MarginGone)
	s.want("margin_gone wake raised")
	for _, part := range []string{"2.1 kPa/h since 21:00", "65 kPa", "03:00 tomorrow", "5 h", "08:00 tomorrow", "Top up"} {
		if !strings.Contains(s.all[0].Text, part) {
			t.Errorf("text %q does not say %q", s.all[0].Text, part)
		}
	}
}

// Events of one sample that are judged one by one, with the status after the
// last of them, say the same.
func TestEventsOneByOneSayTheSame(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.LeakFound, "")
	s.hold(press.MarginGone, "")
	s.event(press.LeakFound).event(press.MarginGone)
	s.want("margin_gone wake raised")
}

func TestABagThatOpensIsOneAlert(t *testing.T) {
	s := newStory(t)
	for sec := range 20 { // from 84 kPa to nothing in half a minute
		s.at(sec)
		s.st.VacuumPa = press.Num(84000 - 2800*sec)
		switch sec {
		case 8:
			s.st.Verdict = press.WillNotHold
			s.hold(press.LeakFound, "")
			s.hold(press.BelowFloor, "")
			s.hold(press.MarginGone, "")
			s.event(press.LeakFound, press.BelowFloor, press.MarginGone)
		case 19:
			s.hold(press.VacuumLost, "")
			s.event(press.VacuumLost)
		default:
			s.tick()
		}
	}
	s.want("vacuum_lost wake raised")
}

func TestAFastFallThatStopsIsStillTold(t *testing.T) {
	s := newStory(t)
	for sec := range 12 {
		s.at(sec)
		s.st.VacuumPa = press.Num(84000 - 2800*min(sec, 8))
		if sec == 7 {
			s.hold(press.BelowFloor, "")
			s.st.Verdict = press.WillNotHold
			s.event(press.BelowFloor)
		} else {
			s.tick()
		}
	}
	s.want("below_floor wake raised")
}

func TestTheForetoldFloorTakesTheMarginsPlace(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone).at(3600)
	s.hold(press.BelowFloor, "")
	s.event(press.BelowFloor)
	s.at(4000)
	s.drop(press.BelowFloor, "")
	s.drop(press.MarginGone, "")
	s.st.Verdict = press.Unsure
	s.event(press.ToppedUp, press.AboveFloor).tick().at(4300).event(press.MarginBack)
	s.want("margin_gone wake raised", "below_floor wake raised", "margin_gone wake cleared", "below_floor wake cleared")
	if got := s.all[2].Reason; got != "part of below_floor" {
		t.Errorf("margin cleared because %q", got)
	}
}

func TestAMarginStillGoneAfterTheTopUpIsSaidAgain(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.hold(press.BelowFloor, "")
	s.event(press.BelowFloor, press.MarginGone).at(60)
	s.drop(press.BelowFloor, "")
	s.st.Verdict = press.Unsure
	s.event(press.ToppedUp, press.AboveFloor).at(120).tick()
	s.st.Verdict = press.WillNotHold
	s.at(400).tick()
	s.want("below_floor wake raised", "below_floor wake cleared", "margin_gone wake raised")
}

func TestBelowTheFloorByWhatItMeans(t *testing.T) {
	for _, c := range []struct {
		verdict press.Verdict
		glue    string
		late    time.Duration
		want    press.Severity
	}{
		{press.WillNotHold, "uf", time.Hour, press.Wake},
		{press.Unsure, "", time.Hour, press.Wake},
		{press.InDoubt, "uf", time.Hour, press.Warn},
		{press.Done, "uf", time.Hour, press.Warn},
		{press.Done, "uf", -time.Hour, press.Note},
	} {
		s := newStory(t)
		s.st.Verdict, s.st.Glue, s.st.PressTimeAt.Late = c.verdict, c.glue, night.Add(c.late)
		s.hold(press.BelowFloor, "")
		s.event(press.BelowFloor)
		s.want(fmt.Sprintf("below_floor %s raised", c.want))
	}
}

func TestWorseIsSaidAgainThoughAcknowledged(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.InDoubt
	s.hold(press.BelowFloor, "")
	s.event(press.BelowFloor)
	got := s.book.Acknowledge(press.AckOrder{Alert: "below_floor", By: "Aune"}, s.st.Time)
	if len(got) != 1 || got[0].State != press.AlertAcknowledged || got[0].Reason != "acknowledged by Aune" {
		t.Errorf("acknowledged: %+v", got)
	}
	s.at(10)
	s.st.Verdict = press.WillNotHold
	s.tick().tick()
	s.want("below_floor warn raised", "below_floor wake raised")
	if s.all[0].ID != s.all[1].ID {
		t.Error("the same problem has two IDs")
	}
}

func TestSensorsOfOneKindAreOneAlert(t *testing.T) {
	s := newStory(t)
	s.hold(press.SensorSilent, "air")
	s.hold(press.SensorSilent, "bag")
	s.event().at(119).tick() // both in one sample
	s.want()
	s.at(121).tick()
	s.at(160)
	s.drop(press.SensorSilent, "air")
	s.events("air", press.SensorBack)
	s.at(200)
	s.drop(press.SensorSilent, "bag")
	s.events("bag", press.SensorBack)
	s.want("sensor_silent wake raised", "sensor_silent wake cleared")
	if !strings.Contains(s.all[0].Text, "the air thermometer and the bag's pressure sensor") {
		t.Errorf("text %q", s.all[0].Text)
	}
}

func TestAFloorThatIsFarOffWakesWhenItHasComeNear(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.st.FloorAt = press.Span{Early: night.Add(20 * time.Hour), Expected: night.Add(26 * time.Hour)}
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone)
	s.book.Acknowledge(press.AckOrder{}, s.st.Time)
	s.at(14 * 3600).tick().at(16 * 3600).tick()
	s.want("margin_gone warn raised", "margin_gone wake raised")
}

func TestAPartThatComesBackByItselfIsNotTold(t *testing.T) {
	s := newStory(t)
	s.hold(press.SensorJumped, "bag")
	s.events("bag", press.SensorJumped).at(90)
	s.drop(press.SensorJumped, "bag")
	s.events("bag", press.SensorBack).at(300).tick()
	s.want()
}

func TestASensorThatDoesNotMatterNowIsSoft(t *testing.T) {
	for _, c := range []struct {
		stage    press.Stage
		quantity string
		want     press.Severity
	}{
		{press.Hold, "bag", press.Wake}, {press.Hold, "ambient", press.Wake}, {press.Hold, "glueline", press.Warn},
		{press.Layup, "bag", press.Warn}, {press.Idle, "bag", press.Note},
	} {
		s := newStory(t)
		s.st.Stage = c.stage
		s.hold(press.SensorStuck, c.quantity)
		s.events(c.quantity, press.SensorStuck).at(120).tick()
		s.want(fmt.Sprintf("sensor_stuck %s raised", c.want))
	}
}

func TestReleaseEndsEverythingQuietly(t *testing.T) {
	s := newStory(t)
	s.hold(press.LeakFound, "")
	s.hold(press.TooCold, "")
	s.event(press.LeakFound, press.TooCold, press.Gap)
	s.st.Conditions, s.st.Stage = nil, press.Release
	s.at(60).event(press.Released).at(61).tick()
	s.want("leak_found note raised", "too_cold warn raised", "gap warn raised",
		"leak_found note cleared", "too_cold warn cleared", "gap warn cleared")
	ways, err := NewWays(nil, quiet())
	if err != nil {
		t.Fatal(err)
	}
	if got := ways.Deliveries(s.all[3:]); len(got) != 0 {
		t.Errorf("people are told of %v", got)
	}
}

func TestFilmLostSwallowsTooCold(t *testing.T) {
	s := newStory(t)
	s.hold(press.TooCold, "")
	s.event(press.TooCold).at(1000)
	s.st.Lost = true
	s.tick().at(2000)
	s.drop(press.TooCold, "")
	s.event(press.WarmEnough).tick()
	s.want("too_cold warn raised", "film_lost warn raised", "too_cold warn cleared")
}

// TestBlockedLineIsOneProblem: what was foreseen from readings that were not the
// bag's is part of it; a margin that is gone when the line is back is said again.
func TestBlockedLineIsOneProblem(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone)
	s.hold(press.LineBlocked, "")
	s.st.Verdict, s.st.LineReason = press.Unsure, press.LineQuiet
	s.at(600).event(press.LineBlocked)
	s.hold(press.LeakFound, "")
	s.at(700).event(press.LeakFound).at(720).tick()
	s.want("margin_gone wake raised", "line_blocked wake raised", "margin_gone wake cleared")
	s.drop(press.LineBlocked, "")
	s.st.Verdict, s.st.LineReason = press.WillNotHold, ""
	s.at(900).event(press.LineBack).at(901).tick()
	s.want("margin_gone wake raised", "line_blocked wake raised", "margin_gone wake cleared", "line_blocked wake cleared", "margin_gone wake raised")

	s = newStory(t)
	s.st.Verdict = press.Done
	s.hold(press.LineBlocked, "")
	s.event(press.LineBlocked)
	s.want("line_blocked note raised")
}

// TestColdAheadIsPartOfTooCold: what was foreseen in the evening is not said
// again when it comes; it wakes then, while the film can be saved.
func TestColdAheadIsPartOfTooCold(t *testing.T) {
	s := newStory(t)
	s.st.ColdAt = s.st.Time.Add(6 * time.Hour)
	s.tick().through(1, 20*60)
	s.want("cold_ahead warn raised")
	s.st.ColdAt, s.st.HeatBy, s.st.HeatFor = time.Time{}, s.st.Time.Add(22*time.Minute), press.HeatForFilm
	s.st.FilmLostAt = s.st.Time.Add(40 * time.Minute)
	s.hold(press.TooCold, "")
	s.at(21 * 60).event(press.TooCold)
	s.want("cold_ahead warn raised", "too_cold wake raised", "cold_ahead warn cleared")
	s.drop(press.TooCold, "")
	s.at(25 * 60).event(press.WarmEnough)
	s.want("cold_ahead warn raised", "too_cold wake raised", "cold_ahead warn cleared", "too_cold wake cleared")
}

// TestColdThatIsForeseenForAMomentIsNotTold: the forecast must hold for a while.
func TestColdThatIsForeseenForAMomentIsNotTold(t *testing.T) {
	s := newStory(t)
	s.st.ColdAt = s.st.Time.Add(6 * time.Hour)
	s.tick().through(1, 10*60)
	s.st.ColdAt = time.Time{}
	s.through(10*60, 40*60)
	s.want()
}

func TestMomentsPass(t *testing.T) {
	s := newStory(t)
	s.event(press.ClockStepped).at(1800).event(press.ClockStepped).at(5000).tick().at(5400).tick()
	s.want("clock_stepped note raised", "clock_stepped note cleared", "clock_stepped note raised", "clock_stepped note cleared")
}

// TestRestart: a book restored from the record goes on where the other was,
// says nothing twice, and catches up with what changed in between.
func TestRestart(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.hold(press.TooCold, "")
	s.event(press.MarginGone, press.TooCold)
	kept := s.book.List()

	s.book = NewBook(Config{})
	s.book.Restore(kept)
	if got := s.book.List(); !reflect.DeepEqual(got, kept) {
		t.Errorf("restored\n%+v\nkept\n%+v", got, kept)
	}
	s.log = nil
	s.at(200)
	s.drop(press.TooCold, "")
	s.hold(press.LeakFound, "")
	s.hold(press.SensorSilent, "air")
	s.tick().at(240).tick()
	s.want("too_cold warn cleared")
	s.at(320).tick()
	s.want("too_cold warn cleared", "margin_gone wake raised", "sensor_silent warn raised")
	s.log = nil
	s.drop(press.MarginGone, "")
	s.at(350).event(press.MarginBack)
	s.want("margin_gone wake cleared")
}

func TestJudgingIsDeterministic(t *testing.T) {
	play := func() []press.Alert {
		s := newStory(t)
		for i, k := range []press.Kind{press.Gap, press.LeakFound, press.MarginGone, press.BelowFloor, press.VacuumLost, press.AboveFloor, press.Released} {
			s.at(i * 100).event(k)
		}
		return s.all
	}
	if a, b := play(), play(); !reflect.DeepEqual(a, b) {
		t.Error("the same events gave different alerts")
	}
}
