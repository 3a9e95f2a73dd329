package iio

import (
	"github.com/nightclamp/nightclamp/sensor/sysfs"
)

// channel is one channel of a device, processed or raw.
type channel struct {
	folder        string
	input         string // processed; empty: raw
	raw           string
	scale, offset string // of the raw value; empty: there is none
}

// findChannel returns the device's first channel of a type, pressure, temp or
// humidityrelative;
// nil when it has none. Channels may be numbered from 0.
func findChannel(folder, kind string) *channel {
	for _, number := range []string{"", "0", "1"} {
		base := "in_" + kind + number
		if sysfs.Has(folder, base+"_input") {
			return &channel{folder: folder, input: base + "_input"}
		}
		if sysfs.Has(folder, base+"_raw") {
			return &channel{
				folder: folder, raw: base + "_raw",
				scale:  first(folder, base+"_scale", "in_"+kind+"_scale"),
				offset: first(folder, base+"_offset", "in_"+kind+"_offset"),
			}
		}
	}
	return nil
}

// first returns the first attribute that there is: its channel's own, or the
// one that all of a type share.
func first(folder string, names ...string) string {
	for _, n := range names {
		if sysfs.Has(folder, n) {
			return n
		}
	}
	return ""
}

// value is the channel's value in the unit of the ABI.
func (c *channel) value() (float64, error) {
	if c.input != "" {
		return sysfs.Number(c.folder, c.input)
	}
	v, err := sysfs.Number(c.folder, c.raw)
	if err != nil {
		return 0, err
	}
	scale, offset := 1.0, 0.0
	if c.offset != "" {
		if offset, err = sysfs.Number(c.folder, c.offset); err != nil {
			return 0, err
		}
	}
	if c.scale != "" {
		if scale, err = sysfs.Number(c.folder, c.scale); err != nil {
			return 0, err
		}
	}
	return (v + offset) * scale, nil
}
