package press

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// bench is a sound bag at 85 kPa with a barometer, a sample a second; change
// lets a test spoil samples.
func bench(seconds int, change func(i int, s *sensor.Sample)) (*Run, []Event) {
	r := New(Config{Site: "shed", Press: "bench"})
	noise := rand.New(rand.NewPCG(1, 2)) //nolint:gosec // a test wants repeatable noise
	var all []Event
	for i := range seconds {
		s := sensor.Blank(time.Unix(1e9+int64(i), 0).UTC())
		s.Bag, s.Ambient, s.GlueLine = 16325+20*noise.NormFloat64(), 101325, 15+0.02*noise.NormFloat64()
		change(i, &s)
		all = append(all, r.Advance(s)...)
	}
	return r, all
}

func quantities(events []Event, kind Kind) []string {
	var list []string
	for _, e := range events {
		if e.Kind == kind {
			list = append(list, e.Quantity)
		}
	}
	return list
}

func during(from, to int, do func(s *sensor.Sample)) func(int, *sensor.Sample) {
	return func(i int, s *sensor.Sample) {
		if i >= from && i < to {
			do(s)
		}
	}
}

func TestReadings(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(int, *sensor.Sample)
		kind   Kind // expected, with SensorBack after it
		on     string
	}{
		{"bag silent for two minutes", during(600, 720, func(s *sensor.Sample) { s.Bag = math.NaN() }), SensorSilent, "bag"},
		{"bag saturated for two minutes", during(600, 720, func(s *sensor.Sample) { s.Quality |= sensor.Saturated }), SensorSilent, "bag"},
		{"barometer silent for two minutes", during(600, 720, func(s *sensor.Sample) { s.Ambient = math.NaN() }), SensorSilent, "ambient"},
		{"barometer silent, with a stand-in", during(600, 720, func(s *sensor.Sample) { s.Quality |= sensor.AmbientSilent }), SensorSilent, "ambient"},
		{"glue line silent for ten minutes", during(600, 1200, func(s *sensor.Sample) { s.GlueLine = math.NaN() }), SensorSilent, "glueline"},
		{"bag stuck for twenty minutes", during(600, 1800, func(s *sensor.Sample) { s.Bag = 16331 }), SensorStuck, "bag"},
		{"bag spikes once", during(600, 601, func(s *sensor.Sample) { s.Bag = 60e3 }), SensorJumped, "bag"},
		{"bag reads above the room", during(600, 700, func(s *sensor.Sample) { s.Bag = 120e3 }), SensorJumped, "bag"},
		{"glue line reads its power-on value", during(600, 700, func(s *sensor.Sample) { s.GlueLine = 85 }), SensorJumped, "glueline"},
	} {
		_, events := bench(2400, test.change)
		if got := quantities(events, test.kind); !slices.Equal(got, []string{test.on}) {
			t.Errorf("%s: %s of %v", test.name, test.kind, got)
		}
		if got := quantities(events, SensorBack); !slices.Equal(got, []string{test.on}) {
			t.Errorf("%s: sensor_back of %v", test.name, got)
		}
		for _, e := range events {
			switch e.Kind {
			case LeakFound, BelowFloor, VacuumLost, ToppedUp:
				t.Errorf("%s: made a %s", test.name, e.Kind)
			}
		}
	}
}

func TestReadingsThatAreFine(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(int, *sensor.Sample)
	}{
		{"nothing wrong", during(0, 0, nil)},
		{"one reading lost", during(600, 601, func(s *sensor.Sample) { s.Bag = math.NaN() })},
		{"no glue-line probe at all", during(0, 1e9, func(s *sensor.Sample) { s.GlueLine = math.NaN() })},
		{"a part that resolves 100 Pa", func(_ int, s *sensor.Sample) { s.Bag = 16300 }},
	} {
		_, events := bench(1200, test.change)
		for _, e := range events {
			switch e.Kind {
			case HoldStarted, Settled:
			default:
				t.Errorf("%s: %s %s", test.name, e.Kind, e.Quantity)
			}
		}
	}
}

// A bag that opens is believed within seconds: it is no spike.
func TestOpenBagIsBelieved(t *testing.T) {
	r, events := bench(700, during(600, 700, func(s *sensor.Sample) { s.Bag = 101e3 }))
	i := slices.IndexFunc(events, func(e Event) bool { return e.Kind == VacuumLost })
	if i < 0 {
		t.Fatalf("events: %v", events)
	}
	if delay := events[i].Time.Sub(time.Unix(1e9+600, 0)); delay > 15*time.Second {
		t.Errorf("an open bag was noticed after %s", delay)
	}
	if got := quantities(events, SensorJumped); got != nil {
		t.Errorf("an open bag was taken for a bad reading of %v", got)
	}
	if v := r.Status().VacuumPa; v > 1e3 {
		t.Errorf("the vacuum shows as %v Pa", v)
	}
}
