// Package ms5803 reads the absolute pressure parts of the MS5803, MS5611 and
// MS5837 families over I²C. They reach from the room down to 10 hPa or to
// nothing, so unlike other barometer parts they can read a bag; how exactly they
// do so below 300 hPa their sheets do not say for the low ranges.
//
// Datasheets: TE Connectivity (Measurement Specialties), MS5803-14BA,
// MS5837-02BA and MS5837-30BA (public copies of their pages with the
// calculation); MS5611-01BA03, MS5803-01BA and MS5803-02BA (from memory). The
// worked examples of these are the test. The MS5803-05BA, -07BA and -30BA are
// tested against no sheet: their constants are those that public drivers
// (Apache NuttX's ms58xx, and others) agree in. The checksum is that of
// application note AN520 (from memory).
//
// The part holds six coefficients and a checksum in its PROM. It is asked for a
// raw pressure D1 and a raw temperature D2, and
//
//	dT = D2 − C5·2⁸            TEMP = 2000 + dT·C6/2²³   (0.01 °C)
//	OFF = C2·2^a + C4·dT/2^b   SENS = C1·2^c + C3·dT/2^d
//	P = (D1·SENS/2²¹ − OFF)/2^e
//
// with a to e by the model, and corrections of second order below 20 °C, which
// a shop in autumn always is. The MS5803-07BA has two coefficients more, for
// pressures above 1100 hPa, which no bag has: they are not used.
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - The models answer alike and differ in their arithmetic: a wrong model is
//     off by a factor, not by a little.
//   - A D1 or D2 of 0 means that the conversion was read too early.
package ms5803
