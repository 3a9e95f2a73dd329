package drivers

import (
	"errors"
	"strings"
	"testing"
	"time"

	"periph.io/x/conn/v3/i2c"

	"github.com/nightclamp/nightclamp/sensor/bus"
	"github.com/nightclamp/nightclamp/sensor/bus/bustest"
)

// Every part on the bus must be configurable with nothing but defaults, and
// its absence must be an error that says what to do, not a crash.
func TestAbsentParts(t *testing.T) {
	e := Env{Now: time.Now, Host: bustest.New(nil).Host()}
	for _, name := range []string{"abp2", "ads1115", "bme280", "bmp388", "currentloop", "hsc", "lps22", "mcp9808", "mpr", "ms5803", "sht4x", "thermistor"} {
		d, err := Find(name)
		if err != nil {
			t.Fatal(err)
		}
		source, err := d.New(t.Context(), e, nil)
		if err == nil {
			_, err = source.Read(t.Context())
		}
		if err == nil || !strings.Contains(err.Error(), "nothing answers there") || !strings.HasPrefix(err.Error(), name+": ") {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

func TestNoBus(t *testing.T) {
	none := func(string) (i2c.BusCloser, error) { return nil, errors.New("i2creg: no bus found") }
	d, err := Find("mpr")
	if err != nil {
		t.Fatal(err)
	}
	source, err := d.New(t.Context(), Env{Host: bus.With(none)}, nil)
	if source != nil || err == nil || !strings.Contains(err.Error(), "enable I²C") {
		t.Errorf("got %v, %v", source, err)
	}
}

// Configuring must touch nothing: a config is checked on another machine.
func TestConfigureTouchesNothing(t *testing.T) {
	b := bustest.New(nil)
	for _, d := range Table() {
		o := Options{}
		switch d.Name {
		case "csv":
			o["path"] = "no/such/file.csv"
		case "nats":
			o["subject"] = "shed.deck.bag"
		case "serial":
			o["port"], o["reads"] = "/dev/no-such-port", []any{"bag", "glueline"}
		}
		part, err := d.Configure(Env{Host: b.Host()}, o)
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
			continue
		}
		if part.Driver != d.Name || len(part.Reads) == 0 || part.Timeout <= 0 || part.Open == nil {
			t.Errorf("%s: got %+v", d.Name, part)
		}
	}
	if b.Count() > 0 {
		t.Errorf("%d transfers", b.Count())
	}
}
