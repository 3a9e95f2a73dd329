// Package sim is a vacuum bag that exists only in arithmetic: the part that is
// read when there is no press at hand, in the demo and in tests.
//
// A [Bag] keeps count of the air and the water vapour in its free volume and
// lets them come and go as they do in a workshop: a leak (choked while the bag
// is below 0.528 of the room's pressure), air that was trapped between the
// plies, water from wet glue, gas from a glue that foams, a hand pump or an
// electric one, a hose pinched shut, warmth and cold, and a barometer that will not stand still.
// Its readings then get the noise, the steps, the drift and the faults of real
// parts. What happens when is a [Scenario]; [BoatShed] is the built-in one.
//
// It is pure: time is whatever the caller passes to [Bag.Step], and the same
// seed and the same times give the same readings. It is no model of any real
// bag; sizes and rates in it are invented, only the laws are not:
//
//   - orifice flow: the ideal nozzle of ISO 9300, γ = 1.4 (from memory)
//   - seam flow: laminar, proportional to p0² − p²
//   - saturation over water: Magnus form of the WMO Guide No. 8 (from memory)
//   - constant-speed pump: dp/dt = −S·p/V; hand pump: p·V/(V+Vs) a stroke
package sim
