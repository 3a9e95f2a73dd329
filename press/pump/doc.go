// Package pump decides when an electric pump tops a bag up. It is pure: it is
// driven by the samples of a run, and switches nothing itself.
//
// A [Controller] takes what a run knows of its bag ([press.Clamp]) with each
// sample and says whether the pump is to be on. It starts the pump only in the
// hold, when the vacuum has been below Config.StartBelow for a while, and stops it
// at Config.StopAbove. It never starts it within Config.MinOff of the last stop,
// and never lets it run longer than Config.MaxRun.
//
// It gives up, and says why ([Reason]), until somebody has looked:
//
//	bag open      the vacuum is lost: pumping only dries the glue and heats the pump
//	no gain       the pump was on and the vacuum did not grow: it did not start, a
//	              valve is shut, or the bag leaks as fast as it draws
//	ran long      Config.MaxRun was over before Config.StopAbove was reached
//	too often     Config.MaxStarts in an hour: the pump hides a leak, or the valve
//	              beside it leaks back
//	runs on       the vacuum goes on growing after the pump was switched off: a relay
//	              that sticks
//
// A pressure that is not believed switches the pump off at once; it may start again
// when the pressure has been believed for a while.
//
// This is a convenience and no safety device. A relay can weld and a board can
// hang: whatever must not happen then needs a protection of its own, wired by
// somebody who is allowed to. See the README's cautions.
package pump
