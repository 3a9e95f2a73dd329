// Package mpr reads the 24-bit digital absolute pressure parts of the MPR
// family over I²C, of which the 0 to 25 psi one spans a whole vacuum bag.
//
// Datasheet: Honeywell, MicroPressure Board Mount Pressure Sensors, MPR
// Series, 32332628 (from memory; the transfer's numbers are checked in the
// test).
//
// The part sleeps until it is asked: write 0xAA 0x00 0x00, wait until it is no
// longer busy (5 ms, typically), read a status byte and 24 bits of pressure:
//
//	p = (count − low·2²⁴) · (max − min) / ((high − low)·2²⁴) + min
//
// with low and high 10 and 90 % for transfer function A, 2.5 and 22.5 % for B,
// 20 and 80 % for C.
//
// Wiring: 3.3 V, ground, SDA, SCL with pull-ups (most boards bring them); the
// EOC and RST pins may stay open. The part's nozzle goes to the bag by a tee, as
// near to it as the line allows.
//
// Ranges and noise: 25 psi absolute spans 0 to 172 kPa; total error band about
// ±1.5 % of it, most of which a zero against a barometer takes out; noise 5 to
// 10 Pa (seen in practice, no source).
//
// Traps:
//   - The part number tells the range, absolute or gauge, the address and the
//     transfer; parts with another address than 0x18 look the same.
//   - A part without supply on the sensing side answers with the powered bit
//     clear; a bus without pull-ups reads 0xFF. Neither is a pressure.
//   - Saturation is a status bit; the counts then still look like a pressure.
//   - The status before the conversion has ended belongs to the one before.
//   - A gauge part of the family (…PG) measures against the room: its bag
//     pressure would be wrong here by an atmosphere.
package mpr
