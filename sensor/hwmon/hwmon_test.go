package hwmon

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func tree(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// Milli °C, as Documentation/hwmon/sysfs-interface.rst says.
func TestRead(t *testing.T) {
	c := Defaults()
	c.Device, c.As = "jc42", "air"
	c.Dir = tree(t, map[string]string{
		"hwmon0/name": "cpu_thermal", "hwmon0/temp1_input": "48300",
		"hwmon1/name": "jc42", "hwmon1/temp1_input": "-10125",
	})
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	p, err := Open(c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if s, err := p.Read(t.Context()); err != nil || s.Air != -10.125 {
		t.Errorf("got %+v, %v", s, err)
	}
}

// Milli per cent, as the same document says.
func TestHumidity(t *testing.T) {
	c := Defaults()
	c.As, c.Humid = "air", true
	c.Dir = tree(t, map[string]string{
		"hwmon0/name": "cpu_thermal", "hwmon0/temp1_input": "48300",
		"hwmon1/name": "sht4x", "hwmon1/temp1_input": "8100", "hwmon1/humidity1_input": "78250",
	})
	p, err := Open(c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if s, err := p.Read(t.Context()); err != nil || s.Air != 8.1 || s.Humidity != 78.25 {
		t.Errorf("got %+v, %v", s, err)
	}
	if err := os.Remove(filepath.Join(c.Dir, "hwmon1", "humidity1_input")); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(t.Context()); err == nil {
		t.Error("a hygrometer that is gone was read")
	}
}

func TestErrors(t *testing.T) {
	c := Defaults()
	c.Dir = tree(t, map[string]string{"hwmon0/name": "cpu_thermal", "hwmon0/temp1_input": "1", "hwmon1/name": "jc42", "hwmon1/temp1_input": "2"})
	if _, err := Open(c, time.Now); err == nil || !strings.Contains(err.Error(), "set device to one of cpu_thermal, jc42") {
		t.Errorf("two that fit: %v", err)
	}
	c.Dir = tree(t, map[string]string{"hwmon0/name": "max31865", "hwmon0/temp1_input": "1", "hwmon0/temp1_fault": "1"})
	p, err := Open(c, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(t.Context()); !errors.Is(err, ErrFault) {
		t.Errorf("fault: %v", err)
	}
}

func TestCheck(t *testing.T) {
	for _, spoil := range []func(*Config){
		func(c *Config) { c.As = "bag" },
		func(c *Config) { c.Input = "fan1_input" },
		func(c *Config) { c.Input = "../temp1_input" },
	} {
		c := Defaults()
		spoil(&c)
		if c.Check() == nil {
			t.Errorf("%+v was accepted", c)
		}
	}
}
