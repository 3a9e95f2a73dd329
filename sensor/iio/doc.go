// Package iio reads any pressure or temperature part that the Linux kernel
// drives itself, through the files of its Industrial I/O subsystem.
//
// Source: Linux, Documentation/ABI/testing/sysfs-bus-iio (from memory): a
// channel is either processed, in_pressure_input in kilopascal and
// in_temp_input in milli °C, or raw, and then the value is
// (in_pressure_raw + in_pressure_offset) · in_pressure_scale, in the same
// units.
//
// Wiring: as the part's datasheet says, plus a device tree overlay or a line to
// new_device that gives the part to its driver; `ls /sys/bus/iio/devices` then
// shows it. Kernel drivers exist for, among others, the bmp280 family, ms5611
// and ms5637 families, lps22, dps310, the MPR family (mprls0025pa), HSC and SSC
// (hsc030pa). Range, noise and traps are the part's own: see the package of the
// part if there is one.
//
// Traps:
//   - A part that the kernel drives cannot be read past it: the bus answers
//     "busy". Use this driver for it, not the part's own.
//   - Most barometers stop at 300 hPa and cannot see a deep vacuum: use them
//     for the room. A pressure outside what the room can have is refused when
//     it is read as ambient.
//   - Gauge parts give negative pressures relative to the room: set
//     reference = "gauge".
//   - iio:device0 may be another part after the next boot: give the part's name.
package iio
