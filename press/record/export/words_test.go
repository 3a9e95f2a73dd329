package export_test

import (
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/press/units"
)

// Every kind of event is told in words of its own, and not by its name on the wire.
func TestEveryKindHasWords(t *testing.T) {
	for _, kind := range []press.Kind{
		press.LayupStarted, press.AssemblyShort, press.AssemblyOver, press.PulldownStarted, press.HoldStarted, press.Settled,
		press.ToppedUp, press.LeakFound, press.LeakEnded, press.MarginGone, press.MarginBack, press.BelowFloor, press.AboveFloor,
		press.VacuumLost, press.TooCold, press.WarmEnough, press.PressTimeReached, press.Released, press.SensorSilent,
		press.SensorStuck, press.SensorJumped, press.SensorDisagrees, press.SensorBack, press.Gap, press.ClockStepped, press.Noted,
		press.LineBlocked, press.LineBack, press.DropTestStarted, press.DropTestEnded, press.PumpStarted, press.PumpStopped,
		press.PumpLocked, press.PumpFreed,
	} {
		e := press.Event{Time: time.Date(2026, 10, 17, 1, 0, 0, 0, time.UTC), Kind: kind, Quantity: "glueline", VacuumPa: 70000}
		say := export.Say(e, units.Display{})
		if say == strings.ReplaceAll(string(kind), "_", " ") || strings.Contains(say, "NaN") {
			t.Errorf("%s is told as %q", kind, say)
		}
	}
}

func TestShareIsNeverMinusNothing(t *testing.T) {
	for n, want := range map[press.Num]string{-0.0001: "0.0 %", 0.0444: "4.4 %", -0.013: "-1.3 %", press.Unknown(): "–"} {
		if got := export.Share(n); got != want {
			t.Errorf("%v is %q, want %q", n, got, want)
		}
	}
}
