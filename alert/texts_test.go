package alert

import (
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// displays are readers with the longest words there are.
func displays() []units.Display {
	return []units.Display{
		{},
		{PressureUnit: units.InHg, TemperatureUnit: units.Fahrenheit, Clock12: true, Location: time.FixedZone("X", -9*3600)},
	}
}

// TestTextsFit builds every text in every situation, near and far, and with
// nothing known: all fit, none says what is not a number.
func TestTextsFit(t *testing.T) {
	far, none := night.Add(9*24*time.Hour), time.Time{}
	for _, show := range displays() {
		for _, verdict := range []press.Verdict{press.Unsure, press.WillHold, press.InDoubt, press.WillNotHold, press.Done} {
			for _, stage := range []press.Stage{press.Layup, press.Hold} {
				for _, at := range []time.Time{far, none} {
					for _, num := range []press.Num{102345, press.Unknown()} {
						for _, glue := range []string{"", "uf"} {
							for _, q := range [][]string{nil, {"bag", "ambient", "glueline", "air"}, {"glueline"}, {"air"}} {
								st := holding()
								st.Verdict, st.Stage, st.Glue, st.Leaking, st.LeakOnset = verdict, stage, glue, true, night.Add(-30*time.Hour)
								st.PressTimeAt = press.Span{Early: at, Expected: at, Late: at}
								st.VacuumPa, st.FloorPa = num, num
								ev := press.Event{
									Time: night.Add(-26 * time.Hour), VacuumPa: num, FloorAt: at, PressTimeAt: at, RatePaPerH: num, RateLow: num, RateHigh: num,
									Onset: night.Add(-30 * time.Hour), GluelineC: num, LimitC: num, Limit: at, From: night.Add(-49 * time.Hour), To: night, ByS: num, Late: at,
								}
								checkTexts(t, picture{ev: ev, st: st, quantities: q, show: show})
							}
						}
					}
				}
			}
		}
	}
}

func checkTexts(t *testing.T, p picture) {
	t.Helper()
	for _, r := range table() {
		s := r.text(p)
		if n := utf8.RuneCountInString(s); n > maxText {
			t.Errorf("%s has %d characters: %s", r.name, n, s)
		}
		for _, bad := range []string{"NaN", "Inf", "%!", "0001", "  "} {
			if strings.Contains(s, bad) {
				t.Errorf("%s says %q: %s", r.name, bad, s)
			}
		}
	}
}

func TestEveryRowIsComplete(t *testing.T) {
	names := map[string]bool{}
	for _, r := range table() {
		if names[r.name] || r.about == "" || r.text == nil || r.severity == nil || (len(r.raise) == 0 && r.holds == nil) {
			t.Errorf("row %q is not complete, or there are two", r.name)
		}
		names[r.name] = true
		for _, k := range append(append([]press.Kind{}, r.raise...), r.clear...) {
			if _, known := k.Fields(); !known {
				t.Errorf("row %q: there is no event %q", r.name, k)
			}
		}
		for _, s := range r.swallows {
			if !names[s] && !hasRow(s) {
				t.Errorf("row %q swallows %q, which there is not", r.name, s)
			}
		}
	}
}

func hasRow(name string) bool {
	for _, r := range table() {
		if r.name == name {
			return true
		}
	}
	return false
}

func TestShort(t *testing.T) {
	long := strings.Repeat("wörter und ", 60)
	s := short(long)
	if n := utf8.RuneCountInString(s); n > maxText || n < maxText-12 || !strings.HasSuffix(s, "…") {
		t.Errorf("%d characters: %q", n, s)
	}
	if short("kurz") != "kurz" {
		t.Error("a short text is changed")
	}
}

func TestPercentIsNotRoundedUp(t *testing.T) {
	for n, want := range map[press.Num]string{0.999: "99 %", 1: "100 %", 1.2: "100 %", press.Num(math.Inf(1)): "an unknown share"} {
		if got := percent(n); got != want {
			t.Errorf("%v is %q, want %q", n, got, want)
		}
	}
}
