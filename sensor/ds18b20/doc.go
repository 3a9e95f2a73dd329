// Package ds18b20 reads a DS18B20 thermometer through the files of the kernel's
// 1-wire driver: the one to lay into the glue line.
//
// Datasheet: Maxim Integrated (now Analog Devices), DS18B20, 19-7487 (from
// memory; its table of temperatures is checked in the test). Files: Linux,
// Documentation/w1/slaves/w1_therm.rst. A reading takes 750 ms at 12 bit, in
// steps of 0.0625 K, and blocks meanwhile; the part is good to ±0.5 K.
//
// Wiring: data to the board's 1-wire pin (GPIO 4 on many), 4.7 kΩ from data to
// 3.3 V, supply and ground. Several parts share the three wires. In the glue
// line lay a thin sheathed probe into the waste at the edge, under as many
// veneers as the work has (common practice, no source).
//
// Ranges and noise: −55 to 125 °C, ±0.5 K from −10 to 85 °C; no noise beyond its
// step.
//
// Traps:
//   - 85 °C is what the part holds after power-on, before the first
//     conversion: a part with a poor supply gives it again and again. No glue
//     line has it; it is an error here.
//   - −127 °C is what some layers give for no part at all.
//   - Nine bytes of zero pass the checksum: that is a line shorted to ground.
//   - Parasite power (two wires) fails on long leads; connect all three.
//   - Many parts sold under the name are copies that drift or are off by a
//     kelvin: check in ice water before trusting one near a glue's minimum.
package ds18b20
