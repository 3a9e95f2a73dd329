package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// describe writes an event in one line: its kind and its fields.
func describe(e press.Event, moment func(time.Time) string) string {
	d := units.Display{}
	parts := []string{fmt.Sprintf("%-18s", strings.ReplaceAll(string(e.Kind), "_", " "))}
	say := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	switch e.Kind {
	case press.HoldStarted, press.Settled, press.BelowFloor, press.AboveFloor, press.VacuumLost, press.LineBack:
		say("%s", d.Pressure(float64(e.VacuumPa)))
	case press.ToppedUp:
		say("from %s to %s", d.Pressure(float64(e.FromPa)), d.Pressure(float64(e.ToPa)))
	case press.LeakFound:
		say("%s (%s to %s) since %s, floor at %s", d.Rate(float64(e.RatePaPerH)),
			d.Rate(float64(e.RateLow)), d.Rate(float64(e.RateHigh)), moment(e.Onset), moment(e.FloorAt))
	case press.MarginGone, press.MarginBack:
		say("floor at %s, press time at %s", moment(e.FloorAt), moment(e.PressTimeAt))
	case press.TooCold, press.WarmEnough:
		say("%s, the limit is %s", d.Temperature(float64(e.GluelineC)), d.Temperature(float64(e.LimitC)))
	case press.PressTimeReached:
		say("not before %s, surely by %s", moment(e.Early), moment(e.Late))
	case press.Released:
		say("%s", strings.ReplaceAll(string(e.Verdict), "_", " "))
	case press.SensorSilent, press.SensorStuck, press.SensorJumped, press.SensorBack:
		say("%s", e.Quantity)
	case press.Gap:
		say("%s to %s", moment(e.From), moment(e.To))
	case press.ClockStepped:
		say("by %.1f s", float64(e.ByS))
	case press.LayupStarted:
		say("open until %s, under vacuum by %s", moment(e.OpenLimit), moment(e.ClosedLimit))
	case press.AssemblyShort, press.AssemblyOver:
		say("limit %s", moment(e.Limit))
	case press.BagWorsening:
		say("%.1f times the leak of the first of %.0f runs", float64(e.Factor), float64(e.Runs))
	case press.LineBlocked:
		say("%s, at %s", strings.ReplaceAll(e.Reason, "_", " "), d.Pressure(float64(e.VacuumPa)))
	case press.PumpStarted, press.PumpStopped, press.PumpLocked, press.PumpFreed:
		say("at %s: %s", d.Pressure(float64(e.VacuumPa)), e.Text)
	case press.Noted, press.Calibrated:
		say("%s", e.Text)
	case press.WeatherTold:
		say("%s, until %s", weatherWords(press.Weather{LowC: e.LowC, HighC: e.HighC}, d), moment(e.Until))
	case press.WeatherForgotten:
		say("%s", e.Reason)
	case press.DropTestStarted:
		say("%s for %s untouched?", d.Pressure(float64(e.FloorPa)), d.SpanSeconds(float64(e.HoldS)))
	case press.DropTestEnded:
		say("%s: %s to %s, allowed %s", strings.TrimSpace(strings.ReplaceAll(string(e.Outcome), "_", " ")+" "+e.Reason),
			d.Rate(float64(e.RateLow)), d.Rate(float64(e.RateHigh)), d.Rate(float64(e.AllowedPaPerH)))
	}
	return strings.TrimRight(strings.Join(parts, " "), " ")
}

// weatherWords writes what was told of the weather.
func weatherWords(w press.Weather, d units.Display) string {
	var parts []string
	if w.LowC.Known() {
		parts = append(parts, "low "+d.Temperature(float64(w.LowC)))
	}
	if w.HighC.Known() {
		parts = append(parts, "high "+d.Temperature(float64(w.HighC)))
	}
	return strings.Join(parts, ", ")
}

// rate writes a leak rate with its bounds.
func rate(d units.Display, b press.Band) string {
	if !b.Expected.Known() {
		return "not known yet"
	}
	return fmt.Sprintf("%s (%s to %s)", d.Rate(float64(b.Expected)), d.Rate(float64(b.Low)), d.Rate(float64(b.High)))
}

// share writes a progress in whole percent, never rounded up to done.
func share(b press.Band) string {
	if !b.Expected.Known() {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", math.Floor(100*float64(b.Expected)))
}
