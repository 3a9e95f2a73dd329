// Package ms5803 reads the absolute pressure parts of the MS5803, MS5611 and
// MS5837 families over I²C. They reach from the room down to 10 hPa, so unlike
// other barometer parts they can read a bag.
//
// Datasheets: TE Connectivity (Measurement Specialties), MS5803-01BA,
// MS5611-01BA03, MS5837-02BA and MS5837-30BA, with application note AN520 for
// the checksum (all from memory; the worked examples of the latter three are the
// test).
//
// The part holds six coefficients and a checksum in its PROM. It is asked for a
// raw pressure D1 and a raw temperature D2, and
//
//	dT = D2 − C5·2⁸            TEMP = 2000 + dT·C6/2²³   (0.01 °C)
//	OFF = C2·2^a + C4·dT/2^b   SENS = C1·2^c + C3·dT/2^d
//	P = (D1·SENS/2²¹ − OFF)/2^e
//
// with a to e by the model, and corrections of second order below 20 °C, which
// a shop in autumn always is.
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - The models answer alike and differ in their arithmetic: a wrong model is
//     off by a factor, not by a little.
//   - A D1 or D2 of 0 means that the conversion was read too early.
package ms5803
