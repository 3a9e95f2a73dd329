// Package csvfile reads a recorded series, one sample a row, as a stream in
// constant memory.
//
// The first line names the columns, in any order:
//
//	time        RFC 3339 with its zone, or seconds from the start as a decimal number
//	bag_pa      absolute pressure in the bag, Pa, or
//	vacuum_pa   what a gauge part reads: room minus bag, Pa
//	ambient_pa  absolute pressure of the room, Pa (optional)
//	glueline_c  temperature at the glue line, °C (optional)
//	air_c       temperature of the room's air, °C (optional)
//	humidity_pct  relative humidity of that air, % (optional)
//
// An empty cell is a missing reading. Any other column is an error, so is a
// row whose time goes back, a cell that is no number and a line that was cut
// off: an [Error] names the file, the line, the column and the value. A byte
// order mark, CRLF and cells in plain quotes are put up with.
//
// Of the samples.csv of a press record the means are read; the rest of its columns
// is passed over.
//
// Without ambient_pa the room is taken to be at the station pressure ([Station],
// or the standard atmosphere) and the sample says so. Times in seconds are
// counted from [Origin].
package csvfile
