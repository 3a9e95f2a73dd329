package scan

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/nightclamp/nightclamp/sensor/sysfs"
)

func (o Options) path(below string) string {
	root := o.Root
	if root == "" {
		root = "/"
	}
	return filepath.Join(root, below)
}

func (o Options) glob(pattern string) []string {
	list, err := filepath.Glob(o.path(pattern))
	if err != nil { // only for a bad pattern, and these are not
		return nil
	}
	return list
}

// read is a file's text without its line end; empty when it cannot be read.
func (o Options) read(folder, file string) string {
	text, err := os.ReadFile(filepath.Join(o.path(folder), file))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(text))
}

// oneWire lists the parts of the kernel's 1-wire bus.
func (o Options) oneWire(r *Report) {
	const folder = "sys/bus/w1/devices"
	if _, err := os.Stat(o.path(folder)); err != nil {
		r.did("1-wire: the kernel has no such bus. For a DS18B20, switch it on (on many boards dtoverlay=w1-gpio) and restart.")
		return
	}
	r.did("1-wire: looked at the kernel's list; nothing was sent.")
	for _, path := range o.glob(folder + "/*-*") {
		id := filepath.Base(path)
		f := Find{Where: "1-wire " + id, What: "a part of another family than the DS18B20", Drivers: []string{}}
		if strings.HasPrefix(id, "28-") {
			f.What, f.Drivers = "a DS18B20", []string{"ds18b20"}
			f.Config = table("ds18b20", fmt.Sprintf("id = %q", id), `as = "glueline"`)
			f.Note = `Lay it in the glue line or on its outside; as = "air" for the room. Warm it in the hand and read it to see which it is.`
		}
		r.Finds = append(r.Finds, f)
	}
}

// iio lists the devices of the kernel's IIO subsystem.
func (o Options) iio(r *Report) {
	r.did("IIO and hwmon: looked at which files the kernel's drivers offer.")
	paths := o.glob("sys/bus/iio/devices/iio:device*")
	names := names(paths)
	for i, path := range paths {
		device := distinct(names, i, filepath.Base(path))
		pressure, temperature := hasChannel(path, "pressure"), hasChannel(path, "temp")
		f := Find{Where: "IIO " + filepath.Base(path), What: orUnnamed(names[i]), Drivers: []string{}}
		humidity := hasChannel(path, "humidityrelative")
		if !pressure && !temperature && !humidity {
			f.Note = "It has neither pressure nor temperature nor humidity."
			r.Finds = append(r.Finds, f)
			continue
		}
		f.Drivers = []string{"iio"}
		lines := []string{fmt.Sprintf("device = %q", device), `pressure = "none"`, `temperature = "none"`}
		if pressure {
			lines[1] = `pressure = "ambient"`
			f.Note = `A barometer stays in the room. pressure = "bag" is for a part that really measures the bag line.`
		}
		if temperature {
			lines[2] = `temperature = "air"`
		}
		if humidity {
			lines = append(lines, `humidity = true`)
		}
		f.Config = table("iio", lines...)
		r.Finds = append(r.Finds, f)
	}
}

// hasChannel follows the forms that the driver iio reads.
func hasChannel(folder, kind string) bool {
	for _, n := range []string{"", "0", "1"} {
		if sysfs.Has(folder, "in_"+kind+n+"_input") || sysfs.Has(folder, "in_"+kind+n+"_raw") {
			return true
		}
	}
	return false
}

// boardsOwn are hwmon drivers of the board or the computer itself.
func boardsOwn() []string {
	return []string{
		"cpu_thermal", "gpu_thermal", "soc_thermal", "rpi_volt", "coretemp", "k10temp", "acpitz", "nvme", "drivetemp",
		"amdgpu", "nouveau", "iwlwifi_1", "iwlwifi_2", "pch_cannonlake", "rp1_adc",
	}
}

// hwmon lists the thermometers of the kernel's hwmon subsystem.
func (o Options) hwmon(r *Report) {
	paths := o.glob("sys/class/hwmon/hwmon*")
	names := names(paths)
	for i, path := range paths {
		f := Find{Where: "hwmon " + filepath.Base(path), What: orUnnamed(names[i]), Drivers: []string{}}
		inputs, _ := filepath.Glob(filepath.Join(path, "temp*_input")) //nolint:errcheck // the pattern is good
		switch {
		case slices.Contains(boardsOwn(), names[i]):
			f.Note = "It is the board's own, and no thermometer of a shop."
		case len(inputs) == 0:
			f.Note = "It has no temperature."
		default:
			f.Drivers = []string{"hwmon"}
			lines := []string{
				fmt.Sprintf("device = %q", distinct(names, i, filepath.Base(path))),
				fmt.Sprintf("input = %q", filepath.Base(inputs[0])), `as = "air"`,
			}
			if sysfs.Has(path, "humidity1_input") {
				lines = append(lines, `humidity = true`)
			}
			f.Config = table("hwmon", lines...)
			f.Note = "Be sure that it lies in the room, and not on the board."
		}
		r.Finds = append(r.Finds, f)
	}
}

func names(paths []string) []string {
	list := make([]string, len(paths))
	for i, p := range paths {
		if text, err := os.ReadFile(filepath.Join(p, "name")); err == nil {
			list[i] = strings.TrimSpace(string(text))
		}
	}
	return list
}

// distinct is the name of device i where no other has it, which survives a
// restart; else its number.
func distinct(names []string, i int, folder string) string {
	same := 0
	for _, n := range names {
		if n == names[i] {
			same++
		}
	}
	if names[i] == "" || same > 1 {
		return folder
	}
	return names[i]
}

func orUnnamed(name string) string {
	if name == "" {
		return "a device without a name"
	}
	return name
}

// serial lists the serial ports, by the name that survives a restart where
// there is one. None is opened: that would reset many microcontrollers.
func (o Options) serial(r *Report) {
	r.did("Serial ports: listed, not opened: opening one resets many microcontrollers.")
	named := map[string]bool{}
	var ports []string
	for _, link := range o.glob("dev/serial/by-id/*") {
		ports = append(ports, link)
		if target, err := filepath.EvalSymlinks(link); err == nil {
			named[filepath.Base(target)] = true
		}
	}
	for _, pattern := range []string{"dev/ttyUSB*", "dev/ttyACM*", "dev/ttyAMA*"} {
		for _, port := range o.glob(pattern) {
			if !named[filepath.Base(port)] {
				ports = append(ports, port)
			}
		}
	}
	for _, port := range ports {
		name := "/" + strings.TrimPrefix(strings.TrimPrefix(port, o.path("")), "/")
		r.Finds = append(r.Finds, Find{
			Where: "serial port", What: name, Drivers: []string{"serial"},
			Config: table("serial", fmt.Sprintf("port = %q", name), `reads = ["bag"]`),
			Note:   "Only for a microcontroller that prints readings; what its lines must be: nightclamp sensor list serial.",
		})
	}
}
