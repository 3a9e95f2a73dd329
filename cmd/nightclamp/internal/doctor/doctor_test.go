package doctor_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/doctor"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/press/wire"
	"github.com/nightclamp/nightclamp/sensor"
)

var evening = time.Date(2026, time.October, 17, 19, 40, 0, 0, time.UTC)

// bench is a machine and a config on which all is well; a case spoils one thing.
type bench struct {
	t       *testing.T
	machine doctor.Machine
	cfg     *config.Config
	broken  error
	says    map[string]sensor.Sample // by driver
	silent  map[string]error         // by driver
	taken   map[string]bool          // addresses that somebody listens on
	dead    map[string]bool          // addresses that nobody answers at
	daemon  *daemonDouble            // nil: none runs
}

// daemonDouble answers as a daemon does.
type daemonDouble struct {
	version  string
	statuses []press.Status
	ways     []press.WayHealth
	tried    []press.Tried
	err      error
}

func (d *daemonDouble) Version(context.Context) (wire.Version, error) {
	return wire.Version{Version: d.version}, nil
}

func (d *daemonDouble) Status(context.Context, string) ([]press.Status, error) {
	return d.statuses, d.err
}
func (d *daemonDouble) Ways(context.Context) ([]press.WayHealth, error) { return d.ways, d.err }
func (d *daemonDouble) TestWays(context.Context) ([]press.Tried, error) { return d.tried, d.err }
func (*daemonDouble) Close()                                            {}

const wellConfig = `site = "boatshed"
[defaults]
glue = "pva-d3"
[[alert.way]]
name = "phone"
url = "ntfy://ntfy.example.org/sled"
[[press]]
name = "sled"
[[press.sensor]]
driver = "mpr"
bus = "1"
[[press.sensor]]
driver = "bme280"
[[press.sensor]]
driver = "ds18b20"
`

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{t: t, says: map[string]sensor.Sample{}, silent: map[string]error{}, taken: map[string]bool{}, dead: map[string]bool{}}
	b.machine = doctor.Machine{
		Root: t.TempDir(), User: "nightclamp", Version: "1.2.3",
		Now: func() time.Time { return evening }, ClockSet: func() bool { return true },
		Space: func(string) (uint64, uint64, error) { return 20 << 30, 32 << 30, nil },
		Read: func(_ context.Context, s config.Sensor) (sensor.Sample, error) {
			return b.says[s.Driver], b.silent[s.Driver]
		},
		Dial: func(_ context.Context, _, address string) (net.Conn, error) {
			if b.dead[address] {
				return nil, fmt.Errorf("dial tcp: %w", errors.New("connection refused"))
			}
			near, far := net.Pipe()
			return near, far.Close()
		},
		Listen: func(address string) error {
			if b.taken[address] {
				return errors.New("address already in use")
			}
			return nil
		},
		Reach: func(context.Context) (doctor.Daemon, error) {
			if b.daemon == nil {
				return nil, errors.New("no nightclamp answers")
			}
			return b.daemon, nil
		},
		Ways: func(list []alert.Way) (alert.Ways, error) {
			return alert.NewWays(list, slog.New(slog.DiscardHandler))
		},
	}
	uid, gid := os.Getuid(), os.Getgid()
	b.files(map[string]string{
		"etc/passwd":                                          fmt.Sprintf("root:x:0:0::/root:/bin/sh\nnightclamp:x:%d:%d:daemon:/var/lib/nightclamp:/usr/sbin/nologin\n", uid+4000, gid+4000),
		"etc/group":                                           fmt.Sprintf("root:x:0:\ni2c:x:%d:nightclamp\nnightclamp:x:%d:\n", gid, gid+4000),
		"dev/i2c-1":                                           "",
		"sys/bus/i2c/devices/i2c-1/.":                         "",
		"sys/bus/w1/devices/28-0316/.":                        "",
		"sys/bus/w1/devices/w1_bus_master1/.":                 "",
		"sys/class/rtc/rtc0/since_epoch":                      strconv.FormatInt(evening.Unix(), 10) + "\n",
		"sys/class/hwmon/hwmon1/name":                         "rpi_volt\n",
		"sys/class/hwmon/hwmon1/in0_lcrit_alarm":              "0\n",
		"sys/class/thermal/thermal_zone0/temp":                "48312\n",
		"sys/devices/platform/soc/soc:firmware/get_throttled": "0\n",
		"sys/block/mmcblk0/device/life_time":                  "0x01 0x02\n",
		"proc/self/mounts":                                    "/dev/mmcblk0p2 / ext4 rw,noatime 0 0\nproc /proc proc rw 0 0\n",
		"proc/net/route":                                      "Iface\tDestination\tGateway\nwlan0\t00000000\t0101A8C0\n",
		"var/lib/nightclamp/.":                                "",
	})
	b.mode("dev/i2c-1", 0o660)
	b.mode("var/lib/nightclamp", 0o770)
	b.settings(wellConfig)
	bag, room, probe := sensor.Blank(evening), sensor.Blank(evening), sensor.Blank(evening)
	bag.Bag, room.Ambient, room.Air, probe.GlueLine = 101290, 101300, 11.5, 11.2
	b.says["mpr"], b.says["bme280"], b.says["ds18b20"] = bag, room, probe
	b.daemon = &daemonDouble{
		version: "1.2.3", ways: []press.WayHealth{{Name: "phone"}},
		statuses: []press.Status{{Press: "sled", Time: evening.Add(-time.Second), Stage: press.Idle}},
	}
	b.taken["127.0.0.1:9120"], b.taken["127.0.0.1:4222"] = true, true
	return b
}

// files writes files below the root; a name that ends in /. is a folder.
func (b *bench) files(all map[string]string) {
	b.t.Helper()
	for name, text := range all {
		path := filepath.Join(b.machine.Root, name)
		if strings.HasSuffix(name, "/.") {
			if err := os.MkdirAll(path, 0o755); err != nil {
				b.t.Fatal(err)
			}
			continue
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			b.t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			b.t.Fatal(err)
		}
	}
}

func (b *bench) mode(name string, mode os.FileMode) {
	b.t.Helper()
	if err := os.Chmod(filepath.Join(b.machine.Root, name), mode); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) remove(names ...string) {
	b.t.Helper()
	for _, name := range names {
		if err := os.RemoveAll(filepath.Join(b.machine.Root, name)); err != nil {
			b.t.Fatal(err)
		}
	}
}

// settings takes a config's text, which need not be in a file.
func (b *bench) settings(text string) {
	b.t.Helper()
	cfg, err := config.Parse("shed.toml", []byte(text), config.BuiltIn())
	if err != nil {
		b.t.Fatal(err)
	}
	cfg.Data = "/var/lib/nightclamp"
	b.cfg = cfg
}

func (b *bench) also(text string) { b.t.Helper(); b.settings(text + wellConfig) }

func (b *bench) examine() doctor.Report {
	return b.machine.Examine(b.t.Context(), b.cfg, b.broken)
}

func TestAllIsWell(t *testing.T) {
	b := newBench(t)
	store, err := record.Open(t.Context(), filepath.Join(b.machine.Root, "var/lib/nightclamp", doctor.Database), record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	r := b.examine()
	if r.State != doctor.OK || r.User != "nightclamp" {
		t.Errorf("state %s for %s", r.State, r.User)
	}
	areas := map[string]bool{}
	for _, f := range r.Findings {
		areas[f.Area] = true
		if f.State != doctor.OK || f.Remedy != "" {
			t.Errorf("%+v", f)
		}
	}
	for _, area := range []string{"config", "permissions", "buses", "sensors", "clock", "disk", "record", "power", "network", "notification", "datasheets", "daemon"} {
		if !areas[area] {
			t.Errorf("nothing is said of %s", area)
		}
	}
}

// TestFindings spoils one thing at a time.
func TestFindings(t *testing.T) {
	for _, c := range findings() {
		t.Run(strings.ReplaceAll(c.name, " ", "-"), func(t *testing.T) {
			t.Parallel()
			b := newBench(t)
			c.spoil(b)
			r := b.examine()
			found := false
			for _, f := range r.Findings {
				found = found || (f.Area == c.area && f.State == c.state && strings.Contains(f.What, c.what) && strings.Contains(f.Remedy, c.remedy))
				if (f.Remedy == "") != (f.State == doctor.OK) {
					t.Errorf("a finding that is not ok has a remedy, one that is has none: %+v", f)
				}
				if strings.ContainsAny(f.What+f.Remedy, "\n\t") || strings.Contains(f.What+f.Remedy, b.machine.Root) && f.Area != "datasheets" && f.Area != "record" && !strings.Contains(f.What, "calibration") {
					t.Errorf("not one line, or with the root in it: %+v", f)
				}
			}
			if !found {
				t.Errorf("want %s %s %q with %q, found", c.area, c.state, c.what, c.remedy)
				for _, f := range r.Findings {
					t.Errorf("  %+v", f)
				}
			}
			if c.state == doctor.Wrong && r.State != doctor.Wrong || c.state == doctor.Attention && r.State == doctor.OK {
				t.Errorf("the whole is %s", r.State)
			}
		})
	}
}

func pressureOf(text string) units.Pressure {
	var p units.Pressure
	if err := p.UnmarshalText([]byte(text)); err != nil {
		panic(err)
	}
	return p
}
