package main

import (
	"fmt"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/cure/datasheets"
	"github.com/nightclamp/nightclamp/leak/nights/shed"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

// engineFloor is low enough for every bag that shed draws to begin above it, Pa.
const engineFloor = 40e3

// engine plays sound nights to the whole engine of a press, from the pull-down
// on, and counts what it wrongly says.
func engine(first uint64, n int, verbose bool) error {
	plain, _, err := datasheets.Load("pva-d3")
	if err != nil {
		return fmt.Errorf("load the datasheet for the sound nights: %w", err)
	}
	gassing, _, err := datasheets.Load("pur-1c")
	if err != nil {
		return fmt.Errorf("load the datasheet for the nights with a gassing glue: %w", err)
	}
	var leaks, margins, blocked int
	for _, o := range each(first, n, func(seed uint64) outcome { return engineNight(seed, plain, gassing) }) {
		leaks += o.leaks
		margins += o.margins
		blocked += o.blocked
		if verbose && o.leaks+o.margins+o.blocked > 0 {
			fmt.Printf("  seed %d: %d leak_found (at %.0f s, %.0f Pa/h since %.0f s), %d margin_gone, %d line_blocked; %s\n", o.seed, o.leaks, o.found, o.est.Rate, o.onset, o.margins, o.blocked, shed.Draw(o.seed, shed.Part{}, shed.Leak{}))
		}
	}
	fmt.Printf("sound nights through the engine: %d, false leak_found: %d, false margin_gone: %d, false line_blocked: %d\n", n, leaks, margins, blocked)
	return nil
}

func engineNight(seed uint64, sheet, gassing *cure.Sheet) outcome {
	o, night := outcome{seed: seed}, shed.Draw(seed, shed.Part{}, shed.Leak{})
	if night.Gassing {
		sheet = gassing
	}
	run := press.New(press.Config{Site: "shed", Press: "deck", Sheet: sheet, FloorPa: engineFloor})
	night.PlayAll(func(s sensor.Sample) {
		for _, e := range run.Advance(s) {
			switch e.Kind {
			case press.LeakFound:
				o.leaks++
				o.found, o.onset, o.est.Rate = e.Time.Sub(shed.Evening()).Seconds()-night.Begins.Seconds(), e.Onset.Sub(shed.Evening()).Seconds()-night.Begins.Seconds(), float64(e.RatePaPerH)
			case press.MarginGone:
				o.margins++
			case press.LineBlocked:
				o.blocked++
			}
		}
	})
	return o
}
