// Package layup works out, before the first glue, what a stack of plies in a
// bag will need and do: glue to mix, water and moisture, clamp force and what
// the mould bears, the lag of the glue line, assembly and press time, springback.
//
// It is pure. Units are SI inside; a lay-up file is written in the units people
// use at the bench (mm, g/m², kPa, °C, %).
//
// Read a file with [Parse], then call [Make] with the glue's datasheet. Every
// number is an estimate for a plan and not for a promise: the maker's datasheet
// and a trial piece go before it.
package layup
