package config_test

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zone of the tests must be there everywhere

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// table is a table of drivers with one strict driver in it.
type table struct{}

type keyError struct{ key, text string }

func (e keyError) Error() string { return e.text }
func (e keyError) Key() string   { return e.key }

func (table) Names() []string { return []string{"bme280", "ds18b20", "mpr", "sim"} }

func (table) Check(driver string, keys map[string]any) error {
	var errs []error
	for key := range keys {
		if key != "address" && key != "bus" {
			errs = append(errs, keyError{key, fmt.Sprintf("unknown key %q of driver %s; did you mean %q?", key, driver, "address")})
		}
	}
	return errors.Join(errs...)
}

const whole = `
site = "shed"
data = "/srv/nightclamp"
station_pressure = "955hPa"

[display]
pressure = "inHg"
temperature = "F"
timezone = "Europe/Oslo"
clock = "12h"

[http]
listen = ":9120"

[nats]
listen = "127.0.0.1:0"
jetstream = false

[record]
bucket = "20s"
flush = "1m"

[defaults]
glue = "pva-d3"
floor = "19inHg"
strained = false

[[alert.way]]
name = "phone"
url = "ntfy://ntfy.example.org/sled"
at_least = "wake"
after = "10m"
quiet = "22:00-07:00"

[[press]]
name = "deck"
floor = "70kPa"
strained = true
interval = "100ms"
  [[press.sensor]]
  driver = "mpr"
  bus = "1"
  address = 0x18
  [[press.sensor]]
  driver = "ds18b20"
  [[press.sensor]]
  driver = "ds18b20"

[[press]]
`

func TestParse(t *testing.T) {
	c, err := config.Parse("nightclamp.toml", []byte(whole), table{})
	if err != nil {
		t.Fatal(err)
	}
	for what, ok := range map[string]bool{
		"site":          c.Site == "shed" && c.Data == "/srv/nightclamp",
		"station":       c.StationPressure == 95500,
		"display":       c.Display.Pressure == units.InHg && c.Display.Temperature == units.Fahrenheit,
		"record":        c.Record.Bucket.Std() == 20*time.Second && c.Record.Flush.Std() == time.Minute,
		"two presses":   len(c.Presses) == 2 && c.Presses[0].Name == "deck" && c.Presses[1].Name == "press2",
		"own values":    c.Presses[0].Floor == 70000 && c.Presses[0].Strained && c.Presses[0].Interval.Std() == 100*time.Millisecond,
		"the defaults'": c.Presses[1].Floor == 19*3386.389 && !c.Presses[1].Strained && c.Presses[1].Glue == "pva-d3" && c.Presses[1].Interval.Std() == time.Second,
		"way":           c.Alert.Ways[0].URL.Value() == "ntfy://ntfy.example.org/sled" && c.Alert.Ways[0].AtLeast == press.Wake,
		"jetstream":     !c.NATS.JetStream,
	} {
		if !ok {
			t.Errorf("%s: not as written: %+v", what, c)
		}
	}
	if host, port := c.NATS.HostPort(); host != "127.0.0.1" || port != -1 {
		t.Errorf("nats listens on %s %d", host, port)
	}
	if w := c.AlertWays()[0]; w.URL != "ntfy://ntfy.example.org/sled" || w.After != 10*time.Minute || w.Quiet.From != 22*time.Hour ||
		w.Quiet.To != 7*time.Hour || w.Quiet.Location.String() != "Europe/Oslo" {
		t.Errorf("way out %+v", w)
	}
	sensors := c.Presses[0].Sensors
	if names := []string{sensors[0].Name, sensors[1].Name, sensors[2].Name}; !slices.Equal(names, []string{"mpr", "ds18b20", "ds18b20-2"}) {
		t.Errorf("sensors are named %q", names)
	}
	if s := sensors[0]; s.Where != "nightclamp.toml:40" || s.Keys["address"] != int64(0x18) || len(s.Keys) != 2 {
		t.Errorf("first sensor: %+v", s)
	}
	d := c.Display.Units()
	if d.Location.String() != "Europe/Oslo" || !d.Clock12 || d.Pressure(84012) != "24.8 inHg" {
		t.Errorf("display: %+v", d)
	}
}

// A line of a config that is wrong, and what the error says about it.
func TestRefused(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"typo", "\n[defaults]\nflor = \"65kPa\"", `nightclamp.toml:3: unknown key "flor"; did you mean "floor"?`},
		{"typo in a press", "[[press]]\nintervall = \"1s\"", `:2: unknown key "intervall"; did you mean "interval"?`},
		{"nothing near", "[http]\nzebra = 1", `:2: unknown key "zebra"; known in [http] are listen`},
		{"wrong table", "floor = \"65kPa\"", `:1: unknown key "floor" here; it belongs in [[press]] or [defaults]`},
		{"unknown table", "\n[htp]\nlisten = \"x\"", `:2: unknown table "htp"; did you mean "http"?`},
		{"unknown table below", "[alert]\n[[alert.ways]]", `:2: unknown table "alert.ways"; did you mean "alert.way"?`},
		{"one bracket", "[press]\nname = \"a\"", `:1: press is a table: write [[press]] and its keys below`},
		{"two brackets", "[[http]]", `:1: http is a table: write [http] and its keys below`},
		{"value as table", "[site]", `:1: site is a value: write site = …`},
		{"table as value", "http = 3", `:1: http is a table: write [http]`},
		{"keys of a value", "site.name = 3", `:1: site is a value and cannot have keys of its own such as "name"`},
		{"sensor before press", "[[press.sensor]]\ndriver = \"mpr\"", `:1: [[press.sensor]] stands before any [[press]]`},
		{"no unit", "[defaults]\nfloor = \"65\"", `:2: defaults.floor: pressure "65" has no unit: add one of kPa`},
		{"no quotes", "[defaults]\nfloor = 65", `:2: defaults.floor: write the value in quotes, such as floor = "65kPa" (found 65)`},
		{"wrong unit", "[record]\nbucket = \"10 kPa\"", `:2: record.bucket: duration "10 kPa": unknown unit "kPa"`},
		{"unknown unit", "[display]\npressure = \"tons\"", `:2: display.pressure: unknown unit of pressure "tons": use one of kPa`},
		{"mqtt for all", "[nats]\nmqtt_listen = \":1883\"", `:2: nats.mqtt_listen :1883 is open to the network`},
		{"mqtt elsewhere", "[nats]\nurl = \"nats://shop\"\nmqtt_listen = \":1883\"", `:3: nats.mqtt_listen is for the embedded server`},
		{"mqtt on the same port", "[nats]\nmqtt_listen = \"127.0.0.1:4222\"", `:2: nats.mqtt_listen and nats.listen are both 127.0.0.1:4222`},
		{"mqtt without a port", "[nats]\nmqtt_listen = \"127.0.0.1\"", `:2: nats.mqtt_listen "127.0.0.1": write host:port`},
		{"pump at the floor", "[[press]]\n[press.pump]\npin = \"GPIO25\"\nstart_below = \"60kPa\"", `:2: pump of press1: start_below is 60.0 kPa`},
		{"pump without a pin", "[[press]]\n[press.pump]\nstart_below = \"70kPa\"", `the pump has no pin`},
		{"pump that never rests", "[[press]]\n[press.pump]\npin = \"GPIO25\"\nmin_off = \"0s\"", `:4: press[0].pump.min_off 0s: the pump must rest`},
		{"pump that may never start", "[[press]]\n[press.pump]\npin = \"GPIO25\"\nmax_starts = 0", `:4: max_starts is 0`},
		{"starts in words", "[[press]]\n[press.pump]\nmax_starts = \"six\"", `:3: press.pump.max_starts: write a whole number`},
		{"pump and slow sensors", "[[press]]\ninterval = \"30s\"\n[press.pump]\npin = \"GPIO25\"", `sensors are read every 30s`},
		{"one pin for two", "[pins]\nlamp = \"GPIO25\"\n[[press]]\n[press.pump]\npin = \"GPIO25\"", `:5: pins.lamp and press[0].pump.pin are both on pin GPIO25`},
		{"button of two presses", "[pins]\nbutton = \"GPIO17\"\n[[press]]\n[[press]]", `:2: which press is the button for`},
		{"button of no press", "[pins]\npress = \"sled\"", `:2: pins.press "sled": there is no such press`},
		{"meaning", "[pins]\nlong = \"lay-up\"", `:2: pins.long "lay-up" is not known; use acknowledge`},
		{"number for text", "site = 1", `:1: site: write the value in quotes (found 1)`},
		{"text for truth", "[defaults]\nstrained = \"yes\"", `:2: defaults.strained: write true or false`},
		{"no TOML", "site = \"shop\"\nfloor 65kPa", `nightclamp.toml:2: column 7: toml:`},
		{"twice", "site = \"a\"\nsite = \"b\"", `nightclamp.toml:2: `},
		{"floor over the atmosphere", "[defaults]\nfloor = \"30inHg\"", `:2: defaults.floor 101.59167kPa cannot be had: no vacuum is more than the pressure of the room, 101.325kPa`},
		{"floor at altitude", "station_pressure = \"795hPa\"\n[[press]]\nfloor = \"80kPa\"", `:3: press[0].floor 80kPa cannot be had: no vacuum is more than the pressure of the room, 79.5kPa (station_pressure)`},
		{"floor below nothing", "[defaults]\nfloor = \"-65kPa\"", `:2: defaults.floor -65kPa clamps nothing`},
		{"floor of nothing", "[[press]]\nfloor = \"0kPa\"", `:2: press[0].floor 0kPa clamps nothing`},
		{"sea level elsewhere", "station_pressure = \"1013kPa\"", `:1: station_pressure 1013kPa: use the absolute pressure of the room, 50kPa to 110kPa`},
		{"site with a dot", "site = \"my.shop\"", `:1: site "my.shop": use letters a-z, digits, - and _ only, for example "my-shop"`},
		{"the board's name", "[[press]]\nname = \"board\"", `:2: no press can be named "board": alerts and subjects of that name are the board's own`},
		{"press with a star", "[[press]]\nname = \"*\"", `:2: press[0].name "*": use letters`},
		{"empty name", "[[press]]\nname = \"\"", `:2: press[0].name is empty`},
		{"long name", "site = \"" + strings.Repeat("x", 65) + "\"", `site has 65 characters`},
		{"two of a name", "[[press]]\nname = \"a\"\n[[press]]\nname = \"a\"", `:4: two presses are named "a"`},
		{"default name taken", "[[press]]\n[[press]]\nname = \"press1\"", `two presses are named "press1"`},
		{"missing datasheet", "[defaults]\nglue = \"pva-d33\"", `:2: glue "pva-d33": no built-in adhesive datasheet is named "pva-d33"; did you mean "pva-d3"?`},
		{"no such file", "[[press]]\nglue = \"./mine.toml\"", `:2: glue "./mine.toml": read datasheet`},
		{"no such folder", "glue_folder = \"/nowhere/at/all\"", `:1: glue_folder "/nowhere/at/all" is no folder`},
		{"unknown driver", "[[press]]\n[[press.sensor]]\ndriver = \"bmp280\"", `:3: unknown driver "bmp280"; did you mean "bme280"? known are bme280, ds18b20, mpr, sim`},
		{"no driver", "[[press]]\n[[press.sensor]]\nbus = \"1\"", `:2: a sensor without driver = "…"`},
		{"driver is a number", "[[press]]\n[[press.sensor]]\ndriver = 280", `:3: driver: write the driver's name in quotes (found 280)`},
		{"sensor's name is a number", "[[press]]\n[[press.sensor]]\ndriver = \"mpr\"\nname = 1", `:4: name: write the sensor's name in quotes`},
		{"driver's key", "[[press]]\n[[press.sensor]]\ndriver = \"mpr\"\nadress = 0x18", `:4: unknown key "adress" of driver mpr; did you mean "address"?`},
		{"two sensors of a name", "[[press]]\n[[press.sensor]]\nname=\"a\"\ndriver=\"mpr\"\n[[press.sensor]]\nname=\"a\"\ndriver=\"mpr\"", `:6: two sensors of press1 are named "a"`},
		{"long flush", "[record]\nflush = \"2h\"", `:2: record.flush 2h: use 1s to 1h, because a crash would cost as much; up to 12h with record.ramdisk`},
		{"longest flush", "[record]\nramdisk = \"/run/x\"\nflush = \"13h\"", `:3: record.flush 13h: use 1s to 12h`},
		{"lag", "[[press]]\nlag = \"5s\"", `:2: press[0].lag 5s: use 1m to 48h`},
		{"night in kelvin", "[shop]\nnight_low = \"4K\"", `:2: shop.night_low -269.15C: no shop is so; use -40C to 50C`},
		{"exchanged", "[shop]\nnight_low = \"14C\"\nday_high = \"4C\"", `:2: shop.night_low 14C is warmer than shop.day_high 4C`},
		{"no time of day", "[shop]\nheating = [\"7 18C\"]", `:2: shop.heating "7 18C" cannot be read: "7" is no time of day; write each setting`},
		{"no temperature", "[shop]\nheating = [\"07:00 18\"]", `:2: shop.heating "07:00 18" cannot be read: temperature "18" has no unit`},
		{"out of order", "[shop]\nheating = [\"07:00 18C\", \"06:00 8C\"]", `:2: shop.heating "06:00 8C" is not later in the day`},
		{"interval", "[[press]]\ninterval = \"1h\"", `:2: press[0].interval 1h: use 0.02s to 1m`},
		{"timezone", "[display]\ntimezone = \"Mars\"", `:2: display.timezone "Mars" is not known`},
		{"clock", "[display]\nclock = \"13h\"", `:2: display.clock "13h" is not known; write "24h" or "12h"`},
		{"listen", "[http]\nlisten = \"9120\"", `:2: http.listen "9120": write host:port`},
		{"public address", "[http]\npublic_url = \"shed.example.org\"", `:2: http.public_url "shed.example.org" cannot be used in links; write it as https://host`},
		{"port", "[http]\nlisten = \":91200\"", `:2: http.listen ":91200": the port must be a number up to 65535`},
		{"same port", "[http]\nlisten = \"127.0.0.1:4222\"", `nats.listen and http.listen are both 127.0.0.1:4222`},
		{"open wire", "[nats]\nlisten = \":4222\"", `:2: nats.listen :4222 is open to the network`},
		{"both wires", "[nats]\nlisten = \"127.0.0.1:4222\"\nurl = \"nats://a:4222\"", `:2: nats.listen is for the embedded server`},
		{"wire's scheme", "[nats]\nurl = \"http://a:4222\"", `:2: nats.url begins with http://`},
		{"wire's password", "[nats]\nurl = \"nats://u:secret@a:4222\"", `:2: nats.url has a name or password in it`},
		{"no wire", "[nats]\nurl = \"::\"", `:2: nats.url (not shown) cannot be read`},
		{"half a pair", "[nats]\nurl = \"tls://a\"\ncert = \"c.pem\"", `:3: nats.cert and nats.key go together`},
		{"no credentials", "[nats]\nurl = \"tls://a\"\ncredentials = \"nowhere.creds\"", `:3: nats.credentials: open nowhere.creds: no such file`},
		{"credentials for nothing", "[nats]\ncredentials = \"x.creds\"", `:2: nats.credentials is for a server to join`},
		{"user alone", "[nats]\nuser = \"a\"", `:2: nats.user and its password go together`},
		{"two ways in", "[nats]\nuser = \"a\"\npassword = \"b\"\ntoken = \"c\"", `:2: nats.user and a token are two ways in`},
		{"two passwords", "[nats]\nuser = \"a\"\npassword = \"b\"\npassword_file = \"f\"", `:3: nats.password and nats.password_file are both given`},
		{"severity", "[[alert.way]]\nname = \"a\"\nurl = \"ntfy://b/c\"\nat_least = \"wak\"", `:4: at_least "wak" is not known; did you mean "wake"? use note, warn, wake`},
		{"way to nowhere", "[[alert.way]]\nname = \"a\"", `:1: the way out "a" has no url`},
		{"way twice", "[[alert.way]]\nname = \"a\"\nurl = \"ntfy://b/c\"\n[[alert.way]]\nname = \"a\"\nurl = \"ntfy://b/c\"", `:5: two ways out are named "a"`},
		{"two URLs", "[[alert.way]]\nname = \"a\"\nurl = \"ntfy://b/c\"\nurl_file = \"f\"", `:3: alert.way[0].url and alert.way[0].url_file are both given; keep one`},
		{"URL file", "[[alert.way]]\nname = \"a\"\nurl_file = \"nowhere\"", `:3: alert.way[0].url_file: open nowhere: no such file`},
		{"no URL", "[[alert.way]]\nname = \"a\"\nurl = \"hunter2\"", `:3: the URL of the way out "a" (not shown) must look like service://`},
		{"way named log", "[[alert.way]]\nname = \"log\"\nurl = \"ntfy://b/c\"", `:2: the way out "log" is always there`},
		{"quiet hours", "[[alert.way]]\nname = \"a\"\nurl = \"ntfy://b/c\"\nquiet = \"at night\"", `:4: the way out "a": quiet hours "at night" cannot be read`},
		{"after", "[[alert.way]]\nname = \"a\"\nurl = \"ntfy://b/c\"\nafter = \"3d\"", `:4: alert.way[0].after 72h: use 0s to 24h`},
		{"alertmanager", "[alert]\nalertmanager = \"u:secret@host\"", `:2: alert.alertmanager (not shown) cannot be read; write it as http://host:9093`},
		{"ping", "[alert.ping]\nurl = \"hunter2\"", `:2: alert.ping.url (not shown) cannot be read`},
		{"ping too often", "[alert.ping]\nevery = \"1s\"", `:2: alert.ping.every 1s: use 10s to 24h`},
		{"empty data", "data = \"\"", `:1: data is empty`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := config.Parse("nightclamp.toml", []byte(c.text), table{})
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Fatalf("got:\n%v\nwant an error that says:\n%s", err, c.says)
			}
			var fault *config.Fault
			if !errors.As(err, &fault) || fault.File != "nightclamp.toml" {
				t.Errorf("%v names no file", err)
			}
			for _, secret := range []string{"hunter2", "u:secret"} {
				if strings.Contains(err.Error(), secret) {
					t.Errorf("%v tells a secret", err)
				}
			}
		})
	}
}

// All that is wrong is said at once, in the order of the lines.
func TestAllAtOnce(t *testing.T) {
	_, err := config.Parse("c.toml", []byte("sight = \"a\"\n[http]\nlisten = 3\n[defaults]\nfloor = \"65\"\nflor = 1\n"), table{})
	if err == nil {
		t.Fatal("taken")
	}
	var lines []string
	for line := range strings.SplitSeq(err.Error(), "\n") {
		lines = append(lines, strings.Join(strings.SplitN(line, ":", 3)[:2], ":"))
	}
	if want := []string{"c.toml:1", "c.toml:3", "c.toml:5", "c.toml:6"}; !slices.Equal(lines, want) {
		t.Errorf("faults at %q, want %q:\n%v", lines, want, err)
	}
}

// What single lines mean together is said with them, not only once they are mended.
func TestMeaningBesideFaultsOfLines(t *testing.T) {
	const text = "siet = \"shed\"\n[defaults]\nfloor = \"65\"\nglue = \"pva\"\n[[press]]\nname = \"sled\"\n[[press.sensor]]\ndriver = \"simm\"\n"
	_, err := config.Parse("c.toml", []byte(text), config.BuiltIn())
	if err == nil {
		t.Fatal("taken")
	}
	for _, says := range []string{"c.toml:1: unknown key", "c.toml:3: defaults.floor", "c.toml:4: glue", "c.toml:8: unknown driver"} {
		if !strings.Contains(err.Error(), says) {
			t.Errorf("nothing says %q:\n%v", says, err)
		}
	}
	// A header cannot be left out without its keys falling to another table.
	if _, err := config.Parse("c.toml", []byte("[defalts]\nglue = \"pva\"\n"), config.BuiltIn()); err == nil || strings.Contains(err.Error(), "c.toml:2") {
		t.Errorf("below an unknown table: %v", err)
	}
}

// A config may be written with inline tables and dotted keys as well.
func TestOtherForms(t *testing.T) {
	text := `
display.clock = "12h"
"http".listen = "localhost:0"
alert.way = [{ name = "a", url = "ntfy://b/c" }]
press = [
  { name = "one", sensor = [{ driver = "mpr" }] },
  { name = "two", flor = "65kPa" },
]
`
	if _, err := config.Parse("c.toml", []byte(text), table{}); err == nil || !strings.Contains(err.Error(), `c.toml:7: unknown key "flor"; did you mean "floor"?`) {
		t.Errorf("the typo: %v", err)
	}
	c, err := config.Parse("c.toml", []byte(strings.Replace(text, "flor", "floor", 1)), table{})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Presses) != 2 || c.Presses[0].Sensors[0].Driver != "mpr" || c.Presses[1].Floor != 65000 || len(c.Alert.Ways) != 1 || c.Display.Clock != "12h" {
		t.Errorf("%+v", c)
	}
}

func TestDefault(t *testing.T) {
	t.Setenv("STATE_DIRECTORY", "/var/lib/nightclamp:/var/lib/other")
	c := config.Default()
	if c.Data != "/var/lib/nightclamp" || c.Site != "shop" || c.HTTP.Listen != "127.0.0.1:9120" || c.NATS.Listen != "127.0.0.1:4222" {
		t.Errorf("%+v", c)
	}
	if p := c.Presses; len(p) != 1 || p[0].Name != "press1" || p[0].Floor.Pa() != press.DefaultFloor || !p[0].Strained {
		t.Errorf("presses %+v", p)
	}
	if err := c.CheckSensors(); err == nil || !strings.Contains(err.Error(), "add a [[press.sensor]] table to /etc/nightclamp/nightclamp.toml") ||
		!strings.Contains(err.Error(), "nightclamp demo") {
		t.Errorf("without a sensor: %v", err)
	}
	// An empty file is the same as none.
	empty, err := config.Parse("", nil, table{})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := fmt.Sprintf("%+v", empty), fmt.Sprintf("%+v", c); a != b {
		t.Errorf("an empty file gives\n%s\nnone\n%s", a, b)
	}
}

func TestShopKnown(t *testing.T) {
	c, err := config.Parse("n.toml", []byte("[shop]\nnight_low = \"-2C\"\nheating = [\"07:00 18C\", \"17:30 46F\"]\n[[press]]\nheated = true\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	k := c.ShopKnown()
	if !k.HasNightLow || k.NightLow != -2 || k.HasDayHigh || k.HeatingLag != 7200 || len(k.Heating) != 2 ||
		k.Heating[0] != (cure.Setting{At: 7 * 3600, C: 18}) || k.Heating[1].At != 17.5*3600 || math.Abs(k.Heating[1].C-7.778) > 0.001 {
		t.Errorf("%+v", k)
	}
	if p := c.Presses[0]; !p.Heated || p.Lag.Std() != time.Hour {
		t.Errorf("press %+v", p)
	}
}

func TestDataFolder(t *testing.T) {
	for _, c := range []struct{ state, xdg, want string }{
		{"/var/lib/nightclamp", "/x", "/var/lib/nightclamp"},
		{"", "/x", "/x/nightclamp"},
		{"", "relative", "/home/b/.local/state/nightclamp"},
		{"", "", "/home/b/.local/state/nightclamp"},
	} {
		t.Setenv("STATE_DIRECTORY", c.state)
		t.Setenv("XDG_STATE_HOME", c.xdg)
		t.Setenv("HOME", "/home/b")
		if got := config.Default().Data; got != c.want {
			t.Errorf("%+v: data in %s", c, got)
		}
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", dir)
	if _, err := config.Load(filepath.Join(dir, "none.toml")); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "nightclamp config sample") {
		t.Errorf("no such file: %v", err)
	}
	if _, err := config.Load(dir); err == nil {
		t.Error("a folder was read as a config")
	}
	place := filepath.Join(dir, "nightclamp", "nightclamp.toml")
	write(t, place, "site = \"found\"\ndata = \"record\"\n[[alert.way]]\nname = \"a\"\nurl_file = \"a.url\"\n")
	write(t, filepath.Join(dir, "nightclamp", "a.url"), "ntfy://secret.example.org/topic\n")
	c, err := config.Load("")
	if err != nil {
		t.Fatal(err)
	}
	// Paths in the file start from its folder; the secret came out of its file.
	if c.Site != "found" || c.Path != place || c.Data != filepath.Join(dir, "nightclamp", "record") ||
		c.Alert.Ways[0].URL.Value() != "ntfy://secret.example.org/topic" {
		t.Errorf("%+v", c)
	}
	if err := c.CheckSensors(); err == nil || !strings.Contains(err.Error(), place) {
		t.Errorf("without a sensor: %v", err)
	}
}

// The drivers that are compiled in speak about their own keys, also nested ones.
func TestBuiltInDrivers(t *testing.T) {
	for says, text := range map[string]string{
		"c.toml:4: ":        "[[press]]\n[[press.sensor]]\ndriver = \"sim\"\nsed = 1\n",
		"did you mean seed": "[[press]]\n[[press.sensor]]\ndriver = \"sim\"\nsed = 1\n",
		"c.toml:5: ":        "[[press]]\n[[press.sensor]]\ndriver = \"sim\"\n[press.sensor.bag]\nfree_volume = 1\n",
		`3: unknown driver "smi"; did you mean "sim"?`: "[[press]]\n[[press.sensor]]\ndriver = \"smi\"\n",
	} {
		if _, err := config.Parse("c.toml", []byte(text), config.BuiltIn()); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %s", text, err, says)
		}
	}
}

func TestOwnDatasheet(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "can.toml"), "name = \"can\"\nmin_use_c = 10\npress_time = [{ at_c = 20, hours = 1 }]\n")
	write(t, filepath.Join(dir, "spoilt.toml"), "name = \"spoilt\"\n")
	text := "glue_folder = " + fmt.Sprintf("%q", dir) + "\n[defaults]\nglue = "
	c, err := config.Parse("c.toml", []byte(text+`"can"`), nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Glue("can"); got != filepath.Join(dir, "can.toml") {
		t.Errorf("can is %q", got)
	}
	for _, name := range []string{"pva-d3", "./can.toml", ""} {
		if got := c.Glue(name); got != name {
			t.Errorf("%q is %q", name, got)
		}
	}
	if _, err := config.Parse("c.toml", []byte(text+`"spoilt"`), nil); err == nil || !strings.Contains(err.Error(), "c.toml:3: glue \"spoilt\"") {
		t.Errorf("a spoilt datasheet: %v", err)
	}
}

// However a secret is written out, it does not show.
func TestSecret(t *testing.T) {
	c, err := config.Parse("c.toml", []byte("[nats]\nuser = \"u\"\npassword = \"hunter2\"\n[[alert.way]]\nname = \"a\"\nurl = \"ntfy://hunter2/x\"\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	var log, shown strings.Builder
	slog.New(slog.NewTextHandler(&log, nil)).Info("config", "password", c.NATS.Password, "ways", c.Alert.Ways)
	if err := c.Show(&shown); err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string]string{
		"%v": fmt.Sprintf("%v %+v", c, *c), "%#v": fmt.Sprintf("%#v", *c), "%q": fmt.Sprintf("%q", c.NATS.Password),
		"slog": log.String(), "show": shown.String(),
	} {
		if strings.Contains(text, "hunter2") {
			t.Errorf("%s tells the secret: %s", what, text)
		}
	}
	if !strings.Contains(shown.String(), "(hidden)") {
		t.Errorf("show does not say that there is a secret:\n%s", shown.String())
	}
}

// What config show writes is a config that means the same.
func TestShow(t *testing.T) {
	c, err := config.Parse("nightclamp.toml", []byte(strings.Replace(whole, "[[alert.way]]\nname = \"phone\"\nurl = \"ntfy://ntfy.example.org/sled\"\nat_least = \"wake\"\nafter = \"10m\"\nquiet = \"22:00-07:00\"\n", "", 1)), table{})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := c.Show(&b); err != nil {
		t.Fatal(err)
	}
	again, err := config.Parse("nightclamp.toml", []byte(b.String()), table{})
	if err != nil {
		t.Fatalf("%v in\n%s", err, b.String())
	}
	for i := range c.Presses { // lines differ, all else must not
		for k := range c.Presses[i].Sensors {
			c.Presses[i].Sensors[k].Where = again.Presses[i].Sensors[k].Where
			c.Presses[i].Tables, again.Presses[i].Tables = nil, nil
		}
	}
	if a, b := fmt.Sprintf("%+v", again), fmt.Sprintf("%+v", c); a != b {
		t.Errorf("shown and read again:\n%s\nbefore:\n%s", a, b)
	}
}

func TestWarnings(t *testing.T) {
	c, err := config.Parse("c.toml", []byte("[http]\nlisten = \":9120\"\n[[press]]\nfloor = \"98kPa\"\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(c.Warnings(), "\n")
	for _, says := range []string{"http.listen :9120", "press1: floor 98kPa", "no sensor is configured"} {
		if !strings.Contains(all, says) {
			t.Errorf("no warning says %q:\n%s", says, all)
		}
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
