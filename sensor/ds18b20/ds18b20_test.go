package ds18b20

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// tree lays out files as the kernel does and returns their folder.
func tree(t *testing.T, parts map[string]string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "sys", "bus", "w1", "devices")
	if err := os.MkdirAll(filepath.Join(dir, "w1_bus_master1"), 0o750); err != nil {
		t.Fatal(err)
	}
	for id, text := range parts {
		if err := os.MkdirAll(filepath.Join(dir, id), 0o750); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, id, "w1_slave"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// lines is what the kernel writes for a raw value.
func lines(raw int16) string {
	nine := fmt.Sprintf("%02x %02x 4b 46 7f ff 0c 10 25", byte(raw), byte(uint16(raw)>>8))
	return fmt.Sprintf("%s : crc=25 YES\n%s t=%d\n", nine, nine, int(raw)*1000/16)
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

// The table "Temperature/Data Relationship" of the datasheet: 07D0h +125,
// 0191h +25.0625, 00A2h +10.125, 0008h +0.5, 0000h 0, FFF8h −0.5, FF5Eh
// −10.125, FE6Fh −25.0625, FC90h −55 °C. (0550h, +85, is an error here.) The
// kernel's milli °C cut off what is below them.
func TestDatasheetTable(t *testing.T) {
	for raw, want := range map[uint16]float64{
		0x07D0: 125, 0x0191: 25.0625, 0x00A2: 10.125, 0x0008: 0.5, 0x0000: 0, 0xFFF8: -0.5, 0xFF5E: -10.125, 0xFE6F: -25.0625, 0xFC90: -55,
	} {
		dir := tree(t, map[string]string{"28-0316a2794fff": lines(int16(raw))})
		s, err := read(t, Config{As: "glueline", Dir: dir})
		if err != nil || math.Abs(s.GlueLine-want) > 0.001 {
			t.Errorf("%04X: got %v °C, %v, want %v", raw, s.GlueLine, err, want)
		}
		if s.Knows(sensor.Air) || s.Knows(sensor.Bag) {
			t.Errorf("%04X: got %+v", raw, s)
		}
	}
}

func TestAsAir(t *testing.T) {
	dir := tree(t, map[string]string{"28-0316a2794fff": lines(0x0191), "28-0416c2794aaa": lines(0x00A2)})
	c := Config{ID: "28-0416c2794aaa", As: "air", Dir: dir}
	s, err := read(t, c)
	if err != nil || s.Air != 10.125 || s.Knows(sensor.GlueLine) {
		t.Errorf("got %+v, %v", s, err)
	}
	if reads := c.Reads(); len(reads) != 1 || reads[0] != sensor.Air {
		t.Errorf("reads %v", reads)
	}
}

func TestNotTemperatures(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want error
	}{
		"checksum":      {"91 01 4b 46 7f ff 0c 10 24 : crc=25 NO\n91 01 4b 46 7f ff 0c 10 24 t=25062\n", ErrChecksum},
		"power-on":      {lines(0x0550), ErrPowerOn},
		"absent":        {"ff ff ff ff ff ff ff ff ff : crc=c9 YES\nff ff ff ff ff ff ff ff ff t=-127000\n", ErrAbsent},
		"short":         {"00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n", ErrShort},
		"range":         {"91 01 4b 46 7f ff 0c 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0c 10 25 t=200000\n", ErrRange},
		"empty":         {"", ErrAbsent},
		"one line":      {"91 01 4b 46 7f ff 0c 10 25 : crc=25 YES\n", ErrFormat},
		"no number":     {"91 01 4b 46 7f ff 0c 10 25 : crc=25 YES\n91 t=warm\n", ErrFormat},
		"another file":  {"hello\nworld\n", ErrFormat},
		"cut off early": {"91 01 4b 46 7f ff 0c 10 25 : crc=25 YES\n91 01 4b", ErrFormat},
	} {
		t.Run(name, func(t *testing.T) {
			dir := tree(t, map[string]string{"28-0316a2794fff": c.text})
			if _, err := read(t, Config{As: "glueline", Dir: dir}); !errors.Is(err, c.want) {
				t.Errorf("got %v, want %v", err, c.want)
			}
		})
	}
}

func TestOpenErrorsTeach(t *testing.T) {
	for name, c := range map[string]struct {
		cfg  Config
		want string
	}{
		"no 1-wire": {Config{As: "glueline", Dir: filepath.Join(t.TempDir(), "none")}, "enable 1-wire"},
		"no part":   {Config{As: "glueline", Dir: tree(t, nil)}, "check the wiring and the pull-up"},
		"two parts": {Config{As: "glueline", Dir: tree(t, map[string]string{"28-0a": "", "28-0b": ""})}, "set id to one of 28-0a, 28-0b"},
		"gone":      {Config{ID: "28-0c", As: "glueline", Dir: tree(t, nil)}, "is the part connected?"},
	} {
		if _, err := read(t, c.cfg); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v does not say %q", name, err, c.want)
		}
	}
}

// A part that is pulled off while the daemon runs.
func TestUnplugged(t *testing.T) {
	dir := tree(t, map[string]string{"28-0316a2794fff": lines(0x0191)})
	p, err := Open(Config{As: "glueline", Dir: dir}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(dir, "28-0316a2794fff")); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(t.Context()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("got %v", err)
	}
}

func TestCheck(t *testing.T) {
	for _, c := range []Config{{As: "bag"}, {As: "air", ID: "../x"}} {
		if c.Check() == nil {
			t.Errorf("%+v was accepted", c)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(lines(0x0191))
	f.Add("00 : crc=00 NO\n")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := parse([]byte(text))
		if err == nil && !(c >= -55 && c <= 125 && c != 85) {
			t.Errorf("%q is %v °C", text, c)
		}
	})
}
