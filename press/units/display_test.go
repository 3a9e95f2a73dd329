package units_test

import (
	"math"
	"testing"
	"time"
	_ "time/tzdata" // the zone of the test must be there everywhere

	"github.com/nightclamp/nightclamp/press/units"
)

func TestDisplayPressure(t *testing.T) {
	for _, c := range []struct {
		unit units.PressureUnit
		pa   float64
		want string
	}{
		{units.KPa, 84012, "84 kPa"}, {units.KPa, 3210, "3.2 kPa"}, {units.KPa, -20, "0.0 kPa"}, {units.KPa, 9960, "10 kPa"},
		{units.InHg, 84012, "24.8 inHg"}, {units.Mbar, 84012, "840 mbar"}, {units.HPa, 84012, "840 hPa"},
		{units.Psi, 84012, "12.2 psi"}, {units.Pa, 84012, "84012 Pa"}, {units.Bar, 84012, "0.84 bar"}, {units.Torr, 84012, "630 torr"},
		{units.KPa, math.NaN(), "–"}, {units.KPa, math.Inf(1), "–"},
	} {
		if got := (units.Display{PressureUnit: c.unit}).Pressure(c.pa); got != c.want {
			t.Errorf("%v Pa is %q, want %q", c.pa, got, c.want)
		}
	}
}

func TestDisplayRate(t *testing.T) {
	for _, c := range []struct {
		unit units.PressureUnit
		rate float64
		want string
	}{
		{units.KPa, 2100, "2.1 kPa/h"}, {units.KPa, 350, "0.35 kPa/h"}, {units.KPa, 12345, "12 kPa/h"}, {units.KPa, 4, "0.00 kPa/h"},
		{units.KPa, -4, "0.00 kPa/h"}, {units.KPa, -350, "-0.35 kPa/h"}, {units.KPa, 996, "1.0 kPa/h"},
		{units.InHg, 2100, "0.62 inHg/h"}, {units.Mbar, 2100, "21 mbar/h"}, {units.Mbar, 42, "0.4 mbar/h"}, {units.Psi, 2100, "0.30 psi/h"},
		{units.Pa, 2100, "2100 Pa/h"}, {units.KPa, math.NaN(), "–"},
	} {
		if got := (units.Display{PressureUnit: c.unit}).Rate(c.rate); got != c.want {
			t.Errorf("%v Pa/h is %q, want %q", c.rate, got, c.want)
		}
	}
}

func TestDisplayTemperature(t *testing.T) {
	for _, c := range []struct {
		unit units.TemperatureUnit
		c    float64
		want string
	}{
		{units.Celsius, 11.52, "11.5 °C"}, {units.Fahrenheit, 11.5, "52.7 °F"}, {units.Kelvin, 11.5, "284.6 K"},
		{units.Celsius, -0.02, "0.0 °C"}, {units.Celsius, math.NaN(), "–"},
	} {
		if got := (units.Display{TemperatureUnit: c.unit}).Temperature(c.c); got != c.want {
			t.Errorf("%v °C is %q, want %q", c.c, got, c.want)
		}
	}
}

func TestDisplayNumbers(t *testing.T) {
	d := units.Display{PressureUnit: units.InHg, TemperatureUnit: units.Fahrenheit}
	if v, unit := d.PressureNumber(3386.389); v != 1 || unit != "inHg" {
		t.Errorf("3386.389 Pa is %v %s", v, unit)
	}
	if v, unit := d.TemperatureNumber(100); v != 212 || unit != "°F" {
		t.Errorf("100 °C is %v %s", v, unit)
	}
	if v, _ := d.PressureNumber(math.NaN()); !math.IsNaN(v) {
		t.Errorf("NaN Pa is %v", v)
	}
}

func TestClock(t *testing.T) {
	now := time.Date(2026, 10, 21, 22, 15, 0, 0, time.UTC) // a Wednesday
	at := func(days, h, m int) time.Time { return time.Date(2026, 10, 21+days, h, m, 0, 0, time.UTC) }
	for want, moment := range map[string]time.Time{
		"23:50":                    at(0, 23, 50),
		"01:12":                    at(0, 1, 12),
		"09:50 tomorrow":           at(1, 9, 50),
		"09:50 yesterday":          at(-1, 9, 50),
		"12:00 on Friday":          at(2, 12, 0),
		"12:00 on Tuesday":         at(6, 12, 0),
		"12:00 on 28 October":      at(7, 12, 0),
		"12:00 on 19 October":      at(-2, 12, 0),
		"12:00 on 19 January 2027": at(90, 12, 0),
		"–":                        {},
	} {
		if got := (units.Display{}).Clock(moment, now); got != want {
			t.Errorf("%v is %q, want %q", moment, got, want)
		}
	}
	if got := (units.Display{Clock12: true}).Clock(at(1, 9, 50), now); got != "9:50 am tomorrow" {
		t.Errorf("on a 12-hour clock: %q", got)
	}
}

// The day that a person calls tomorrow is that of their own zone, also in the
// night the clocks change (25 October 2026 in central Europe).
func TestClockZone(t *testing.T) {
	zone := time.FixedZone("CEST", 2*3600)
	d := units.Display{Location: zone}
	now := time.Date(2026, 10, 24, 23, 30, 0, 0, zone)
	if got := d.Clock(now.Add(time.Hour), now); got != "00:30 tomorrow" {
		t.Errorf("an hour after 23:30 is %q", got)
	}
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	d.Location = berlin
	if got := d.Clock(time.Date(2026, 10, 25, 8, 0, 0, 0, time.UTC), now); got != "09:00 tomorrow" {
		t.Errorf("after the change: %q", got)
	}
}

func TestSpan(t *testing.T) {
	for want, span := range map[string]time.Duration{
		"0 s": 0, "45 s": 45 * time.Second, "1 min": 59700 * time.Millisecond, "35 min": 35*time.Minute + 20*time.Second,
		"1 h": 59*time.Minute + 40*time.Second, "5 h": 5*time.Hour + 2*time.Minute, "5 h 20 min": 5*time.Hour + 21*time.Minute,
		"10 h": 9*time.Hour + 58*time.Minute, "18 h": 18*time.Hour + 20*time.Minute, "47 h": 47 * time.Hour,
		"2 d 3 h": 51*time.Hour + 10*time.Minute, "2 d": 47*time.Hour + 40*time.Minute, "-5 h": -5 * time.Hour,
	} {
		if got := (units.Display{}).Span(span); got != want {
			t.Errorf("%v is %q, want %q", span, got, want)
		}
	}
	if got := (units.Display{}).Span(math.MinInt64); got != "-106751 d 23 h" {
		t.Errorf("the least span is %q", got)
	}
	for s, want := range map[float64]string{18000: "5 h", math.Inf(1): "–", 1e12: "–"} {
		if got := (units.Display{}).SpanSeconds(s); got != want {
			t.Errorf("%v s is %q, want %q", s, got, want)
		}
	}
	if got := (units.Display{}).SpanSeconds(math.NaN()); got != units.Missing {
		t.Errorf("an unknown span is %q", got)
	}
}
