// Package iio reads any pressure, temperature or humidity part that the Linux
// kernel drives itself, through the files of its Industrial I/O subsystem.
//
// Source: Linux, Documentation/ABI/testing/sysfs-bus-iio (from memory): a
// channel is either processed, in_pressure_input in kilopascal, in_temp_input in
// milli °C and in_humidityrelative_input in milli per cent, or raw, and then the
// value is (in_pressure_raw + in_pressure_offset) · in_pressure_scale, in the same
// units.
//
// Kernel drivers exist for, among others, the bmp280 family, ms5611 and ms5637
// families, lps22, dps310, the MPR family (mprls0025pa), HSC and SSC (hsc030pa).
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - A part that the kernel drives cannot be read past it: the bus answers
//     "busy". Use this driver for it, not the part's own.
//   - Most barometers stop at 300 hPa and cannot see a deep vacuum: use them
//     for the room. A pressure outside what the room can have is refused when
//     it is read as ambient.
package iio
