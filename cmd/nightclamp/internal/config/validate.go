package config

import (
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press/units"
)

// validate checks what the words mean.
func (f *faults) validate(c *Config, drivers Drivers) {
	f.name("site", c.Site)
	if c.Data == "" {
		f.at("data", "data is empty; name the folder of the record, or leave the key out")
	}
	f.display(c.Display)
	f.http(&c.HTTP)
	f.nats(&c.NATS)
	if c.NATS.URL == "" && c.HTTP.Listen == c.NATS.Listen && !strings.HasSuffix(c.HTTP.Listen, ":0") {
		f.at("nats.listen", "nats.listen and http.listen are both %s; give one of them another port", c.HTTP.Listen)
	}
	f.between("record.bucket", c.Record.Bucket, time.Second, 10*time.Minute)
	f.flush(c.Record)
	f.station(c.StationPressure)
	f.glueFolder(c)
	f.floor("defaults.floor", c.Defaults.Floor, c)
	f.glue("defaults.glue", c.Defaults.Glue, c)
	f.shop(c.Shop)
	f.presses(c, drivers)
	f.wiring(c, drivers)
	f.pins(c)
	f.ways(c)
	f.elsewhere(&c.Alert)
}

// flush bounds what a power cut may cost, and without a ramdisk what a crash may.
func (f *faults) flush(r Record) {
	if r.Ramdisk == "" && r.Flush.Std() > time.Hour {
		f.at("record.flush", "record.flush %v: use 1s to 1h, because a crash would cost as much; up to 12h with record.ramdisk", r.Flush)
		return
	}
	f.between("record.flush", r.Flush, time.Second, 12*time.Hour)
}

func (f *faults) display(d Display) {
	if _, err := time.LoadLocation(d.Timezone); err != nil {
		f.at("display.timezone", "display.timezone %q is not known; write a name such as Europe/Oslo, UTC, or Local for that of this machine (where no name is known, install tzdata)", d.Timezone)
	}
	if d.Clock != clock24 && d.Clock != clock12 {
		f.at("display.clock", "display.clock %q is not known; write %q or %q", d.Clock, clock24, clock12)
	}
}

// name checks what becomes one part of a NATS subject, a label and a part of a
// file name.
func (f *faults) name(path, name string) {
	tidy := strings.Map(func(r rune) rune {
		if r == '-' || r == '_' || (r >= '0' && r <= '9') || (r >= 'a' && r <= 'z') || (r >= 'A' && r <= 'Z') {
			return r
		}
		return '-'
	}, name)
	switch {
	case name == "":
		f.at(path, "%s is empty; give it 1 to 64 letters, digits, - or _", path)
	case len(name) > 64:
		f.at(path, "%s has %d characters; at most 64", path, len(name))
	case tidy != name:
		f.at(path, "%s %q: use letters a-z, digits, - and _ only, for example %q", path, name, tidy)
	}
}

func (f *faults) listen(path, address string) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		f.at(path, "%s %q: write host:port, such as 127.0.0.1:9120, or :9120 for every network of this machine", path, address)
		return
	}
	if n, err := strconv.Atoi(port); err != nil || n < 0 || n > 65535 {
		f.at(path, "%s %q: the port must be a number up to 65535", path, address)
	}
	if strings.ContainsAny(host, " /") {
		f.at(path, "%s %q: %q is no host", path, address, host)
	}
}

func (f *faults) between(path string, d units.Duration, low, high time.Duration) {
	if d.Std() < low || d.Std() > high {
		f.at(path, "%s %s: use %s to %s", path, d, units.Duration(low), units.Duration(high))
	}
}

// Nobody presses wood higher than 5500 m or deeper than the lowest shore; what
// lies outside is a slip of the unit.
const (
	leastStation units.Pressure = 50e3
	mostStation  units.Pressure = 110e3
)

func (f *faults) station(p units.Pressure) {
	if f.doc.has("station_pressure") && (p < leastStation || p > mostStation) {
		f.at("station_pressure", "station_pressure %s: use the absolute pressure of the room, %s to %s", p, leastStation, mostStation)
	}
}

// leastFloor is a vacuum that clamps nothing; below it the unit is wrong.
const leastFloor units.Pressure = 1e3

// standardAtmosphere is the most that a room at sea level is taken to have.
const standardAtmosphere units.Pressure = 101325

func (f *faults) floor(path string, floor units.Pressure, c *Config) {
	room, whose := standardAtmosphere, "the standard atmosphere at sea level"
	if f.doc.has("station_pressure") {
		room, whose = c.StationPressure, "station_pressure"
	}
	switch {
	case floor < leastFloor:
		f.at(path, "%s %s clamps nothing; it is the vacuum that must not be lost, such as %q", path, floor, "65kPa")
	case floor >= room:
		f.at(path, "%s %s cannot be had: no vacuum is more than the pressure of the room, %s (%s)", path, floor, room, whose)
	}
}

func (f *faults) glueFolder(c *Config) {
	if c.GlueFolder == "" {
		return
	}
	if info, err := os.Stat(c.GlueFolder); err != nil || !info.IsDir() {
		f.at("glue_folder", "glue_folder %q is no folder that can be read; make it, or leave the key out", c.GlueFolder)
	}
}

// Glue returns what to load for an adhesive of this name: the user's own
// datasheet in GlueFolder if there is one, else the name as it is, which is a
// built-in datasheet's or a path.
func (c *Config) Glue(name string) string {
	if c.GlueFolder == "" || name == "" || strings.ContainsAny(name, `/\`) {
		return name
	}
	own := filepath.Join(c.GlueFolder, strings.TrimSuffix(name, ".toml")+".toml")
	if _, err := os.Stat(own); err != nil {
		return name
	}
	return own
}
