package web

import (
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Shown is a status in words and figures, in the units, the zone and the clock
// that the config chose, so that the page, the terminal and a message never say
// the same thing in two ways. A field is empty when there is nothing to say.
type Shown struct {
	Verdict       string `json:"verdict"`         // "Will hold"
	Stage         string `json:"stage"`           // "Hold"
	StageFor      string `json:"stage_for"`       // "6 h"
	Countdown     string `json:"countdown"`       // "Under vacuum by 22:10, 12 min left"
	Time          string `json:"time"`            // of the newest sample, "03:00"
	Vacuum        string `json:"vacuum"`          // "78 kPa"
	Floor         string `json:"floor"`           //
	Bag           string `json:"bag"`             //
	Ambient       string `json:"ambient"`         //
	Glueline      string `json:"glueline"`        // "11.5 °C"
	Air           string `json:"air"`             //
	Humidity      string `json:"humidity"`        // "78 %"
	Wood          string `json:"wood"`            // what wood makes of that, in one clause
	MinUse        string `json:"min_use"`         //
	LeakRate      string `json:"leak_rate"`       // "2.1 kPa/h"
	LeakRateRange string `json:"leak_rate_range"` // "1.8 to 2.5 kPa/h"
	LeakOnset     string `json:"leak_onset"`      // "01:12"
	Progress      string `json:"progress"`        // "50 %"
	ProgressRange string `json:"progress_range"`  // "40 to 60 %"
	PressTimeAt   string `json:"press_time_at"`   // "09:50"
	PressTimeSpan string `json:"press_time_span"` // "08:40 to 11:30"
	FloorAt       string `json:"floor_at"`        // "04:30"
	FloorSpan     string `json:"floor_span"`      //
	Margin        string `json:"margin"`          // "5 h 20 min to spare", "2 h short"
	MarginRange   string `json:"margin_range"`    // "5 h to 43 min short"
	Started       string `json:"started"`         // "21:50 yesterday"

	Weather     string   `json:"weather"`      // what was told of it, "told: -2 to 7 °C, until 20:10 tomorrow"
	HoldChance  string   `json:"hold_chance"`  // that it holds untouched, "12 %"
	TopUpBy     []string `json:"top_up_by"`    // the latest moments for the top-ups that it takes
	AlertsSince []string `json:"alerts_since"` // of each alert, in their order
}

// show writes a status for people.
func show(st press.Status, d units.Display) Shown {
	at := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return d.Clock(t, st.Time)
	}
	ahead := func(t time.Time) string { return forecast(t, st.Time, d) }
	s := Shown{
		Verdict: verdictWords(st.Verdict), Stage: stageWords(st.Stage), Time: at(st.Time),
		Vacuum: d.Pressure(float64(st.VacuumPa)), Floor: d.Pressure(float64(st.FloorPa)),
		Bag: d.Pressure(float64(st.BagPa)), Ambient: d.Pressure(float64(st.AmbientPa)),
		Glueline: d.Temperature(float64(st.GluelineC)), Air: d.Temperature(float64(st.AirC)),
		Wood:     st.WoodWords(),
		LeakRate: d.Rate(float64(st.LeakRate.Expected)), LeakOnset: at(st.LeakOnset),
		Progress:    percent(st.ClampedProgress.Expected),
		PressTimeAt: ahead(st.PressTimeAt.Expected), PressTimeSpan: span(st.PressTimeAt, ahead),
		FloorAt: ahead(st.FloorAt.Expected), FloorSpan: span(st.FloorAt, ahead),
		Started: at(st.Started), Countdown: countdown(st, d),
	}
	if st.HumidityPct > 0 {
		s.Humidity = units.Humidity(float64(st.HumidityPct))
	}
	if st.MinUseC.Known() {
		s.MinUse = d.Temperature(float64(st.MinUseC))
	}
	if st.LeakRate.Low.Known() && st.LeakRate.High.Known() {
		s.LeakRateRange = between(d.Rate(float64(st.LeakRate.Low)), d.Rate(float64(st.LeakRate.High)))
	}
	if st.ClampedProgress.Low.Known() && st.ClampedProgress.High.Known() {
		s.ProgressRange = between(percent(st.ClampedProgress.Low), percent(st.ClampedProgress.High))
	}
	if !st.StageAt.IsZero() {
		s.StageFor = d.Span(max(0, st.Time.Sub(st.StageAt)))
	}
	if st.MarginS.Expected.Known() {
		s.Margin = spare(st.MarginS.Expected, d)
	}
	if st.MarginS.Low.Known() && st.MarginS.High.Known() {
		s.MarginRange = between(spare(st.MarginS.Low, d), spare(st.MarginS.High, d))
	}
	if w := st.Weather; w != nil {
		s.Weather = "told: " + weather(*w, d) + ", until " + at(w.Until)
	}
	if st.HoldChance.Known() {
		s.HoldChance = percent(st.HoldChance)
	}
	for _, t := range st.TopUpBy {
		s.TopUpBy = append(s.TopUpBy, ahead(press.NoLater(t, st.Time)))
	}
	for _, a := range st.Alerts {
		s.AlertsSince = append(s.AlertsSince, at(a.Since))
	}
	return s
}

// weather writes the temperatures that were told.
func weather(w press.Weather, d units.Display) string {
	low, high := d.Temperature(float64(w.LowC)), d.Temperature(float64(w.HighC))
	switch {
	case !w.HighC.Known():
		return "not below " + low
	case !w.LowC.Known():
		return "not above " + high
	}
	return between(low, high)
}

// forecast writes a moment ahead no finer than it is known: days from now it is
// the days that count.
func forecast(t, now time.Time, d units.Display) string {
	switch {
	case t.IsZero():
		return ""
	case t.Sub(now) >= 48*time.Hour:
		return "in " + strconv.Itoa(int(t.Sub(now)/(24*time.Hour))) + " days"
	default:
		return d.Clock(press.Coarse(t, now), now)
	}
}

// between writes a range and says a unit, or what else both ends have in
// common at their ends, once: "2.6 to 3.7 kPa/h", "4 h to 43 min short".
func between(low, high string) string {
	if days, ok := strings.CutPrefix(high, "in "); ok && strings.HasPrefix(low, "in ") {
		low, high = strings.TrimPrefix(low, "in "), days
	}
	for _, unit := range []string{" short", " to spare"} {
		if l, ok := strings.CutSuffix(low, unit); ok && strings.HasSuffix(high, unit) {
			return l + " to " + high
		}
	}
	if number, unit, ok := strings.Cut(low, " "); ok && strings.HasSuffix(high, " "+unit) && !strings.Contains(unit, " ") {
		return number + " to " + high
	}
	return low + " to " + high
}

func span(s press.Span, at func(time.Time) string) string {
	switch {
	case !s.Early.IsZero() && !s.Late.IsZero():
		return between(at(s.Early), at(s.Late))
	case !s.Early.IsZero():
		return at(s.Early) + " at the earliest"
	default:
		return ""
	}
}

// countdown is what is left of the assembly time while glue is being spread.
func countdown(st press.Status, d units.Display) string {
	limit := st.ClosedLimit
	if limit.IsZero() {
		limit = st.OpenLimit
	}
	if limit.IsZero() || (st.Stage != press.Layup && st.Stage != press.Pulldown) {
		return ""
	}
	left := limit.Sub(st.Time)
	if left < 0 {
		return "Assembly time over by " + d.Span(-left)
	}
	words := d.Span(left) + " left, vacuum by " + d.Clock(limit, st.Time)
	if open := st.OpenLimit; st.Stage == press.Layup && open.After(st.Time) && open.Before(limit) {
		words += ", faces together by " + d.Clock(open, st.Time)
	}
	return words
}

func spare(s press.Num, d units.Display) string {
	if s < 0 {
		return d.SpanSeconds(-float64(s)) + " short"
	}
	return d.SpanSeconds(float64(s)) + " to spare"
}

// percent rounds down: 99.9 % earned is not done.
func percent(share press.Num) string {
	if !share.Known() {
		return units.Missing
	}
	return strconv.Itoa(int(math.Floor(float64(share)*100+1e-9))) + " %"
}

func verdictWords(v press.Verdict) string {
	switch v {
	case press.WillHold:
		return "Will hold"
	case press.InDoubt:
		return "In doubt"
	case press.WillNotHold:
		return "Will not hold"
	case press.Done:
		return "Done"
	case press.Pressed:
		return "Pressed"
	case press.PartClamped:
		return "Part clamped"
	case press.OpenedEarly:
		return "Opened early"
	case press.FilmLost:
		return "Film lost"
	default:
		return "Too early to say"
	}
}

func stageWords(s press.Stage) string {
	switch s {
	case press.Layup:
		return "Layup"
	case press.Pulldown:
		return "Pull-down"
	case press.Hold:
		return "Hold"
	case press.Release:
		return "Release"
	default:
		return "Idle"
	}
}
