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
// Wiring: 3.3 V, ground, SDA, SCL with pull-ups; SDO selects 0x76 (low) or 0x77,
// CSB to the supply for I²C.
//
// Ranges and noise: 300 to 1100 hPa, ±1 hPa, some 1 Pa as set up here (the driver
// package computes in whole pascals); −40 to 85 °C, ±1 K.
//
// Traps:
//   - The temperature is that of the board the part sits on, a kelvin or more
//     above the air when that board is near a warm computer. Put it on a lead,
//     or set air = false and use another thermometer.
//   - After a reset the part does not listen for 2 ms; settings sent meanwhile
//     are lost and it sleeps on. This driver waits and reads them back.
//   - Before the first conversion, and after losing its settings, the part
//     answers with 0x80000, which converts to a quite plausible pressure.
//   - Parts sold as BME280 are often BMP280 (no humidity): both are taken.
package bme280
