package doctor

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

const permissions = "permissions"

// permissions looks whether the daemon's user may open what the config needs.
func (e *examination) permissions() {
	looked := 0
	look := func(patterns ...string) {
		for _, p := range patterns {
			for _, device := range e.glob(p) {
				looked++
				e.device(device)
			}
		}
	}
	if e.anyOn(i2c) || len(e.all()) == 0 {
		look("dev/i2c-*")
	}
	if e.pins() {
		look("dev/gpiochip*")
		if len(e.glob("dev/gpiochip*")) == 0 {
			looked++
			e.add(permissions, Wrong, "the config has pins, and there is no /dev/gpiochip*", "this machine has no pins that its kernel knows; take [pins] and [press.pump] out of the config")
		}
	}
	for _, s := range e.all() {
		if port, ok := s.Keys["port"].(string); ok && s.Driver == "serial" {
			looked++
			e.device(port)
		}
	}
	if looked == 0 {
		e.ok(permissions, "no device has to be opened by %s", e.who.name)
	}
}

// device looks whether one device may be read and written.
func (e *examination) device(path string) {
	info, err := os.Stat(e.path(path))
	if err != nil {
		e.add(permissions, Wrong, fmt.Sprintf("%s is not there", path), "plug it in, or correct its name in the config: ls -l /dev/serial/by-id shows the serial ports that have a lasting name")
		return
	}
	if e.who.may(info, toRead|toWrite) {
		e.ok(permissions, "%s may use %s", e.who.name, path)
		return
	}
	_, gid, _ := owner(info)
	group := e.group(gid)
	remedy := fmt.Sprintf("sudo usermod -aG %s %s, then restart the daemon (a person logs in again)", group, e.who.name)
	switch {
	case info.Mode().Perm()&0o060 != 0o060 && strings.HasPrefix(path, "/dev/i2c-"):
		remedy = "install the udev rule 60-nightclamp.rules (it is in the package), then: sudo udevadm trigger --subsystem-match=i2c-dev"
	case info.Mode().Perm()&0o060 != 0o060 && strings.HasPrefix(path, "/dev/gpiochip"):
		remedy = "install the udev rule 60-nightclamp.rules (it is in the package), then: sudo udevadm trigger --subsystem-match=gpio"
	case info.Mode().Perm()&0o060 != 0o060:
		remedy = fmt.Sprintf("give a group of %s the right to it with a udev rule, as 60-nightclamp.rules does for the I²C buses", e.who.name)
	}
	e.add(permissions, Wrong, fmt.Sprintf("%s may not use %s (group %s, mode %04o)", e.who.name, path, group, info.Mode().Perm()), remedy)
}

// pins reports whether the config uses any of the board's own pins.
func (e *examination) pins() bool {
	p := e.cfg.Pins
	used := p.Lamp != "" || p.Buzzer != "" || p.Button != ""
	for _, one := range e.cfg.Presses {
		used = used || one.Pump.Pin != ""
	}
	return used
}

// all are the sensors of all presses.
func (e *examination) all() []config.Sensor {
	var list []config.Sensor
	for _, p := range e.cfg.Presses {
		list = append(list, p.Sensors...)
	}
	return list
}

// anyOn reports whether a configured sensor is of a kind.
func (e *examination) anyOn(kind func(config.Sensor) bool) bool {
	return slices.ContainsFunc(e.all(), kind)
}

// i2c reports whether a sensor's driver speaks I²C: it has an address there.
func i2c(s config.Sensor) bool {
	d, err := drivers.Find(s.Driver)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(d.Options, func(o drivers.Option) bool { return o.Key == "address" })
}
