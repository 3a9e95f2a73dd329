// Package units reads and writes quantities as people do: always with their
// unit.
//
// Inside the code a pressure is in pascal, a temperature in degrees Celsius, a
// duration a [time.Duration] and a moment in UTC. At the edges (config,
// command line, page, messages) a person writes "65kPa" or "19 inHg", "12C" or
// "54 °F", "36h" or "2d". The types [Pressure], [Temperature] and [Duration]
// read these from text and from flags: they are encoding.TextUnmarshaler and
// have the methods of a flag value (Set, String, Type). A number without its
// unit is an error; nothing is ever guessed.
//
// The other way round, a [Display] holds what one reader wants to see and
// writes quantities, moments and spans for them. Its zero value shows kPa, °C
// and UTC on a 24-hour clock. An unknown quantity (NaN) is shown as "–".
//
// # Factors
//
// The factors to SI are those of NIST Special Publication 811 (2008), Guide for
// the Use of the International System of Units, appendix B.8. An inch of
// mercury is the conventional one, at 0 °C and standard gravity (3386.389 Pa):
// the one on vacuum gauges. (The inch of mercury at 60 °F, 3376.85 Pa, is 0.3 %
// less and not supported.) All pressures are plain differences or absolute
// values as their context says; "inHg" makes no claim to be vacuum.
package units

// Missing is how a quantity that is not known is shown to people.
const Missing = "–"
