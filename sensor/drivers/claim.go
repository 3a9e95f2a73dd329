package drivers

import (
	"fmt"
	"path/filepath"
	"reflect"
	"strings"

	"github.com/nightclamp/nightclamp/sensor/ads1115"
	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/currentloop"
	"github.com/nightclamp/nightclamp/sensor/ds18b20"
	"github.com/nightclamp/nightclamp/sensor/hwmon"
	"github.com/nightclamp/nightclamp/sensor/iio"
	"github.com/nightclamp/nightclamp/sensor/serialport"
	"github.com/nightclamp/nightclamp/sensor/thermistor"
)

// Claim is something of the machine that a configured part takes for itself.
type Claim struct {
	Kind   Kind
	Bus    string // of an I²C address; empty: the first one there is
	At     string // the address, the device, the port; empty: the only one that fits
	Of     string // what of it: a channel, a quantity; empty: all of it
	Shared bool   // others that share may have the same of it
	Key    string // the option that gives another one

	address int // on I²C
}

// Kind is a kind of thing that can be claimed.
type Kind string

// The kinds.
const (
	I2C     Kind = "I²C address"
	OneWire Kind = "1-wire thermometer"
	Serial  Kind = "serial port"
	Device  Kind = "kernel device"
)

// Clashes reports whether two parts cannot both have what they claim.
func (c Claim) Clashes(d Claim) bool { return c.Bus == d.Bus && c.overlaps(d) }

// MayClash reports whether they cannot if the first bus is the one that the
// other names.
func (c Claim) MayClash(d Claim) bool {
	return c.Bus != d.Bus && (c.Bus == "" || d.Bus == "") && c.overlaps(d)
}

func (c Claim) overlaps(d Claim) bool {
	if c.Kind != d.Kind {
		return false
	}
	if c.Kind == OneWire && (c.At == "" || d.At == "") { // the only one, beside another
		return true
	}
	if c.Shared && d.Shared {
		return false
	}
	return c.At == d.At && (c.Of == "" || d.Of == "" || c.Of == d.Of)
}

// String names what is claimed.
func (c Claim) String() string {
	var text string
	switch {
	case c.Kind == I2C && c.Bus == "":
		text = "address " + c.At + " of the first I²C bus"
	case c.Kind == I2C:
		text = "address " + c.At + " of I²C bus " + c.Bus
	case c.At == "":
		text = "the only " + string(c.Kind)
	default:
		text = string(c.Kind) + " " + c.At
	}
	if c.Of != "" {
		text = c.Of + " of " + text
	}
	return text
}

// Remedy says how two parts that clash in it can be told apart.
func (c Claim) Remedy() string {
	switch c.Kind {
	case I2C:
		if c.Of != "" {
			return "give one of them another channel"
		}
		return "give one of them another address, which its pin or its number sets, or another bus"
	case OneWire:
		return `give each its own id = "28-…" (nightclamp sensor scan lists them)`
	case Serial:
		return "one table reads all that comes over a port: list it in its reads"
	case Device:
		return "name another device in one of them (nightclamp sensor scan lists them), or leave one out"
	}
	return ""
}

// claims is what a driver's Config takes of the machine.
func claims(cfg any) []Claim {
	switch c := cfg.(type) {
	case ads1115.Config:
		return channels(c.Bus, c.Address, c.Channel, c.SupplyChannel)
	case currentloop.Config:
		return channels(c.Bus, c.Address, c.Channel, -1)
	case thermistor.Config:
		return channels(c.Bus, c.Address, c.Channel, c.SupplyChannel)
	case ds18b20.Config:
		return []Claim{{Kind: OneWire, At: c.ID, Key: "id"}}
	case serialport.Config:
		return []Claim{{Kind: Serial, At: filepath.Clean(c.Port), Key: "port"}}
	case iio.Config:
		return device(c.Dir, c.Device, when(c.Pressure != "none", "the pressure"), when(c.Temperature != "none", "the temperature"), when(c.Humid, "the humidity"))
	case hwmon.Config:
		return device(c.Dir, c.Device, c.Input, when(c.Humid, "the humidity"))
	}
	return wholeChip(cfg)
}

// wholeChip is the claim of every other part on I²C, told by its bus and its address:
// a new driver needs nothing for it.
func wholeChip(cfg any) []Claim {
	v := reflect.ValueOf(cfg)
	if v.Kind() != reflect.Struct {
		return nil
	}
	name, address := v.FieldByName("Bus"), v.FieldByName("Address")
	if name.Kind() != reflect.String || address.Kind() != reflect.Int {
		return nil
	}
	return chip(name.String(), int(address.Int()))
}

// chip is a whole part on an I²C bus.
func chip(name string, address int) []Claim {
	return []Claim{{Kind: I2C, Bus: busName(name), At: fmt.Sprintf("0x%02x", address), Key: "address", address: address}}
}

// channels are the inputs of a converter that parts share. Several may measure
// the same supply.
func channels(name string, address, signal, supply int) []Claim {
	list := chip(name, address)
	list[0].Of, list[0].Key = fmt.Sprintf("channel %d", signal), "channel"
	if supply >= 0 {
		list = append(list, list[0])
		list[1].Of, list[1].Key, list[1].Shared = fmt.Sprintf("channel %d", supply), "supply_channel", true
	}
	return list
}

// busName writes the forms in which a bus can be named in one way.
func busName(name string) string {
	for _, prefix := range []string{"/dev/i2c-", "I2C"} {
		name = strings.TrimPrefix(name, prefix)
	}
	return name
}

// device is a device of the kernel below dir, of which the channels are read that
// have a name.
func device(dir, name string, channels ...string) []Claim {
	at := name + " in " + dir
	if name == "" {
		at = "that fits in " + dir
	}
	var list []Claim
	for _, channel := range channels {
		if channel != "" {
			list = append(list, Claim{Kind: Device, At: at, Of: channel, Key: "device"})
		}
	}
	return list
}

func when(used bool, channel string) string {
	if used {
		return channel
	}
	return ""
}

// address refuses an I²C address that no part can have.
func address(driver string, list []Claim) error {
	if len(list) == 0 || list[0].Kind != I2C {
		return nil
	}
	at, last := list[0].address, 0x77
	switch driver {
	case "abp2", "hsc", "mpr":
		last = bus.LastAddress
	}
	if at < bus.FirstAddress || at > last {
		return &OptionError{Key: "address", Problem: fmt.Sprintf("is 0x%02x: an I²C address is 0x%02x to 0x%02x; give the part's, "+
			"without the bit for reading and writing (nightclamp sensor scan finds it)", at, bus.FirstAddress, last)}
	}
	return nil
}
