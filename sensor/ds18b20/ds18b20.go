package ds18b20

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Config says which thermometer it is and where it lies.
type Config struct {
	ID  string `toml:"id" doc:"the part's name below dir, as 28-0316a2794fff; not needed when there is only one"`
	As  string `toml:"as" doc:"where it lies: glueline or air"`
	Dir string `toml:"dir" doc:"where the kernel shows 1-wire parts"`
}

// Defaults is the only part there is, in the glue line.
func Defaults() Config { return Config{As: "glueline", Dir: "/sys/bus/w1/devices"} }

// Check refuses a place that a thermometer cannot speak for.
func (c Config) Check() error {
	if c.As != "glueline" && c.As != "air" {
		return fmt.Errorf("as is %q: give glueline or air", c.As)
	}
	if c.ID != filepath.Base(c.ID) && c.ID != "" {
		return fmt.Errorf("id is %q: give the name of a folder below %s", c.ID, c.Dir)
	}
	return nil
}

// Reads is where the thermometer lies.
func (c Config) Reads() []sensor.Quantity { return []sensor.Quantity{sensor.Quantity(c.As)} }

// family is the first byte of a DS18B20's serial number.
const family = "28-"

// Errors of the part and its line.
var (
	ErrChecksum = errors.New("checksum is wrong: check the wiring, the 4.7 kΩ pull-up and the length of the lead")
	ErrPowerOn  = errors.New("85 °C is the value after power-on: the part has lost its supply or cannot convert; connect all three wires")
	ErrAbsent   = errors.New("no part answers: check the wiring")
	ErrShort    = errors.New("nothing but zeros: the data line is shorted to ground")
	ErrRange    = errors.New("outside the part's −55 to 125 °C")
	ErrFormat   = errors.New("not what the kernel's w1_therm driver writes")
)

// Part is one thermometer.
type Part struct {
	file     string
	quantity sensor.Quantity
	now      func() time.Time
}

// Open finds the thermometer's file.
func Open(c Config, now func() time.Time) (*Part, error) {
	id := c.ID
	if id == "" {
		only, err := find(c.Dir)
		if err != nil {
			return nil, fmt.Errorf("ds18b20: %w", err)
		}
		id = only
	}
	file := filepath.Join(c.Dir, id, "w1_slave")
	if _, err := os.Stat(file); err != nil {
		return nil, fmt.Errorf("ds18b20: %w; is the part connected? ls %s shows what is", err, c.Dir)
	}
	return &Part{file: file, quantity: sensor.Quantity(c.As), now: now}, nil
}

// find returns the name of the only DS18B20 in dir.
func find(dir string) (string, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("%w; enable 1-wire in the board's settings (on many boards: dtoverlay=w1-gpio) and load w1-gpio and w1-therm", err)
	}
	if err != nil {
		return "", err
	}
	var found []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), family) {
			found = append(found, e.Name())
		}
	}
	switch len(found) {
	case 0:
		return "", fmt.Errorf("no part with a name in %s* below %s: check the wiring and the pull-up", family, dir)
	case 1:
		return found[0], nil
	}
	return "", fmt.Errorf("%d parts below %s: set id to one of %s", len(found), dir, strings.Join(found, ", "))
}

// Read makes one conversion. The kernel blocks for it, up to 750 ms, and
// cannot be interrupted.
func (p *Part) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	text, err := os.ReadFile(p.file)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("ds18b20: %w", err)
	}
	c, err := parse(text)
	if err != nil {
		return sensor.Sample{}, fmt.Errorf("ds18b20: %s says %q: %w", p.file, firstLine(text), err)
	}
	return p.quantity.With(sensor.Blank(p.now()), c), nil
}

// Close does nothing: the file is opened for each reading.
func (p *Part) Close() error { return nil }

// parse reads the two lines of w1_slave:
//
//	91 01 4b 46 7f ff 0c 10 25 : crc=25 YES
//	91 01 4b 46 7f ff 0c 10 25 t=25062
func parse(text []byte) (celsius float64, err error) {
	first, second, ok := strings.Cut(strings.TrimRight(string(text), "\n"), "\n")
	if !ok || !strings.Contains(first, "crc=") {
		if len(bytes.TrimSpace(text)) == 0 {
			return 0, ErrAbsent
		}
		return 0, ErrFormat
	}
	if !strings.HasSuffix(first, "YES") {
		return 0, ErrChecksum
	}
	if strings.HasPrefix(first, "00 00 00 00 00 00 00 00 00 ") {
		return 0, ErrShort
	}
	_, number, ok := strings.Cut(second, "t=")
	if !ok {
		return 0, ErrFormat
	}
	milli, err := strconv.ParseInt(strings.TrimSpace(number), 10, 32)
	if err != nil {
		return 0, ErrFormat
	}
	return judge(milli)
}

// judge refuses the temperatures that are none.
func judge(milli int64) (float64, error) {
	switch {
	case milli == 85000:
		return 0, ErrPowerOn
	case milli == -127000 || milli == -127:
		return 0, ErrAbsent
	case milli < -55000 || milli > 125000:
		return 0, ErrRange
	}
	return float64(milli) / 1000, nil
}

func firstLine(text []byte) string {
	line, _, _ := bytes.Cut(text, []byte{'\n'})
	return string(line[:min(len(line), 80)])
}
