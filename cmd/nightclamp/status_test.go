package main

import (
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// The exit code is what a script goes by: a sensor that fails before there is anything
// to hold must be in it, one that has yet to answer must not.
func TestStatusOfSensors(t *testing.T) {
	for name, c := range map[string]struct {
		sensor press.SensorStatus
		code   int
		says   string
	}{
		"well":     {press.SensorStatus{Name: "mpr", Healthy: true}, statusFine, ""},
		"to come":  {press.SensorStatus{Name: "mpr"}, statusFine, "mpr has not answered yet"},
		"does not": {press.SensorStatus{Name: "mpr", Error: "remote I/O error"}, statusDoubt, "mpr does not answer: remote I/O error"},
	} {
		st := press.New(press.Config{Press: "sled"}).Status()
		st.Sensors = []press.SensorStatus{c.sensor}
		if got := trouble(st); got != c.code {
			t.Errorf("%s: exit code %d, want %d", name, got, c.code)
		}
		var b strings.Builder
		writeNumbers(&b, st, units.Display{})
		if c.says != "" && !strings.Contains(b.String(), c.says) {
			t.Errorf("%s: %s", name, b.String())
		}
		if strings.Contains(b.String(), "0.0 °C") {
			t.Errorf("%s: a glue line that nobody has read is told as 0 °C: %s", name, b.String())
		}
	}
}
