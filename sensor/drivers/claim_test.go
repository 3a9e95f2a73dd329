package drivers

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

// claimed configures a part and returns what it takes.
func claimed(t *testing.T, driver string, o Options) []Claim {
	t.Helper()
	d, err := Find(driver)
	if err != nil {
		t.Fatal(err)
	}
	part, err := d.Configure(Env{}, o)
	if err != nil {
		t.Fatalf("%s %v: %v", driver, o, err)
	}
	return part.Claims
}

func TestClaims(t *testing.T) {
	type part struct {
		driver string
		o      Options
	}
	for what, c := range map[string]struct {
		a, b part
		may  bool   // not sure
		says string // what both claim; empty: no clash
	}{
		"mcp9808 and mpr as they come": {part{"mpr", nil}, part{"mcp9808", nil}, false, "address 0x18 of the first I²C bus"},
		"two buses":                    {part{"mpr", Options{"bus": "1"}}, part{"mcp9808", Options{"bus": "3"}}, false, ""},
		"one bus by two names":         {part{"mpr", Options{"bus": "1"}}, part{"mcp9808", Options{"bus": "/dev/i2c-1"}}, false, "address 0x18 of I²C bus 1"},
		"perhaps one bus":              {part{"mpr", Options{"bus": "1"}}, part{"mcp9808", nil}, true, "address 0x18 of I²C bus 1"},
		"two addresses":                {part{"mpr", nil}, part{"mcp9808", Options{"address": 0x19}}, false, ""},
		"one channel":                  {part{"ads1115", nil}, part{"thermistor", nil}, false, "channel 0 of address 0x48 of the first I²C bus"},
		"two channels":                 {part{"ads1115", nil}, part{"currentloop", Options{"channel": 1}}, false, ""},
		"two converters":               {part{"ads1115", nil}, part{"ads1115", Options{"address": 0x49}}, false, ""},
		"one supply":                   {part{"ads1115", Options{"supply_channel": 3}}, part{"ads1115", Options{"channel": 1, "supply_channel": 3}}, false, ""},
		"a signal on another's supply": {part{"ads1115", Options{"supply_channel": 3}}, part{"thermistor", Options{"channel": 3}}, false, "channel 3 of address 0x48 of the first I²C bus"},
		"a converter and another part": {part{"ads1115", nil}, part{"mpr", Options{"address": 0x48}}, false, "channel 0 of address 0x48 of the first I²C bus"},
		"two ds18b20 without id":       {part{"ds18b20", nil}, part{"ds18b20", nil}, false, "the only 1-wire thermometer"},
		"one of them without":          {part{"ds18b20", Options{"id": "28-1"}}, part{"ds18b20", nil}, false, "1-wire thermometer 28-1"},
		"two with ids":                 {part{"ds18b20", Options{"id": "28-1"}}, part{"ds18b20", Options{"id": "28-2"}}, false, ""},
		"two with one id":              {part{"ds18b20", Options{"id": "28-1"}}, part{"ds18b20", Options{"id": "28-1"}}, false, "1-wire thermometer 28-1"},
		"one port":                     {part{"serial", Options{"port": "/dev/ttyUSB0"}}, part{"serial", Options{"port": "/dev//ttyUSB0"}}, false, "serial port /dev/ttyUSB0"},
		"two ports":                    {part{"serial", Options{"port": "/dev/ttyUSB0"}}, part{"serial", Options{"port": "/dev/ttyUSB1"}}, false, ""},
		"one device, one quantity":     {part{"iio", Options{"device": "bme280"}}, part{"iio", Options{"device": "bme280", "pressure": "bag"}}, false, "the pressure of kernel device bme280 in /sys/bus/iio/devices"},
		"one device, two quantities":   {part{"iio", Options{"device": "bme280"}}, part{"iio", Options{"device": "bme280", "pressure": "none", "temperature": "air"}}, false, ""},
		"the only device, twice":       {part{"hwmon", nil}, part{"hwmon", Options{"as": "air"}}, false, "temp1_input of kernel device that fits in /sys/class/hwmon"},
		"two inputs":                   {part{"hwmon", Options{"device": "x"}}, part{"hwmon", Options{"device": "x", "input": "temp2_input"}}, false, ""},
		"iio and hwmon":                {part{"iio", nil}, part{"hwmon", nil}, false, ""},
		"what takes nothing":           {part{"sim", nil}, part{"sim", nil}, false, ""},
	} {
		var sure, unsure []string
		for _, a := range claimed(t, c.a.driver, c.a.o) {
			for _, b := range claimed(t, c.b.driver, c.b.o) {
				if a.Clashes(b) != b.Clashes(a) || a.MayClash(b) != b.MayClash(a) {
					t.Errorf("%s: %v and %v are of two minds", what, a, b)
				}
				if a.Clashes(b) {
					sure = append(sure, a.String())
				}
				if a.MayClash(b) {
					unsure = append(unsure, a.String())
				}
				if (a.Clashes(b) || a.MayClash(b)) && a.Remedy() == "" {
					t.Errorf("%s: no remedy", what)
				}
			}
		}
		got, other := sure, unsure
		if c.may {
			got, other = unsure, sure
		}
		if len(other) > 0 || (c.says == "") != (len(got) == 0) || c.says != "" && !slices.Equal(got, []string{c.says}) {
			t.Errorf("%s: %v, perhaps %v", what, sure, unsure)
		}
	}
}

// Every driver that has an address claims it, and refuses one that no part has.
func TestAddresses(t *testing.T) {
	n := 0
	for _, d := range Table() {
		if !slices.ContainsFunc(d.Options, func(o Option) bool { return o.Key == "address" }) {
			continue
		}
		n++
		for at, good := range map[int]bool{
			-1: false, 0: false, 0x07: false, 0x08: true, 0x77: true, 0x79: false, 0x148: false,
			0x78: d.Name == "hsc" || d.Name == "mpr" || d.Name == "abp2",
		} {
			part, err := d.Configure(Env{}, Options{"address": at})
			var option *OptionError
			if (err == nil) != good || err != nil && (!errors.As(err, &option) || option.Key != "address" || !strings.Contains(err.Error(), "0x08 to 0x7")) {
				t.Errorf("%s at %#x: %v", d.Name, at, err)
			}
			if err == nil && (len(part.Claims) == 0 || part.Claims[0].Kind != I2C) {
				t.Errorf("%s claims %v", d.Name, part.Claims)
			}
		}
	}
	if n < 10 {
		t.Errorf("only %d drivers have an address", n)
	}
}

// Every driver whose range can be set has a span, and its default is no doubt by
// the sea.
func TestSpans(t *testing.T) {
	n := 0
	for _, d := range Table() {
		if !slices.ContainsFunc(d.Options, func(o Option) bool { return o.Key == "min_pa" || o.Key == "low_pa" }) {
			continue
		}
		n++
		part, err := d.Configure(Env{}, nil)
		if err != nil || part.Span == nil {
			t.Errorf("%s: span %v, %v", d.Name, part.Span, err)
			continue
		}
		if _, doubt := part.Span.Doubt(101325); doubt != "" {
			t.Errorf("%s: %s", d.Name, doubt)
		}
	}
	if n != 5 {
		t.Errorf("%d drivers have a range", n)
	}
}
