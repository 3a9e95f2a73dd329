package iio

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// device lays out one device as the kernel does and returns the folder of all.
func device(t *testing.T, name string, attributes map[string]string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "sys", "bus", "iio", "devices")
	folder := filepath.Join(dir, "iio:device0")
	if err := os.MkdirAll(folder, 0o750); err != nil {
		t.Fatal(err)
	}
	attributes["name"] = name
	for a, text := range attributes {
		if err := os.WriteFile(filepath.Join(folder, a), []byte(text+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func read(t *testing.T, c Config) (sensor.Sample, error) {
	t.Helper()
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	p, err := Open(c, time.Now)
	if err != nil {
		return sensor.Sample{}, err
	}
	return p.Read(t.Context())
}

// Units of Documentation/ABI/testing/sysfs-bus-iio: kilopascal and milli °C.
func TestProcessedChannels(t *testing.T) {
	c := Defaults()
	c.Device, c.Temperature = "bme280", "air"
	c.Dir = device(t, "bme280", map[string]string{"in_pressure_input": "100.653269531", "in_temp_input": "25080"})
	s, err := read(t, c)
	if err != nil || math.Abs(s.Ambient-100653.269531) > 1e-6 || s.Air != 25.08 || s.Knows(sensor.Bag) {
		t.Errorf("got %+v, %v", s, err)
	}
	if want := []sensor.Quantity{sensor.Ambient, sensor.Air}; !slices.Equal(c.Reads(), want) {
		t.Errorf("reads %v", c.Reads())
	}
}

// Milli per cent in the same ABI.
func TestHumidity(t *testing.T) {
	c := Defaults()
	c.Temperature, c.Humid = "air", true
	c.Dir = device(t, "bme280", map[string]string{
		"in_pressure_input": "100.65", "in_temp_input": "8100", "in_humidityrelative_input": "78250",
	})
	if s, err := read(t, c); err != nil || s.Humidity != 78.25 || s.Air != 8.1 {
		t.Errorf("got %+v, %v", s, err)
	}
	if want := []sensor.Quantity{sensor.Ambient, sensor.Air, sensor.Humidity}; !slices.Equal(c.Reads(), want) {
		t.Errorf("reads %v", c.Reads())
	}
	alone := Config{Pressure: none, Temperature: none, Humid: true, Reference: "absolute"}
	alone.Dir = device(t, "hdc2010", map[string]string{"in_humidityrelative_raw": "51282", "in_humidityrelative_scale": "1.525878906"})
	if s, err := read(t, alone); err != nil || math.Abs(s.Humidity-78.25) > 0.01 {
		t.Errorf("alone: got %+v, %v", s, err)
	}
	alone.Dir = device(t, "bmp280", map[string]string{"in_pressure_input": "100.65"})
	if s, err := read(t, alone); err == nil {
		t.Errorf("a part without hygrometer gave %+v", s)
	}
}

// The same ABI: value = (raw + offset) · scale. The numbers are those of an
// MPR part of 0 to 25 psi (transfer 10 to 90 % of 2^24): its half is 86184.5 Pa.
func TestRawChannel(t *testing.T) {
	c := Defaults()
	c.Pressure = "bag"
	c.Dir = device(t, "mprls0025pa", map[string]string{
		"in_pressure_raw": "8388608", "in_pressure_offset": "-1677721.6", "in_pressure_scale": "0.000012842483",
	})
	s, err := read(t, c)
	if err != nil || math.Abs(s.Bag-86184.5) > 0.1 || s.Quality != 0 {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestRawWithoutOffset(t *testing.T) {
	c := Defaults()
	c.Pressure, c.Temperature = none, "glueline"
	c.Dir = device(t, "thermo", map[string]string{"in_temp0_raw": "1250", "in_temp_scale": "10"})
	if s, err := read(t, c); err != nil || s.GlueLine != 12.5 {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestGauge(t *testing.T) {
	c := Defaults()
	c.Pressure, c.Reference = "bag", "gauge"
	c.Dir = device(t, "hsc030pa", map[string]string{"in_pressure_input": "-84.0"})
	if s, err := read(t, c); err != nil || s.GaugeVacuum() != 84000 || s.Bag != 17325 {
		t.Errorf("got %+v, %v", s, err)
	}
}

func TestErrors(t *testing.T) {
	c := Defaults()
	c.Dir = device(t, "bme280", map[string]string{"in_pressure_input": "16.0"})
	if _, err := read(t, c); !errors.Is(err, ErrRoom) {
		t.Errorf("bag taken for the room: %v", err)
	}
	c.Dir = device(t, "bme280", map[string]string{"in_pressure_input": ""})
	if _, err := read(t, c); err == nil || !strings.Contains(err.Error(), "not a number") {
		t.Errorf("empty file: %v", err)
	}
	c.Dir = device(t, "ads1015", map[string]string{"in_voltage0_raw": "1"})
	if _, err := read(t, c); err == nil || !strings.Contains(err.Error(), "iio:device0 (ads1015)") {
		t.Errorf("no pressure: %v", err)
	}
	c.Dir = device(t, "bme280", map[string]string{"in_pressure_raw": "1", "in_pressure_scale": "x"})
	if _, err := read(t, c); err == nil {
		t.Error("bad scale: no error")
	}
}

func TestCheck(t *testing.T) {
	for name, spoil := range map[string]func(*Config){
		"pressure":     func(c *Config) { c.Pressure = "glueline" },
		"temperature":  func(c *Config) { c.Temperature = "bag" },
		"nothing":      func(c *Config) { c.Pressure = none },
		"reference":    func(c *Config) { c.Reference = "sealed" },
		"gauge of all": func(c *Config) { c.Reference = "gauge" },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
