package scan

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"

	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
	"github.com/nightclamp/nightclamp/sensor/drivers"
)

// board is a file tree of a board with a bit of everything.
func board(t *testing.T) string {
	t.Helper()
	root := t.TempDir()
	for path, text := range map[string]string{
		"dev/i2c-1":                    "",
		"dev/i2c-9":                    "",
		"dev/ttyUSB0":                  "",
		"dev/ttyACM0":                  "",
		"sys/class/i2c-dev/i2c-1/name": "bcm2835 (i2c@7e804000)\n",
		"sys/class/i2c-dev/i2c-9/name": "SMBus I801 adapter at efa0\n",
		"sys/bus/w1/devices/28-0316a2794fff/w1_slave":       "",
		"sys/bus/w1/devices/10-000802be73fa/w1_slave":       "",
		"sys/bus/iio/devices/iio:device0/name":              "bmp280\n",
		"sys/bus/iio/devices/iio:device0/in_temp_input":     "21500\n",
		"sys/bus/iio/devices/iio:device0/in_pressure_input": "101.3\n",
		"sys/bus/iio/devices/iio:device1/name":              "rpi-adc\n",
		"sys/bus/iio/devices/iio:device1/in_voltage0_raw":   "12\n",
		"sys/class/hwmon/hwmon0/name":                       "cpu_thermal\n",
		"sys/class/hwmon/hwmon0/temp1_input":                "48000\n",
		"sys/class/hwmon/hwmon1/name":                       "jc42\n",
		"sys/class/hwmon/hwmon1/temp1_input":                "20500\n",
		"sys/class/hwmon/hwmon2/name":                       "sht4x\n",
		"sys/class/hwmon/hwmon2/temp1_input":                "20500\n",
		"sys/class/hwmon/hwmon2/humidity1_input":            "61250\n",
		"sys/bus/i2c/drivers/jc42/uevent":                   "",
		"sys/bus/i2c/devices/1-001c/name":                   "jc42\n",
	} {
		file := filepath.Join(root, path)
		if err := os.MkdirAll(filepath.Dir(file), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for link, target := range map[string]string{
		"sys/bus/i2c/devices/1-001c/driver":  "../../drivers/jc42",
		"dev/serial/by-id/usb-shed_bag-if00": "../../ttyACM0",
	} {
		file := filepath.Join(root, link)
		if err := os.MkdirAll(filepath.Dir(file), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.Symlink(target, file); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

// silentPart is a part that must not be touched.
type silentPart struct {
	t    *testing.T
	what string
}

func (p silentPart) Tx(w, _ []byte) error {
	p.t.Errorf("%s was asked (wrote % x)", p.what, w)
	return nil
}

// readOnly is a part that must not be written to.
type readOnly struct{ t *testing.T }

func (p readOnly) Tx(w, _ []byte) error {
	if len(w) > 0 {
		p.t.Errorf("% x was written to a part that is not known", w)
	}
	return nil
}

// shy is an SHT4x: it does not acknowledge a read before a command.
type shy struct{ asked bool }

func (p *shy) Tx(w, _ []byte) error {
	if len(w) == 0 {
		return errors.New("remote I/O error")
	}
	p.asked = true
	return nil
}

func find(t *testing.T, r Report, where string) Find {
	t.Helper()
	for _, f := range r.Finds {
		if strings.Contains(f.Where+" "+f.What, where) {
			return f
		}
	}
	t.Fatalf("no %s among %+v", where, r.Finds)
	return Find{}
}

func TestScan(t *testing.T) {
	b := bustest.New(map[uint16]bustest.Part{
		0x18: readOnly{t}, 0x3C: readOnly{t}, 0x48: &bustest.ADS1115{}, 0x76: readOnly{t},
		0x1C: silentPart{t, "what the kernel has"}, 0x69: silentPart{t, "a clock chip"},
	})
	r := Scan(t.Context(), Options{Root: board(t), Host: b.Host()})
	if len(r.Problems) > 0 {
		t.Errorf("problems: %v", r.Problems)
	}
	for where, want := range map[string][]string{
		"0x18": {"mpr", "mcp9808", "abp2"}, "0x3c": {}, "0x48": {"ads1115", "currentloop", "thermistor", "mpr", "abp2", "hsc"},
		"0x76": {"bme280", "ms5803", "bmp388"}, "28-0316a2794fff": {"ds18b20"}, "10-000802be73fa": {},
		"bmp280": {"iio"}, "rpi-adc": {}, "cpu_thermal": {}, "jc42": {"hwmon"}, "sht4x": {"hwmon"},
		"/dev/ttyUSB0": {"serial"}, "/dev/serial/by-id/usb-shed_bag-if00": {"serial"},
	} {
		if f := find(t, r, where); !slices.Equal(f.Drivers, want) {
			t.Errorf("%s may be %v, want %v", where, f.Drivers, want)
		}
	}
	if len(r.Finds) != 13 {
		t.Errorf("%d finds: %+v", len(r.Finds), r.Finds)
	}
	did := strings.Join(r.Did, "\n")
	for _, want := range []string{"jc42 has it", "SMBus I801", "wrote none; 4 answered", "not opened", "--identify"} {
		if !strings.Contains(did, want) {
			t.Errorf("%q is not among what was done:\n%s", want, did)
		}
	}
}

// What is proposed must be a config that its driver takes.
func TestProposalsConfigure(t *testing.T) {
	parts := map[uint16]bustest.Part{}
	for _, c := range candidates() {
		parts[uint16(c.usual)] = &bustest.Registers{}
	}
	r := Scan(t.Context(), Options{Root: board(t), Host: bustest.New(parts).Host()})
	n := 0
	for _, f := range r.Finds {
		if f.Config == "" {
			continue
		}
		n++
		var file struct {
			Press struct{ Sensor []map[string]any }
		}
		if err := toml.Unmarshal([]byte(f.Config), &file); err != nil || len(file.Press.Sensor) != 1 {
			t.Fatalf("%s: %v", f.Config, err)
		}
		keys := file.Press.Sensor[0]
		d, err := drivers.Find(keys["driver"].(string))
		if err != nil {
			t.Fatal(err)
		}
		delete(keys, "driver")
		if _, err := d.Configure(drivers.Env{}, keys); err != nil {
			t.Errorf("%s\n%v", f.Config, err)
		}
	}
	if n < 10 {
		t.Errorf("only %d proposals", n)
	}
}

// Every driver with an address is in the table, with its default.
func TestTableIsWhole(t *testing.T) {
	for _, d := range drivers.Table() {
		for _, o := range d.Options {
			if o.Key != "address" {
				continue
			}
			if !slices.ContainsFunc(candidates(), func(c candidate) bool {
				return c.driver == d.Name && o.Default == fmt.Sprintf("0x%02x", c.usual)
			}) {
				t.Errorf("%s at %s is not in the table", d.Name, o.Default)
			}
		}
	}
}

func TestIdentify(t *testing.T) {
	thermometer := &bustest.Registers{}
	thermometer.Bytes[0x06], thermometer.Bytes[0x07] = 0x00, 0x54
	barometer := &bustest.Registers{}
	barometer.Bytes[0x00] = 0x60
	sht := &shy{}
	b := bustest.New(map[uint16]bustest.Part{0x18: thermometer, 0x77: barometer, 0x44: sht, 0x3C: readOnly{t}})
	r := Scan(t.Context(), Options{Root: board(t), Host: b.Host(), Identify: true})
	for where, want := range map[string]string{"0x18": "mcp9808", "0x77": "bmp388", "0x44": "sht4x"} {
		if f := find(t, r, where); !slices.Equal(f.Drivers, []string{want}) {
			t.Errorf("%s is %v, want %s", where, f.Drivers, want)
		}
	}
	if did := strings.Join(r.Did, "\n"); !strings.Contains(did, "wrote the register number 0x06") || !sht.asked {
		t.Errorf("what was written is not said:\n%s", did)
	}
}

// A bus that is held down is given up at once, and said so.
func TestBusHeldDown(t *testing.T) {
	b := bustest.New(nil)
	b.Fail(errors.New("connection timed out"))
	r := Scan(t.Context(), Options{Root: board(t), Host: b.Host(), Identify: false})
	if b.Count() != 1 || len(r.Problems) != 1 || !strings.Contains(r.Problems[0], "held down") {
		t.Errorf("%d transfers, problems %v", b.Count(), r.Problems)
	}
}

func TestBareMachine(t *testing.T) {
	r := Scan(t.Context(), Options{Root: t.TempDir(), Host: bus.New()})
	if len(r.Finds) != 0 || len(r.Problems) != 1 || !strings.Contains(r.Problems[0], "modprobe i2c-dev") {
		t.Errorf("got %+v", r)
	}
}

func TestNamedBus(t *testing.T) {
	b := bustest.New(map[uint16]bustest.Part{0x50: readOnly{t}, 0x78: readOnly{t}})
	r := Scan(t.Context(), Options{Root: board(t), Host: b.Host(), Buses: []string{"9", "4"}})
	find(t, r, "I²C bus 9, 0x50")
	if f := find(t, r, "I²C bus 9, 0x78"); !slices.Equal(f.Drivers, []string{"mpr", "abp2", "hsc"}) {
		t.Errorf("0x78 is %v", f.Drivers)
	}
	if len(r.Problems) != 1 || !strings.Contains(r.Problems[0], "no I²C bus 4: there are 1 and 9.") {
		t.Errorf("problems: %v", r.Problems)
	}
}

// A bus that is asked for where there is none, or only another.
func TestNamedBusMissing(t *testing.T) {
	none, one := t.TempDir(), t.TempDir()
	if err := os.Mkdir(filepath.Join(one, "dev"), 0o750); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(one, "dev/i2c-1"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for root, want := range map[string]string{
		none: "There is no I²C bus (no /dev/i2c-*)", one: "There is no I²C bus 3: the only one is 1.",
	} {
		r := Scan(t.Context(), Options{Root: root, Host: bustest.New(nil).Host(), Buses: []string{"3"}})
		if len(r.Problems) != 1 || !strings.HasPrefix(r.Problems[0], want) {
			t.Errorf("problems: %v, want %s", r.Problems, want)
		}
	}
}

// The address of an MS5803 does not tell its model, so the proposal says that it
// must be given.
func TestModelIsAskedFor(t *testing.T) {
	b := bustest.New(map[uint16]bustest.Part{0x76: readOnly{t}})
	r := Scan(t.Context(), Options{Root: board(t), Host: b.Host()})
	if f := find(t, r, "0x76"); !strings.Contains(f.Note, "ms5803-14ba") || !strings.Contains(f.Note, "as model") {
		t.Errorf("note %q", f.Note)
	}
}
