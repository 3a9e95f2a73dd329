// Package scan looks for parts on this machine and proposes how to configure
// them. Call [Scan]; what it returns says what was found and what was done.
//
// It looks at the I²C buses, and, through the kernel's files, at 1-wire
// thermometers, IIO and hwmon devices and serial ports.
//
// On an I²C bus every address is asked by reading one byte and writing none.
// The exceptions:
//
//   - 0x69 is left alone: reading without a command is known to stop clock
//     chips there, and with them the bus (i2cdetect(8), option -r). No driver of
//     ours has a part there.
//   - What a kernel driver holds is left to it, and found through IIO or hwmon.
//   - Buses inside a computer (SMBus, screens) are left alone unless they are
//     asked for by name: memory modules and monitors are there, and no press.
//   - A bus that is held down is given up at the first address that shows it.
//
// An address does not tell what a part is: several share one. With
// [Options.Identify] the addresses that answered and that a part with an
// identity may have are also told the number of that identity's register, one
// byte, which is a write; the SHT4x, which answers no bare read, is asked for
// its serial number.
//
// [Measure] says how noisy a series of readings is, and [Noise.Sees] what leak
// can be seen in it, and in how long.
package scan
