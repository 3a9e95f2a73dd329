package export

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// at writes a moment of the run as its log does: "Sat 18:40".
func (t *told) at(when time.Time) string {
	if when.IsZero() {
		return "–"
	}
	return when.In(t.d.Location).Format("Mon ") + t.clock(when)
}

// clock writes the time of day, with the zone where there are two of them.
func (t *told) clock(when time.Time) string {
	if t.shifts {
		return t.d.TimeOfDay(when) + when.In(t.d.Location).Format(" MST")
	}
	return t.d.TimeOfDay(when)
}

// day writes a date in full: "17 October 2026".
func (t *told) day(when time.Time) string { return when.In(t.d.Location).Format("2 January 2006") }

func (t *told) pressure(pa press.Num) string { return t.d.Pressure(float64(pa)) }

// event says in a few words what happened.
func (t *told) event(e press.Event) string {
	switch e.Kind {
	case press.LayupStarted:
		if e.ClosedLimit.IsZero() {
			return "Glue was being spread"
		}
		return "Glue was being spread; the stack had to be under vacuum by " + t.at(e.ClosedLimit)
	case press.AssemblyShort:
		return "Assembly time nearly gone; the limit was " + t.at(e.Limit)
	case press.AssemblyOver:
		return "Assembly time over, and no vacuum yet"
	case press.PulldownStarted:
		return "The pump began to draw"
	case press.HoldStarted:
		return "Vacuum reached, pumping stopped: " + t.pressure(e.VacuumPa)
	case press.Settled:
		return "The settling had died away at " + t.pressure(e.VacuumPa)
	case press.ToppedUp:
		return fmt.Sprintf("Topped up from %s to %s", t.pressure(e.FromPa), t.pressure(e.ToPa))
	case press.LeakFound:
		return t.leak(e)
	case press.LeakEnded:
		return "The leak was closed"
	case press.MarginGone:
		return fmt.Sprintf("The bag would fall below the floor before the glue was done: floor %s, press time %s",
			t.orNever(e.FloorAt), t.orNever(e.PressTimeAt))
	case press.MarginBack:
		return "The glue would be done before the bag fell below the floor"
	case press.BelowFloor:
		return "Below the floor, at " + t.pressure(e.VacuumPa)
	case press.AboveFloor:
		return "Above the floor again, at " + t.pressure(e.VacuumPa)
	case press.VacuumLost:
		return "Vacuum lost: " + t.pressure(e.VacuumPa)
	default:
		return t.otherEvent(e)
	}
}

func (t *told) otherEvent(e press.Event) string {
	switch e.Kind {
	case press.TooCold:
		return fmt.Sprintf("Glue line at %s, below its minimum of %s", t.d.Temperature(float64(e.GluelineC)), t.d.Temperature(float64(e.LimitC)))
	case press.WarmEnough:
		return "Glue line warm enough again, at " + t.d.Temperature(float64(e.GluelineC))
	case press.PressTimeReached:
		if e.Early.IsZero() || e.Late.IsZero() {
			return "Press time reached"
		}
		return fmt.Sprintf("Press time reached (not before %s, surely by %s)", t.at(e.Early), t.at(e.Late))
	case press.Released:
		return "The bag was opened: " + verdict(e.Verdict)
	case press.SensorSilent:
		return "No reading of the " + quantity(e.Quantity)
	case press.SensorStuck:
		return "The reading of the " + quantity(e.Quantity) + " did not move at all"
	case press.SensorJumped:
		return "The reading of the " + quantity(e.Quantity) + " jumped as nothing real does"
	case press.SensorDisagrees:
		return "The reading of the " + quantity(e.Quantity) + " was where the air cannot have brought it"
	case press.PumpStarted:
		return "Pump switched on at " + t.pressure(e.VacuumPa) + because(e.Text)
	case press.PumpStopped:
		return "Pump switched off at " + t.pressure(e.VacuumPa) + because(e.Text)
	case press.PumpLocked:
		return "Pump locked at " + t.pressure(e.VacuumPa) + because(e.Text)
	case press.PumpFreed:
		return "Pump free again" + because(e.Text)
	case press.SensorBack:
		return "The reading of the " + quantity(e.Quantity) + " was well again"
	case press.Gap:
		return fmt.Sprintf("Nothing was recorded from %s to %s", t.at(e.From), t.at(e.To))
	case press.ClockStepped:
		return fmt.Sprintf("The clock was set by %.1f s", float64(e.ByS))
	case press.Noted:
		return "Note: " + e.Text
	case press.BagWorsening:
		return fmt.Sprintf("This bag is getting worse: the newest of %.0f runs leak %.1f times as much as the first", float64(e.Runs), float64(e.Factor))
	case press.LineBlocked:
		return "The sensor did not seem to see the bag any more: a hose pinched or blocked?"
	case press.LineBack:
		return "The sensor saw the bag again, at " + t.pressure(e.VacuumPa)
	case press.WeatherTold:
		return "Told of the weather: " + t.weather(e) + ", until " + t.at(e.Until)
	case press.WeatherForgotten:
		if e.Reason == press.WeatherOver {
			return "What was told of the weather was over"
		}
		return "What was told of the weather was taken back"
	case press.DropTestStarted:
		return fmt.Sprintf("Drop test begun: will the bag stay above %s for %s untouched?", t.pressure(e.FloorPa), t.span(e.HoldS))
	case press.DropTestEnded:
		return t.dropTest(e)
	}
	return strings.ReplaceAll(string(e.Kind), "_", " ")
}

// weather says what was told of the coming hours.
func (t *told) weather(e press.Event) string {
	var parts []string
	if e.LowC.Known() {
		parts = append(parts, "not below "+t.d.Temperature(float64(e.LowC)))
	}
	if e.HighC.Known() {
		parts = append(parts, "not above "+t.d.Temperature(float64(e.HighC)))
	}
	return strings.Join(parts, ", ")
}

func because(text string) string {
	if text == "" {
		return ""
	}
	return ": " + text
}

func (t *told) leak(e press.Event) string {
	text := "Leak found: " + t.d.Rate(float64(e.RatePaPerH))
	if e.RateLow.Known() && e.RateHigh.Known() {
		text += fmt.Sprintf(" (%s to %s)", t.d.Rate(float64(e.RateLow)), t.d.Rate(float64(e.RateHigh)))
	}
	if !e.Onset.IsZero() {
		text += " since " + t.at(e.Onset)
	}
	if !e.FloorAt.IsZero() {
		text += "; below the floor it would have been at " + t.at(e.FloorAt)
	}
	return text
}

// dropTest says what came of a drop test.
func (t *told) dropTest(e press.Event) string {
	leak := "nothing is known of the leak"
	if e.RateHigh.Known() {
		leak = fmt.Sprintf("it leaks %s to %s, and may leak %s",
			t.d.Rate(float64(e.RateLow)), t.d.Rate(float64(e.RateHigh)), t.d.Rate(float64(e.AllowedPaPerH)))
	}
	switch e.Outcome {
	case press.DropHolds:
		return fmt.Sprintf("Drop test passed after %s: %s", t.span(e.TookS), leak)
	case press.DropFails:
		return fmt.Sprintf("Drop test failed after %s: %s", t.span(e.TookS), leak)
	case press.DropCannotTell:
		return fmt.Sprintf("Drop test without a verdict after %s: %s", t.span(e.TookS), leak)
	}
	return "Drop test broken off: " + strings.ReplaceAll(e.Reason, "_", " ")
}

func (t *told) orNever(when time.Time) string {
	if when.IsZero() {
		return "not in sight"
	}
	return t.at(when)
}

func quantity(name string) string {
	switch name {
	case "bag":
		return "bag pressure"
	case "ambient":
		return "barometer"
	case "glueline":
		return "glue-line temperature"
	case "air":
		return "air temperature"
	}
	return name
}

// verdict says what became of the run, in one clause.
func verdict(v press.Verdict) string {
	switch v {
	case press.Pressed:
		return "the whole press time was earned under clamp"
	case press.PartClamped:
		return "the press time was earned, part of it below the floor"
	case press.OpenedEarly:
		return "opened before the press time was earned"
	case press.FilmLost:
		return "the glue was below its minimum temperature while wet, the bond is not to be trusted"
	case press.Done:
		return "the press time was reached, the bag was not opened yet"
	case press.Unsure, "":
		return "nothing can be said of the cure"
	}
	return strings.ReplaceAll(string(v), "_", " ")
}

// percent writes a share, never rounded up to done.
func percent(n press.Num) string {
	if !n.Known() {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(n)+1e-9))
}

func (t *told) span(s press.Num) string { return t.d.SpanSeconds(float64(s)) }
