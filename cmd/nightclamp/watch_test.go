package main

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// holding is a press in the middle of a long night, with a long sentence and
// alerts: the fullest screen there is.
func holding(name string, at time.Time) press.Status {
	return press.Status{
		Schema: 1, Time: at, Site: "boatshed", Press: name, Run: name + "-1", Work: "birch sled deck, nine plies, the one with the dished nose",
		Glue: "pva-d3", Stage: press.Hold, Verdict: press.InDoubt,
		Sentence: "Vacuum is down to 71 kPa and falls by 2.0 kPa/h since 01:00: it reaches the floor at 04:30, before the press time at 09:50. Top up by 03:55, press the left seam shut, and listen along the edge.",
		VacuumPa: 71000, FloorPa: 65000, GluelineC: 11.5, AirC: 9, LeakRate: press.Band{Low: 1900, Expected: 2000, High: 2100},
		ClampedProgress: press.Band{Low: .4, Expected: .5, High: .6}, MarginS: press.Band{Expected: -7200},
		Alerts: []press.AlertStatus{{Name: "margin_gone", Severity: "wake", Since: at, Text: strings.Repeat("The bag will not hold until the glue has cured. ", 6)}},
	}
}

// courseOf is seven hours of a slow leak.
func courseOf(st press.Status) press.Course {
	c := press.Course{Press: st.Press, Run: st.Run}
	for i := range 200 {
		c.Times = append(c.Times, st.Time.Add(time.Duration(i-200)*2*time.Minute))
		c.VacuumPa = append(c.VacuumPa, press.Num(85000-70*float64(i)))
	}
	return c
}

func TestWatchFitsTheScreen(t *testing.T) {
	at := time.Date(2026, 10, 17, 3, 0, 0, 0, time.UTC)
	for _, presses := range []int{1, 4} {
		for _, size := range [][2]int{{80, 23}, {40, 12}, {200, 60}} {
			v := newLiveView(units.Display{Location: time.UTC})
			for i := range presses {
				st := holding(fmt.Sprint("deck", i), at)
				if !v.take(st) {
					t.Error("a run that was never seen is taken for known")
				}
				v.seed(courseOf(st))
			}
			lines := v.lines(size[0], size[1], 0)
			if len(lines) > size[1] {
				t.Errorf("%d presses on %v: %d lines", presses, size, len(lines))
			}
			for _, line := range lines {
				if n := len([]rune(unpainted(line))); n > size[0] {
					t.Errorf("%d presses on %v: a line of %d: %q", presses, size, n, line)
				}
			}
			all := strings.Join(lines, "\n")
			if size[1] >= 23 && !strings.Contains(all, "Top up by 03:55") {
				t.Errorf("%d presses on %v: the sentence is cut:\n%s", presses, size, all)
			}
			if presses == 1 && size[1] >= 23 && !strings.Contains(all, "vacuum and floor, kPa, 20:20") {
				t.Errorf("on %v there is no picture of the run so far:\n%s", size, all)
			}
		}
	}
}

// unpainted is a line without its colours.
func unpainted(line string) string {
	return regexp.MustCompile("\x1b\\[[0-9;]*m").ReplaceAllString(line, "")
}

// The press that needs somebody comes first, whatever the order.
func TestWatchShowsTheWorst(t *testing.T) {
	at := time.Date(2026, 10, 17, 3, 0, 0, 0, time.UTC)
	v := newLiveView(units.Display{Location: time.UTC})
	good, bad := holding("a", at), holding("b", at)
	good.Verdict, bad.Conditions = press.WillHold, []press.Condition{{Kind: press.VacuumLost}}
	v.take(good)
	v.take(bad)
	if st := v.foremost(); st.Press != "b" {
		t.Errorf("shown is %s", st.Press)
	}
	if lines := v.lines(80, 23, 0); !strings.HasPrefix(lines[0], "  a ") || !strings.HasPrefix(lines[1], "> b ") {
		t.Errorf("%q", lines[:2])
	}
}

// A daemon that falls silent must not leave an old "sleep" on the screen.
func TestWatchSaysThatItIsOld(t *testing.T) {
	v := newLiveView(units.Display{Location: time.UTC})
	v.take(holding("deck", time.Date(2026, 10, 17, 3, 0, 0, 0, time.UTC)))
	if first := v.lines(80, 23, 2*time.Minute)[0]; !strings.Contains(first, "NO WORD from nightclamp for 2 min") {
		t.Errorf("the screen begins with %q", first)
	}
}

// A serial console without UTF-8 gets letters that every terminal has.
func TestWatchInPlainLetters(t *testing.T) {
	t.Setenv("LC_ALL", "C")
	a := &app{streams: streams{out: &strings.Builder{}}}
	v := newLiveView(units.Display{Location: time.UTC})
	st := holding("deck", time.Date(2026, 10, 17, 3, 0, 0, 0, time.UTC))
	v.take(st)
	v.seed(courseOf(st))
	frame := a.frame(v, 0)
	for _, r := range frame {
		if r > 126 {
			t.Fatalf("%q is in the frame:\n%s", r, frame)
		}
	}
	t.Setenv("LC_ALL", "C.UTF-8")
	if utf := a.frame(v, 0); !strings.Contains(utf, "°C") {
		t.Errorf("with UTF-8: %s", utf)
	}
}

// A run of days keeps no more points than it needs.
func TestCourseIsThinned(t *testing.T) {
	var c course
	at := time.Date(2026, 10, 17, 3, 0, 0, 0, time.UTC)
	for i := range 5 * mostKept {
		c.add(at.Add(time.Duration(i)*time.Second), float64(i))
	}
	if len(c.times) > mostKept || !c.times[0].Equal(at) || c.values[len(c.values)-1] != 5*mostKept-1 {
		t.Errorf("%d points from %s, the last %g", len(c.times), c.times[0], c.values[len(c.values)-1])
	}
}
