// Package ds18b20 reads a DS18B20 thermometer through the files of the kernel's
// 1-wire driver: the one to lay into the glue line.
//
// Datasheet: Maxim Integrated (now Analog Devices), DS18B20, 19-7487 (from
// memory; its table of temperatures is checked in the test). Files: Linux,
// Documentation/w1/slaves/w1_therm.rst. A reading takes 750 ms at 12 bit and
// blocks meanwhile.
//
// Wiring, ranges and noise: README.md.
//
// Traps:
//   - 85 °C is what the part holds after power-on, before the first
//     conversion: a part with a poor supply gives it again and again. No glue
//     line has it; it is an error here.
//   - −127 °C is what some layers give for no part at all.
//   - Nine bytes of zero pass the checksum: that is a line shorted to ground.
package ds18b20
