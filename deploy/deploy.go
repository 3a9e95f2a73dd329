// Package deploy holds what goes with the binary onto a machine: the sample
// config, the systemd unit, the udev rule, the packages and sample
// configurations of the neighbours. README.md in this folder says how to use
// each. Only the sample config is needed by the program itself.
package deploy

import _ "embed"

//go:embed nightclamp.toml
var sampleConfig string

// SampleConfig returns a config file with every key and its meaning.
func SampleConfig() string { return sampleConfig }
