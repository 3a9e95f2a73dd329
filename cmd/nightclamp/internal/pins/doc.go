// Package pins is what nightclamp does with the board's own pins: it opens them
// ([Open]), holds the relay of a pump ([Relay]) and listens to a push button
// ([Button]).
//
// A pin is asked of the kernel (its GPIO character device) and never through the
// chip's registers in memory: the kernel gives a line to one program alone, and
// takes it back when the program ends, however it ends. What the pin does then is
// the board's affair: on most it becomes an input again, and a pull-down resistor
// decides; some keep the last level. So the relay is safe only when all of these
// hold, and the README says so:
//
//   - the relay is off when its input is open, and a resistor (10 kΩ) holds the
//     input at its off level;
//   - the unit's ExecStopPost switches the relay off after any end of the daemon,
//     also after a crash or when the watchdog ended it;
//   - within the process, [Relay] switches off when nobody has renewed its order for
//     [Deadman], whatever hangs elsewhere;
//   - against a board that hangs whole, the kernel's hardware watchdog
//     (RuntimeWatchdogSec of systemd) resets it, and a timer or pressure switch of
//     the pump's own does what no software can.
package pins
