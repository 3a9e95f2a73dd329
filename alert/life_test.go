package alert

import (
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// minutesOf lists the minutes of the night at which something was said.
func minutesOf(alerts []press.Alert) []int {
	var list []int
	for _, a := range alerts {
		list = append(list, int(a.At.Sub(night)/time.Minute))
	}
	return list
}

func equal(a, b []int) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// through lets the night pass, second by second.
func (s *story) through(from, to int) *story {
	for sec := from; sec < to; sec++ {
		s.at(sec).tick()
	}
	return s
}

func TestRemindersGrowApart(t *testing.T) {
	for _, c := range []struct {
		kind press.Kind
		want []int
	}{
		{press.MarginGone, []int{0, 5, 15, 35, 75, 135, 195, 255, 315, 375}},
		{press.TooCold, []int{0, 60, 180}},
		{press.LeakFound, []int{0}},
		{press.Gap, []int{0}},
		{press.AssemblyOver, []int{0, 5, 15, 35}},
	} {
		s := newStory(t)
		s.st.Verdict = press.WillNotHold
		if c.kind == press.LeakFound {
			s.st.Verdict = press.WillHold
		}
		if c.kind != press.Gap {
			s.hold(c.kind, "")
		}
		s.event(c.kind).through(1, 400*60)
		if got := minutesOf(s.all); !equal(got, c.want) {
			t.Errorf("%s is said at minutes %v, want %v", c.kind, got, c.want)
		}
		for _, a := range s.all[1:] {
			if a.ID != s.all[0].ID || a.State != press.AlertRaised || !strings.HasPrefix(a.Reason, "reminder ") {
				t.Errorf("%s: reminder %+v", c.kind, a)
			}
		}
	}
}

func TestAReminderSaysWhatIsTrueNow(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.BelowFloor, "")
	s.event(press.BelowFloor)
	s.st.VacuumPa = 41000
	s.at(300).tick()
	if text := s.all[1].Text; !strings.Contains(text, "41 kPa") {
		t.Errorf("reminder says %q", text)
	}
}

func TestAcknowledgedKeepsStillAndSnoozedComesBack(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone)
	id := s.all[0].ID
	s.through(1, 60)
	got := s.book.Acknowledge(press.AckOrder{Alert: id, By: "Aune", Snooze: 1800}, s.st.Time)
	if len(got) != 1 || got[0].Reason != "snoozed for 30 min by Aune" {
		t.Errorf("snoozed: %+v", got)
	}
	s.through(60, 3000)
	if got := minutesOf(s.all); !equal(got, []int{0, 30, 35, 45}) {
		t.Errorf("said at minutes %v", got)
	}
	if s.all[1].Reason != "the snooze is over" || s.all[1].ID != id {
		t.Errorf("after the snooze: %+v", s.all[1])
	}
	s.book.Acknowledge(press.AckOrder{}, s.st.Time)
	s.all = nil
	s.through(3000, 12*3600)
	if len(s.all) != 0 {
		t.Errorf("acknowledged for good, yet said: %+v", s.all[0])
	}
	if got := s.book.Acknowledge(press.AckOrder{Alert: "nonsense"}, s.st.Time); got != nil {
		t.Errorf("acknowledged what there is not: %+v", got)
	}
}

func TestTheSnoozeOutlivesARestart(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone)
	s.book.Acknowledge(press.AckOrder{Snooze: 600}, s.st.Time)
	kept := s.book.List()
	s.book, s.all = NewBook(Config{}), nil
	s.book.Restore(kept)
	s.through(1, 650)
	if got := minutesOf(s.all); !equal(got, []int{10}) {
		t.Errorf("said at minutes %v", got)
	}
}

func TestAClockSetBackSilencesNoReminder(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone)
	s.at(-7200).tick().through(-7199, -7200+310)
	if len(s.all) != 2 {
		t.Errorf("said %d times", len(s.all))
	}
}

// Beside the sentence an alert must not name moments of an hour ago: its text in the
// status is the newest, while what was said stays as it was said.
func TestTextInTheStatusIsTheNewest(t *testing.T) {
	s := newStory(t)
	s.st.Verdict = press.WillNotHold
	floor := func(hour int) {
		at := night.Add(time.Duration(hour) * time.Hour)
		s.st.FloorAt, s.st.PressTimeAt.Expected = press.Span{Early: at.Add(-30 * time.Minute), Expected: at}, at.Add(5*time.Hour)
	}
	floor(4)
	s.hold(press.MarginGone, "")
	s.event(press.MarginGone).through(1, 90)
	said := s.book.List()[0].Text
	floor(7)
	s.through(90, 120)
	if got := s.book.List()[0].Text; got != said {
		t.Errorf("what was said has become %q", got)
	}
	shown := s.book.Active()[0].Text
	before := "before " + s.book.cfg.Display.Clock(night.Add(6*time.Hour+30*time.Minute), s.st.Time)
	if shown == said || !strings.Contains(shown, before) {
		t.Errorf("the status says %q, wanted %q in it", shown, before)
	}
}

// Of what raised an alert before a restart only its text was kept: it stays as it is.
func TestTextFromBeforeARestartStays(t *testing.T) {
	s := newStory(t)
	s.event(press.Gap).through(1, 5)
	kept := s.book.List()
	if len(kept) != 1 {
		t.Fatalf("%+v", kept)
	}
	kept[0].Text = "Nobody watched from 22:10 to 23:40."
	s.book = NewBook(Config{})
	s.book.Restore(kept)
	s.through(5, 60)
	if now := s.book.Active(); len(now) != 1 || now[0].Text != kept[0].Text {
		t.Errorf("the status says %+v", now)
	}
}
