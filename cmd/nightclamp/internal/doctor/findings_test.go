package doctor_test

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/doctor"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
)

// finding is one thing that is spoilt, and what is to be said of it.
type finding struct {
	name         string
	spoil        func(*bench)
	area         string
	state        doctor.State
	what, remedy string
}

func findings() []finding {
	all := machineFindings()
	all = append(all, diskFindings()...)
	all = append(all, outsideFindings()...)
	return append(all, configFindings()...)
}

func machineFindings() []finding {
	const ok, attention, wrong = doctor.OK, doctor.Attention, doctor.Wrong
	return []finding{
		{"not in the group", func(b *bench) {
			b.files(map[string]string{"etc/group": "i2c:x:" + strconv.Itoa(os.Getgid()) + ":\n"})
		}, "permissions", wrong, "nightclamp may not use /dev/i2c-1 (group i2c", "usermod -aG i2c nightclamp"},
		{"no group may", func(b *bench) { b.mode("dev/i2c-1", 0o600) }, "permissions", wrong, "may not use /dev/i2c-1", "udev rule 60-nightclamp.rules"},
		{"serial port gone", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"serial\"\nport = \"/dev/ttyUSB7\"\n")
		}, "permissions", wrong, "/dev/ttyUSB7 is not there", "plug it in"},
		{"serial port closed", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"serial\"\nport = \"/dev/ttyUSB0\"\n")
			b.files(map[string]string{"dev/ttyUSB0": ""})
			b.mode("dev/ttyUSB0", 0o600)
		}, "permissions", wrong, "may not use /dev/ttyUSB0", "udev rule"},
		{"pins closed", func(b *bench) {
			b.settings(wellConfig + "[pins]\nlamp = \"GPIO23\"\n")
			b.files(map[string]string{"dev/gpiochip0": ""})
			b.mode("dev/gpiochip0", 0o600)
		}, "permissions", wrong, "may not use /dev/gpiochip0", "subsystem-match=gpio"},
		{"no pins", func(b *bench) {
			b.settings(wellConfig + "[press.pump]\npin = \"GPIO25\"\n")
		}, "permissions", wrong, "there is no /dev/gpiochip*", "[press.pump]"},
		{"no device needed", func(b *bench) { b.settings("[[press]]\n[[press.sensor]]\ndriver = \"sim\"\n") }, "permissions", ok, "no device has to be opened", ""},

		{"no i2c", func(b *bench) { b.remove("dev/i2c-1", "sys/bus/i2c") }, "buses", wrong, "no I²C bus", "dtparam=i2c_arm=on"},
		{"no i2c-dev", func(b *bench) { b.remove("dev/i2c-1") }, "buses", wrong, "no I²C bus", "modprobe i2c-dev"},
		{"other bus", func(b *bench) { b.settings(strings.Replace(wellConfig, `bus = "1"`, `bus = "5"`, 1)) }, "buses", wrong, "there is no /dev/i2c-5", "there are /dev/i2c-1"},
		{"no 1-wire", func(b *bench) { b.remove("sys/bus/w1") }, "buses", wrong, "no 1-wire bus", "dtoverlay=w1-gpio"},
		{"no 1-wire master", func(b *bench) { b.remove("sys/bus/w1/devices/w1_bus_master1") }, "buses", wrong, "no master", "dtoverlay=w1-gpio"},
		{"no probe", func(b *bench) { b.remove("sys/bus/w1/devices/28-0316") }, "buses", wrong, "no DS18B20 answers", "4.7 kΩ"},
		{"no iio", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"iio\"\ndevice = \"bmp280\"\npressure = \"ambient\"\n")
		}, "buses", wrong, "drives no IIO part", "dtoverlay"},

		{"no sensor", func(b *bench) { b.settings("site = \"shed\"\n") }, "sensors", wrong, "no sensor is configured", "sensor scan"},
		{"silent", func(b *bench) { b.silent["mpr"] = errors.New("remote I/O error") }, "sensors", wrong, "mpr of press sled (mpr) does not answer: remote I/O error", "supply and ground"},
		{"silent with remedy", func(b *bench) { b.silent["mpr"] = errors.New("no bus; enable I²C") }, "sensors", wrong, "enable I²C", "do what it says"},
		{"knows nothing", func(b *bench) { b.says["ds18b20"] = sensor.Blank(evening) }, "sensors", attention, "knows nothing yet", "sensor read --watch"},
		{"no bag", func(b *bench) { b.settings("[[press]]\nname = \"sled\"\n[[press.sensor]]\ndriver = \"bme280\"\n") }, "sensors", wrong, "no sensor reads the bag", "sensor scan"},
		{"no barometer", func(b *bench) { b.settings("[[press]]\n[[press.sensor]]\ndriver = \"mpr\"\n") }, "sensors", attention, "no barometer", "station_pressure"},
		{"station pressure", func(b *bench) {
			b.settings("station_pressure = \"955hPa\"\n[[press]]\n[[press.sensor]]\ndriver = \"mpr\"\n")
		}, "sensors", attention, "stands in", "add a barometer"},
		{"no probe configured", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"mpr\"\n[[press.sensor]]\ndriver = \"bme280\"\n")
		}, "sensors", attention, "guessed from the air", "lay a probe"},
		{"no thermometer", func(b *bench) { b.settings("[[press]]\n[[press.sensor]]\ndriver = \"mpr\"\n") }, "sensors", attention, "no thermometer at all", "lay a probe"},
		{"barometer on the bag line", func(b *bench) { s := b.says["bme280"]; s.Ambient = 30000; b.says["bme280"] = s }, "sensors", wrong, "which no workshop has", "rather than on the bag line"},
		{"sea level", func(b *bench) { b.also("station_pressure = \"955hPa\"\n") }, "sensors", attention, "station_pressure 96 kPa", "not reduced to sea level"},
		{"wrong range", func(b *bench) { s := b.says["mpr"]; s.Bag = 172000; b.says["mpr"] = s }, "sensors", wrong, "above the room", "range or kind"},
		{"zero off", func(b *bench) { s := b.says["mpr"]; s.Bag = 101300 + 900; b.says["mpr"] = s }, "sensors", attention, "above the room", "calibrate zero"},
		{"gauge without barometer", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"ads1115\"\n")
			b.says["ads1115"] = sensor.FromVacuum(evening, 80e3)
		}, "sensors", attention, "1.2 kPa for every 100 m", "set station_pressure"},
		{"gauge and station pressure", func(b *bench) {
			b.settings("station_pressure = \"955hPa\"\n[[press]]\n[[press.sensor]]\ndriver = \"ads1115\"\n")
			b.says["ads1115"] = sensor.FromVacuum(evening, 80e3)
		}, "sensors", attention, "leaves the absolute pressure wrong by up to 3 kPa", "add a barometer"},
		{"gauge says what it measures", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"ads1115\"\n")
			b.says["ads1115"] = sensor.FromVacuum(evening, 80e3)
		}, "sensors", ok, "says vacuum 80 kPa", ""},
		{"wireless and silent", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"nats\"\nsubject = \"shed.deck\"\n")
			b.silent["nats"] = errors.New("no line came")
		}, "sensors", wrong, "no line came", "charged and in reach"},
		{"calibrated", func(b *bench) {
			s := b.says["mpr"]
			s.Bag = 101300 + 900
			b.says["mpr"] = s
			b.files(map[string]string{"var/lib/nightclamp/calibration.json": `{"schema":1,"entries":[{"press":"sled","sensor":"mpr","quantity":"bag","kind":"zero","offset_pa":-900}]}`})
		}, "sensors", ok, "says bag 101 kPa", ""},
		{"calibration broken", func(b *bench) {
			b.files(map[string]string{"var/lib/nightclamp/calibration.json": "{"})
		}, "sensors", wrong, "calibration", "calibrate list"},
		{"serial beside the daemon", func(b *bench) {
			b.settings("[[press]]\n[[press.sensor]]\ndriver = \"serial\"\nport = \"/dev/ttyUSB0\"\n")
			b.silent["serial"] = errors.New("it was opened")
		}, "sensors", ok, "is read by the daemon", ""},

		{"clock never set", func(b *bench) { b.machine.Now = func() time.Time { return time.Unix(60, 0) } }, "clock", wrong, "the clock shows 1970", "timedatectl"},
		{"clock unset", func(b *bench) { b.machine.ClockSet = func() bool { return false } }, "clock", attention, "no time service", "timedatectl"},
		{"no clock chip", func(b *bench) { b.remove("sys/class/rtc") }, "clock", ok, "no battery-backed clock", ""},
		{"clock chip off", func(b *bench) { b.files(map[string]string{"sys/class/rtc/rtc0/since_epoch": "1000\n"}) }, "clock", attention, "is off by", "hwclock --systohc"},
		{"clock chip dead", func(b *bench) { b.files(map[string]string{"sys/class/rtc/rtc0/since_epoch": ""}) }, "clock", attention, "cannot be read", "battery"},
		{"clock behind the record", func(b *bench) { b.run(evening.Add(time.Hour)) }, "clock", wrong, "behind the newest run", "set the clock"},

		{"undervoltage", func(b *bench) { b.files(map[string]string{"sys/class/hwmon/hwmon1/in0_lcrit_alarm": "1\n"}) }, "power", wrong, "voltage is too low", "supply and the cable"},
		{"undervoltage now", func(b *bench) { b.throttled("50005") }, "power", wrong, "too low now", "supply and the cable"},
		{"undervoltage once", func(b *bench) { b.throttled("50000") }, "power", attention, "was too low since", "supply and the cable"},
		{"slowed", func(b *bench) { b.throttled("4") }, "power", attention, "slowed the board down now", "give it air"},
		{"slowed once", func(b *bench) { b.throttled("0x40000") }, "power", attention, "slowed the board down since", "give it air"},
		{"another board", func(b *bench) { b.remove("sys/class/hwmon", "sys/devices/platform") }, "power", ok, "tells nothing of the supply", ""},
		{"warm", func(b *bench) { b.files(map[string]string{"sys/class/thermal/thermal_zone1/temp": "71000\n"}) }, "power", attention, "the board is at 71.0 °C", "give it air"},
		{"hot", func(b *bench) { b.files(map[string]string{"sys/class/thermal/thermal_zone1/temp": "84000\n"}) }, "power", wrong, "the board is at 84.0 °C", "slows down"},
	}
}

func (b *bench) throttled(bits string) {
	b.files(map[string]string{"sys/devices/platform/soc/soc:firmware/get_throttled": bits + "\n"})
}

func (b *bench) mounts(kind, options string) {
	b.files(map[string]string{"proc/self/mounts": "/dev/mmcblk0p2 / ext4 rw 0 0\nx /var/lib " + kind + " " + options + " 0 0\n"})
}

// run keeps a run that began at a time in the record.
func (b *bench) run(started time.Time) {
	b.t.Helper()
	store, err := record.Open(b.t.Context(), b.database(), record.Options{})
	if err != nil {
		b.t.Fatal(err)
	}
	defer store.Close()
	if err := store.PutRun(b.t.Context(), record.Run{ID: "sled-1", Press: "sled", Started: started}); err != nil {
		b.t.Fatal(err)
	}
}

// unlogged has that run wait for the build log, after a try that failed.
func (b *bench) unlogged(why string) {
	b.t.Helper()
	store, err := record.Open(b.t.Context(), b.database(), record.Options{})
	if err != nil {
		b.t.Fatal(err)
	}
	defer store.Close()
	run, err := store.Run(b.t.Context(), "sled-1")
	if err != nil {
		b.t.Fatal(err)
	}
	if err := store.Commit(b.t.Context(), record.Batch{Run: &run, Due: true}); err != nil {
		b.t.Fatal(err)
	}
	if err := store.Logged(b.t.Context(), run.ID, errors.New(why)); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) database() string {
	return filepath.Join(b.machine.Root, "var/lib/nightclamp", doctor.Database)
}

func diskFindings() []finding {
	const ok, attention, wrong = doctor.OK, doctor.Attention, doctor.Wrong
	return []finding{
		{"data is closed", func(b *bench) { b.mode("var/lib/nightclamp", 0o700) }, "disk", wrong, "nightclamp may not write the data folder", "chown -R nightclamp:"},
		{"data is a file", func(b *bench) {
			b.remove("var/lib/nightclamp")
			b.files(map[string]string{"var/lib/nightclamp": ""})
		}, "disk", wrong, "is a file", "set data"},
		{"data is made by systemd", func(b *bench) { b.remove("var/lib/nightclamp") }, "disk", ok, "is made when the daemon first starts", ""},
		{"data cannot be made", func(b *bench) { b.cfg.Data = "/srv/press/record" }, "disk", wrong, "may not make it", "install -d -o nightclamp"},
		{"read-only", func(b *bench) { b.mounts("ext4", "ro,relatime") }, "disk", wrong, "mounted read-only", "Read-only root"},
		{"ramdisk", func(b *bench) { b.mounts("tmpfs", "rw") }, "disk", attention, "on a ramdisk", "set data"},
		{"rows on a ramdisk", func(b *bench) {
			b.cfg.Record.Ramdisk = "/var/lib/nightclamp"
			b.mounts("tmpfs", "rw")
		}, "disk", ok, "rows wait on the ramdisk /var/lib/nightclamp, and go to the disk every 2m", ""},
		{"rows on no ramdisk", func(b *bench) { b.cfg.Record.Ramdisk = "/var/lib/nightclamp" }, "disk", attention, "is on ext4: every row wears", "name a folder on a tmpfs"},
		{"ramdisk is not there", func(b *bench) { b.cfg.Record.Ramdisk = "/run/nightclamp" }, "disk", attention, "/run/nightclamp is not there", "name that"},
		{"over the network", func(b *bench) { b.mounts("nfs4", "rw") }, "disk", wrong, "network's file system", "record backup"},
		{"no journal", func(b *bench) { b.mounts("vfat", "rw") }, "disk", attention, "no journal", "ext4"},
		{"full", func(b *bench) {
			b.machine.Space = func(string) (uint64, uint64, error) { return 9 << 20, 8 << 30, nil }
		}, "disk", wrong, "only 9 MB", "free some space"},
		{"nearly full", func(b *bench) {
			b.machine.Space = func(string) (uint64, uint64, error) { return 90 << 20, 8 << 30, nil }
		}, "disk", attention, "90 MB of 8192", "free some space"},
		{"space unknown", func(b *bench) {
			b.machine.Space = func(string) (uint64, uint64, error) { return 0, 0, errors.New("stale") }
		}, "disk", attention, "cannot be found out: stale", "df"},
		{"worn", func(b *bench) { b.files(map[string]string{"sys/block/mmcblk0/device/life_time": "0x01 0x0a\n"}) }, "disk", attention, "used up 100 %", "replace the card"},

		{"build log", func(b *bench) { b.run(evening); b.cfg.Record.BuildLog = "/srv/log" }, "record", ok, "has every run", ""},
		{"build log closed", func(b *bench) {
			b.run(evening)
			b.unlogged("no space left on device")
			b.cfg.Record.BuildLog = "/srv/log"
		}, "record", attention, "no space left on device", "ReadWritePaths"},
		{"no record yet", func(*bench) {}, "record", ok, "there is none yet", ""},
		{"damaged", func(b *bench) {
			b.run(evening)
			text, err := os.ReadFile(b.database())
			if err != nil {
				b.t.Fatal(err)
			}
			for i := 2048; i < len(text); i++ {
				text[i] ^= 0x5a
			}
			if err := os.WriteFile(b.database(), text, 0o600); err != nil {
				b.t.Fatal(err)
			}
		}, "record", wrong, "the record is damaged", "record restore"},
		{"not a record", func(b *bench) {
			b.files(map[string]string{"var/lib/nightclamp/nightclamp.db": strings.Repeat("x", 9000)})
		}, "record", wrong, "damaged", "record restore"},
		{"set aside", func(b *bench) {
			b.files(map[string]string{"var/lib/nightclamp/nightclamp.db.corrupt-20261001T010203Z": ""})
		}, "record", attention, "was set aside", "carried over"},
	}
}

func outsideFindings() []finding {
	const ok, attention, wrong = doctor.OK, doctor.Attention, doctor.Wrong
	return []finding{
		{"port taken", func(b *bench) { b.daemon = nil }, "network", wrong, "the page cannot listen on 127.0.0.1:9120", "http.listen"},
		{"port free", func(b *bench) { b.daemon = nil; b.taken = nil }, "network", ok, "is free for the NATS server", ""},
		{"another config", func(b *bench) { b.taken["127.0.0.1:9120"] = false }, "network", attention, "nothing listens on 127.0.0.1:9120", "restart nightclamp"},
		{"nats joined", func(b *bench) { b.also("nats.url = \"nats://shop-server\"\n"); b.daemon = nil }, "network", ok, "reached at shop-server:4222", ""},
		{"nats away", func(b *bench) {
			b.also("nats.url = \"nats://shop-server\"\n")
			b.daemon, b.dead["shop-server:4222"] = nil, true
		}, "network", wrong, "the NATS server cannot be reached at shop-server:4222: connection refused", "nats.url"},
		{"nats answers", func(b *bench) { b.also("nats.url = \"nats://shop-server\"\n") }, "network", ok, "the NATS server answers", ""},
		{"no route", func(b *bench) { b.files(map[string]string{"proc/net/route": "Iface\tDestination\n"}) }, "network", wrong, "no way out", "connect the network"},
		{"no route needed", func(b *bench) {
			b.files(map[string]string{"proc/net/route": "Iface\tDestination\n"})
			b.cfg.Alert.Ways = nil
		}, "network", attention, "no way out", "buzzer"},
		{"ipv6 alone", func(b *bench) {
			zero := strings.Repeat("0", 32)
			b.files(map[string]string{"proc/net/route": "Iface\tDestination\n", "proc/net/ipv6_route": zero + " 00 " + zero + " 00 fe80000000000000000000000000beef 00000400 00000001 00000000 00000003 eth0\n"})
		}, "network", ok, "by eth0", ""},

		{"nobody is told", func(b *bench) { b.cfg.Alert.Ways = nil }, "notification", attention, "nobody is told", "[[alert.way]]"},
		{"way cannot be opened", func(b *bench) { b.cfg.Alert.Ways[0].URL = "carrierpigeon://loft" }, "notification", wrong, "phone", "correct its url"},
		{"service away", func(b *bench) { b.dead["ntfy.example.org:443"] = true }, "notification", wrong, `the service of way "phone" cannot be reached`, "host in its url"},
		{"service unknown", func(b *bench) { b.cfg.Alert.Ways[0].URL = "logger://" }, "notification", ok, "--send", ""},
		{"alertmanager away", func(b *bench) {
			b.cfg.Alert.Alertmanager, b.dead["127.0.0.1:9093"] = "http://127.0.0.1:9093", true
		}, "notification", wrong, "the Alertmanager cannot be reached", "alert.alertmanager"},
		{"watcher away", func(b *bench) {
			b.cfg.Alert.Ping.URL, b.dead["watch.example.org:443"] = "https://watch.example.org/sled", true
		}, "notification", wrong, "sign of life cannot be reached", "alert.ping.url"},
		{"secrets open", func(b *bench) { b.cfg.Path = b.file(0o644) }, "notification", attention, "holds secrets", "chmod 640"},
		{"sent", func(b *bench) { b.machine.Send, b.daemon.tried = true, []press.Tried{{Way: "phone"}} }, "notification", ok, "took the test", ""},
		{"sent in vain", func(b *bench) {
			b.machine.Send, b.daemon.tried = true, []press.Tried{{Way: "phone", Error: "403"}}
		}, "notification", wrong, "did not take the test: 403", "url"},
		{"sent without daemon", func(b *bench) { b.machine.Send, b.daemon, b.cfg.Alert.Ways = true, nil, nil }, "notification", ok, `way "log" took the test`, ""},
		{"cannot be sent", func(b *bench) { b.machine.Send, b.daemon.err = true, errors.New("timeout") }, "notification", wrong, "could not be sent", "other findings"},

		{"no daemon", func(b *bench) { b.daemon = nil }, "daemon", attention, "no nightclamp answers", "systemctl enable --now"},
		{"older daemon", func(b *bench) { b.daemon.version = "1.2.2" }, "daemon", attention, "of version 1.2.2", "restart"},
		{"daemon mute", func(b *bench) { b.daemon.err = errors.New("timeout") }, "daemon", wrong, "does not say how it is", "restart"},
		{"no sample", func(b *bench) { b.daemon.statuses[0].Time = time.Time{} }, "daemon", wrong, "no sample yet", "sensors above"},
		{"old sample", func(b *bench) { b.daemon.statuses[0].Time = evening.Add(-3 * time.Minute) }, "daemon", wrong, "is 3m0s old", "sensors above"},
		{"sensor ill", func(b *bench) {
			b.daemon.statuses[0].Sensors = []press.SensorStatus{{Name: "mpr", Error: "remote I/O error"}}
		}, "daemon", wrong, "mpr does not answer the daemon: remote I/O error", "sensor read"},
		{"alert", func(b *bench) {
			b.daemon.statuses[0].Alerts = []press.AlertStatus{{Name: "below_floor", Text: "Below the floor."}}
		}, "daemon", attention, "alert below_floor", "alert ack"},
		{"way fails", func(b *bench) {
			b.daemon.ways = []press.WayHealth{{Name: "phone", Failing: evening.Add(-time.Hour), Waiting: 2, Error: "no route"}}
		}, "daemon", wrong, `way "phone" has taken nothing since`, "alert test"},
	}
}

func configFindings() []finding {
	const ok, attention, wrong = doctor.OK, doctor.Attention, doctor.Wrong
	return []finding{
		{"config broken", func(b *bench) {
			_, b.broken = config.Parse("shed.toml", []byte("sight = \"shed\"\nflor = 3\n"), config.BuiltIn())
		}, "config", wrong, `shed.toml:2: unknown key "flor"`, "mend it"},
		{"no config", func(b *bench) { b.cfg.Path = "" }, "config", attention, "the defaults hold", "config sample"},
		{"config closed", func(b *bench) { b.cfg.Path = b.file(0o600) }, "config", wrong, "may not read", "chmod 640"},
		{"warning", func(b *bench) { b.cfg.Presses[0].Floor = pressureOf("97kPa") }, "config", attention, "leaves no more than", "not meant so"},

		{"no adhesive", func(b *bench) { b.cfg.Presses[0].Glue = "" }, "datasheets", attention, "has no adhesive", "glue list"},
		{"bad adhesive", func(b *bench) { b.cfg.Presses[0].Glue = "birch-tar" }, "datasheets", wrong, "birch-tar", "glue check"},
		{"bad sheet in the folder", func(b *bench) {
			b.cfg.GlueFolder = "/etc/nightclamp/glue"
			b.files(map[string]string{"etc/nightclamp/glue/mine.toml": "name = 3"})
		}, "datasheets", wrong, "mine.toml", "glue check"},
		{"adhesive", func(*bench) {}, "datasheets", ok, "pva-d3 is read", ""},
	}
}

// file is a config file of a mode, outside the tree.
func (b *bench) file(mode os.FileMode) string {
	b.t.Helper()
	path := filepath.Join(b.t.TempDir(), "nightclamp.toml")
	if err := os.WriteFile(path, []byte(wellConfig), 0o600); err != nil {
		b.t.Fatal(err)
	}
	if err := os.Chmod(path, mode); err != nil {
		b.t.Fatal(err)
	}
	return path
}
