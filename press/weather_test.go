package press

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cure"
	"github.com/nightclamp/nightclamp/press/units"
	"github.com/nightclamp/nightclamp/sensor"
)

func TestWeatherOrders(t *testing.T) {
	at, none := time.Date(2026, 10, 5, 20, 0, 0, 0, time.UTC), Unknown()
	for name, o := range map[string]WeatherOrder{
		"nothing":   {LowC: none, HighC: none},
		"exchanged": {LowC: 7, HighC: -2},
		"kelvin":    {LowC: 271, HighC: none},
		"both":      {LowC: -2, HighC: none, Forget: true},
	} {
		if w, err := o.Weather(at, units.Display{}); Code(err) != BadOrder || w.Told() {
			t.Errorf("%s: %+v, %v", name, w, err)
		}
	}
	w, err := WeatherOrder{LowC: -2, HighC: none}.Weather(at, units.Display{})
	if err != nil || w.LowC != -2 || w.HighC.Known() || !w.Until.Equal(at.Add(24*time.Hour)) {
		t.Errorf("%+v, %v", w, err)
	}
}

// A cold night that is told makes the press time later, at once; forgotten, it is what
// it was. The record says both, and a run that is worked out again from it knows it.
func TestARunIsToldTheWeather(t *testing.T) {
	slow := glue()
	slow.PressTime = []cure.Point{{AtC: 10, Hours: [2]float64{24, 24}}, {AtC: 30, Hours: [2]float64{8, 8}}}
	cfg := Config{Press: "bench", Sheet: slow}
	run := New(cfg)
	var kept []Event
	var samples []sensor.Sample
	begin := time.Date(2026, 10, 5, 18, 0, 0, 0, time.UTC)
	for m := range 120 {
		s := sensor.Blank(begin.Add(time.Duration(m) * time.Minute))
		s.Ambient, s.Bag, s.GlueLine = 100e3, 16e3+float64(m%7), 13
		samples = append(samples, s)
		kept = append(kept, run.Advance(s)...)
	}
	before := run.Status().PressTimeAt
	told := Weather{LowC: 2, HighC: Unknown(), Until: run.clock.now.Add(WeatherLasts)}
	events := run.Weather(told, "")
	if len(events) == 0 || events[0].Kind != WeatherTold || events[0].LowC != 2 || !events[0].Until.Equal(told.Until) {
		t.Fatalf("told: %v", events)
	}
	if again := run.Weather(told, ""); len(again) > 0 {
		t.Errorf("told twice: %v", again)
	}
	colder := run.Status().PressTimeAt
	if d := colder.Expected.Sub(before.Expected); d < time.Hour && !colder.Expected.IsZero() {
		t.Errorf("a night of 2 °C makes it later by %s", d)
	}

	kept = append(kept, events...)
	resumed, _ := Resume(cfg, kept, slices.Values(samples))
	last := samples[len(samples)-1]
	last.Time = last.Time.Add(time.Minute)
	resumed.Advance(last)
	run.Advance(last)
	if !resumed.weather.same(told) {
		t.Errorf("resumed: %+v", resumed.weather)
	}
	for _, ahead := range []float64{6 * 3600, 12 * 3600, 24 * 3600} {
		if a, b := resumed.warmthAhead()(ahead), run.warmthAhead()(ahead); a != b {
			t.Errorf("resumed: %+v, before %+v", a, b)
		}
	}

	events = run.Weather(Weather{}, WeatherRevoked)
	if len(events) == 0 || events[0].Kind != WeatherForgotten || events[0].Reason != WeatherRevoked {
		t.Fatalf("forgotten: %v", events)
	}
	if after := run.Status().PressTimeAt; after.Expected.Sub(before.Expected).Abs() > 15*time.Minute {
		t.Errorf("before %s, forgotten %s", before.Expected, after.Expected)
	}
	if run.Release(); len(run.Weather(told, "")) > 0 {
		t.Error("a run that is over is told the weather")
	}
}

// The coldest hour that was told is of the night: once it has been, the rest of the 24
// hours is not pulled down by it.
func TestALowThatHasBeen(t *testing.T) {
	night := func(told bool) float64 {
		run := New(Config{Press: "bench", Sheet: glue()})
		shed := func(h float64) (float64, float64) { // coldest twelve hours in
			return 12 + 6*math.Cos(2*math.Pi*h/24), 12 + 6*math.Cos(2*math.Pi*h/24)
		}
		warmed(run, 0.1, shed)
		if told {
			run.Weather(Weather{LowC: 2, HighC: Unknown(), Until: run.clock.now.Add(WeatherLasts)}, "")
		}
		begin := run.clock.now
		for m := 1.0; m <= 60*18; m++ {
			s := sensor.Blank(begin.Add(time.Duration(m) * time.Minute))
			s.Ambient, s.Bag = 100e3, 16e3+math.Mod(m, 7)
			s.GlueLine, s.Air = shed(m / 60)
			run.Advance(s)
		}
		return run.warmthAhead()(6 * 3600).Expected
	}
	if with, without := night(true), night(false); math.Abs(with-without) > 0.1 {
		t.Errorf("six hours after the low: %.2f °C, %.2f without a report", with, without)
	}
}
