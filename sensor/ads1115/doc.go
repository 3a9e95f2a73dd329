// Package ads1115 reads an analogue pressure part through the 16-bit ADS1115
// converter over I²C.
//
// Datasheet: Texas Instruments, ADS111x, SBAS444 (from memory; register values
// are checked in the test).
//
// The common part of the trade gives 0.5 to 4.5 V from a 5 V supply, in
// proportion to that supply: if the supply sags by a per cent, so does the
// signal. So the supply is measured on a second channel (supply_channel) and
// the signal is taken as a share of it. Without a second channel the supply is
// taken to be supply_v.
//
// The transfer goes through two points: low_v gives low_pa, high_v gives
// high_pa, both at the nominal supply. Pressures of a gauge part are relative
// to the room, so negative under vacuum; a −14.5 to +30 psi part, the default,
// has −99974 Pa at 0.5 V. Its bag pressure is derived from the barometer's.
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - One step at ±6.144 V is 187.5 µV: 14.4 Pa with the default part. Its
//     readings are flat for a while; that is no stuck part.
//   - A broken wire reads near 0 V, outside the transfer: that is an error,
//     not a deep vacuum.
package ads1115
