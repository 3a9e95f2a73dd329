package sysfs

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func tree(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestFind(t *testing.T) {
	dir := tree(t, map[string]string{
		"iio:device0/name": "bme280\n", "iio:device0/in_pressure_input": "1",
		"iio:device1/name": "mprls0025pa\n", "iio:device1/in_pressure_raw": "1",
		"iio:device2/name": "ads1015\n",
	})
	pressure := func(folder string) bool { return Has(folder, "in_pressure_input") || Has(folder, "in_pressure_raw") }
	for _, c := range []struct{ name, want, err string }{
		{"iio:device1", "iio:device1", ""},
		{"bme280", "iio:device0", ""},
		{"", "", "2 devices below " + dir + " fit: set device to one of bme280, mprls0025pa"},
		{"ads1015", "", "no device ads1015 below " + dir + " has what is asked for; there are iio:device0 (bme280), iio:device1 (mprls0025pa), iio:device2 (ads1015)"},
	} {
		got, err := Find(dir, c.name, pressure)
		if c.err != "" {
			if err == nil || err.Error() != c.err {
				t.Errorf("%q: got %v, want %s", c.name, err, c.err)
			}
			continue
		}
		if err != nil || filepath.Base(got) != c.want {
			t.Errorf("%q: got %s, %v, want %s", c.name, got, err, c.want)
		}
	}
	for _, empty := range []string{t.TempDir(), filepath.Join(dir, "none")} {
		if _, err := Find(empty, "", pressure); err == nil || !strings.Contains(err.Error(), "driver for the part loaded") {
			t.Errorf("%s: %v", empty, err)
		}
	}
}

// Names are offered where they tell the devices apart, numbers where they do not.
func TestFindOffers(t *testing.T) {
	dir := tree(t, map[string]string{
		"hwmon0/name": "cpu_thermal\n", "hwmon0/temp1_input": "1", "hwmon1/name": "jc42\n", "hwmon1/temp1_input": "1",
		"hwmon2/name": "jc42\n", "hwmon2/temp1_input": "1", "hwmon3/temp1_input": "1",
	})
	fits := func(folder string) bool { return Has(folder, "temp1_input") }
	for name, want := range map[string]string{
		"":     "one of cpu_thermal, hwmon1 (jc42), hwmon2 (jc42), hwmon3 (no name)",
		"jc42": "2 devices below " + dir + " fit: set device to one of hwmon1 (jc42), hwmon2 (jc42)",
	} {
		if _, err := Find(dir, name, fits); err == nil || !strings.HasSuffix(err.Error(), want) {
			t.Errorf("%q: got %v, want %s", name, err, want)
		}
	}
}

func TestNumber(t *testing.T) {
	dir := tree(t, map[string]string{"good": "101.325000000\n", "bad": "warm\n", "odd": "nan\n", "empty": ""})
	if v, err := Number(dir, "good"); err != nil || v != 101.325 {
		t.Errorf("got %v, %v", v, err)
	}
	for _, name := range []string{"bad", "odd", "empty", "missing"} {
		if v, err := Number(dir, name); err == nil {
			t.Errorf("%s is %v", name, v)
		}
	}
}
