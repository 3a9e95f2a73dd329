package main

import (
	"fmt"
	"math"

	"github.com/nightclamp/nightclamp/leak"
	"github.com/nightclamp/nightclamp/leak/nights/shed"
)

// What a drop test is asked and how the press that guides it waits; see press.
const (
	dropHold   = 24 * 3600.0 // s that the bag must hold
	dropStands = 20.0        // s for which a verdict must stand
	dropWithin = 6 * 3600.0  // s after which there is none
)

// drop plays drop tests that begin with the pump just stopped, of bags that leak
// a share of what they may.
func drop(first uint64, n int) {
	for _, allowed := range []float64{400, 1000} {
		for _, share := range []float64{0.3, 0.7, 0.9, 1.1, 1.4, 3} {
			dropAt(first, n, allowed, share)
		}
	}
}

func dropAt(first uint64, n int, allowed, share float64) {
	var took []float64
	holds, fails := 0, 0
	for _, o := range each(first, n, func(seed uint64) outcome { return dropNight(seed, allowed, share) }) {
		switch leak.Verdict(o.leaks) {
		case leak.Holds:
			holds++
		case leak.Fails:
			fails++
		default:
			continue
		}
		took = append(took, o.found)
	}
	fmt.Printf("drop test, %4.0f Pa/h allowed, leak %.1f of that: holds %.1f %%, fails %.1f %%, no verdict in 6 h %.1f %%, took (median, 90 %%) %.0f %.0f min\n",
		allowed, share, 100*float64(holds)/float64(n), 100*float64(fails)/float64(n), 100*float64(n-holds-fails)/float64(n), at(took, 0.5)/60, at(took, 0.9)/60)
}

func dropNight(seed uint64, allowed, share float64) outcome {
	night := shed.Draw(seed, shed.Part{Well: true}, shed.Leak{PaPerH: share * allowed, KeepsOn: true})
	night.Sim.Scenario.Leaks[0].PaPerH *= 101325 / night.Sim.Room.PressurePa // the rate is that of the standard room
	o := outcome{seed: seed, found: math.NaN()}
	var test *leak.DropTest
	verdict, since := leak.NotYet, 0.0
	night.Play(func(s shed.Step) bool {
		r := s.Reading
		if test == nil {
			// The floor that a bag with the allowed leak just reaches in time.
			floor := s.Truth.AmbientPa - s.Truth.BagPa - allowed*dropHold/3600
			test = leak.NewDropTest(leak.Config{Gassing: night.Gassing}, leak.Need{Hold: dropHold, Floor: floor})
		}
		test.Add(r)
		if now := test.State().Verdict; now != verdict {
			verdict, since = now, r.T
		}
		if verdict != leak.NotYet && r.T-since >= dropStands {
			o.leaks, o.found = int(verdict), r.T
			return false
		}
		return r.T < dropWithin
	})
	return o
}
