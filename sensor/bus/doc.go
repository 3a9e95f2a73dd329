// Package bus opens I²C buses for the drivers and turns what goes wrong on
// them into errors that say what to do.
//
// A [Host] looks for buses when one is first asked for, not before, so that a
// machine without any runs the simulated press all the same. A [Device] is one
// address on one bus; two drivers that share a chip, as two gauges on one
// converter do, share the
// claim on it.
package bus
