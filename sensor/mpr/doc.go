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
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - A part without supply on the sensing side answers with the powered bit
//     clear; a bus without pull-ups reads 0xFF. Neither is a pressure.
//   - Saturation is a status bit; the counts then still look like a pressure.
//   - The status before the conversion has ended belongs to the one before.
package mpr
