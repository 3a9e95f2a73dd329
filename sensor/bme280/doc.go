// Package bme280 reads the room's pressure and temperature from a BME280 or
// BMP280 over I²C, through tinygo.org/x/drivers.
//
// Datasheets: Bosch Sensortec, BST-BME280-DS002 and BST-BMP280-DS001 (from
// memory; the worked example of the latter is the test).
//
// It is a barometer: the datasheet's range is 300 to 1100 hPa. In the line of
// a bag under vacuum it reads nonsense, so a reading outside that range is an
// error here.
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - The driver package computes in whole pascals.
//   - After a reset the part does not listen for 2 ms; settings sent meanwhile
//     are lost and it sleeps on. This driver waits and reads them back.
//   - Before the first conversion, and after losing its settings, the part
//     answers with 0x80000, which converts to a quite plausible pressure.
package bme280
