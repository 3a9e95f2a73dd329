package doctor

import (
	"fmt"
	"strings"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
)

const buses = "buses"

// buses looks whether the buses that the config needs are there.
func (e *examination) buses() {
	n := len(e.report.Findings)
	if e.anyOn(i2c) {
		e.i2cBuses()
	}
	if e.anyOn(driver("ds18b20")) {
		e.oneWire()
	}
	if e.anyOn(driver("iio")) && len(e.glob("sys/bus/iio/devices/iio:device*")) == 0 {
		e.add(buses, Wrong, "the kernel drives no IIO part", "load the part's kernel driver (on many boards a dtoverlay); nightclamp sensor scan shows what there is")
	}
	if len(e.report.Findings) == n {
		e.ok(buses, "the config needs no bus that is missing")
	}
}

func driver(name string) func(config.Sensor) bool {
	return func(s config.Sensor) bool { return s.Driver == name }
}

func (e *examination) i2cBuses() {
	there := e.glob("dev/i2c-*")
	if len(there) == 0 {
		remedy := "switch I²C on in the board's settings (on many boards dtparam=i2c_arm=on in config.txt) and restart"
		if len(e.glob("sys/bus/i2c/devices/i2c-*")) > 0 {
			remedy = "load the module that makes it: sudo modprobe i2c-dev (the package has it loaded at boot)"
		}
		e.add(buses, Wrong, "there is no I²C bus /dev/i2c-*", remedy)
		return
	}
	for _, s := range e.all() {
		bus, ok := s.Keys["bus"].(string)
		if !ok || bus == "" || !i2c(s) {
			continue
		}
		device := "/dev/i2c-" + strings.TrimPrefix(bus, "/dev/i2c-")
		if !e.exists(device) {
			e.add(buses, Wrong, fmt.Sprintf("sensor %s is on bus %s, and there is no %s", s.Name, bus, device),
				fmt.Sprintf("correct bus in %s; there are %s", s.Where, strings.Join(there, ", ")))
			return
		}
	}
	e.ok(buses, "I²C is there: %s", strings.Join(there, ", "))
}

func (e *examination) oneWire() {
	switch probes := e.glob("sys/bus/w1/devices/28-*"); {
	case !e.exists("sys/bus/w1/devices"):
		e.add(buses, Wrong, "the kernel has no 1-wire bus", "switch it on (on many boards dtoverlay=w1-gpio in config.txt) and restart")
	case len(e.glob("sys/bus/w1/devices/w1_bus_master*")) == 0:
		e.add(buses, Wrong, "the kernel's 1-wire bus has no master", "switch the pin's driver on (on many boards dtoverlay=w1-gpio in config.txt) and restart")
	case len(probes) == 0:
		e.add(buses, Wrong, "no DS18B20 answers on the 1-wire bus", "check its supply and ground, DQ on the pin of the overlay (GPIO 4), and 4.7 kΩ from DQ to 3.3 V")
	default:
		e.ok(buses, "1-wire is there with %d probe(s)", len(probes))
	}
}
