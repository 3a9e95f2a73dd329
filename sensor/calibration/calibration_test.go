package calibration_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
)

var day = time.Date(2026, time.October, 17, 19, 0, 0, 0, time.UTC)

func entry(kind calibration.Kind, change func(*calibration.Entry)) calibration.Entry {
	e := calibration.Entry{At: day, Press: "sled", Sensor: "mpr", Quantity: sensor.Bag, Kind: kind, Factor: 1, Against: "the barometer"}
	change(&e)
	return e
}

func book(t *testing.T, entries ...calibration.Entry) calibration.Book {
	t.Helper()
	var b calibration.Book
	for _, e := range entries {
		if err := b.Add(e); err != nil {
			t.Fatal(err)
		}
	}
	return b
}

func bag(pa float64) sensor.Sample {
	s := sensor.Blank(day)
	s.Bag = pa
	return s
}

func near(a, b float64) bool { return math.Abs(a-b) < 0.01 }

// A part that reads 400 Pa too much at the room's 101 000 Pa and whose span is 1 %
// short reads (101 000 − 16 000)·0.99 below that at 16 000 Pa.
func TestZeroAndSpan(t *testing.T) {
	b := book(t,
		entry(calibration.Zero, func(e *calibration.Entry) { e.OffsetPa = -400 }),
		entry(calibration.Span, func(e *calibration.Entry) { e.Factor, e.PivotPa = 1/0.99, 101000 }),
	)
	c := b.For("sled", "mpr")
	for truth, read := range map[float64]float64{101000: 101400, 16000: 101400 - 85000*0.99} {
		if got := c.Apply(bag(read), math.NaN()).Bag; !near(got, truth) {
			t.Errorf("read %v, corrected %v, is %v", read, got, truth)
		}
	}
	if s := b.For("sled", "other").Apply(bag(5), 10); s.Bag != 5 {
		t.Error("another sensor is corrected too")
	}
	if got := c.Apply(sensor.Blank(day), 10); !math.IsNaN(got.Bag) || !math.IsNaN(got.Ambient) {
		t.Errorf("a missing reading becomes %+v", got)
	}
}

// A gauge part is corrected in its vacuum, whatever the room.
func TestGauge(t *testing.T) {
	c := book(t,
		entry(calibration.Zero, func(e *calibration.Entry) { e.OffsetPa, e.Gauge = -700, true }),
		entry(calibration.Span, func(e *calibration.Entry) { e.Factor, e.Gauge = 1.02, true }),
		entry(calibration.Temperature, func(e *calibration.Entry) { e.PaPerK, e.AtC, e.Gauge = -20, 15, true }),
	).For("sled", "mpr")
	s := c.Apply(sensor.FromVacuum(day, 80700), 10)
	if v := s.GaugeVacuum(); !near(v, (80000-100)*1.02) {
		t.Errorf("vacuum %v", v)
	}
	if s = s.In(95500); !near(s.Bag, 95500-(80000-100)*1.02) || !near(s.Vacuum(), (80000-100)*1.02) {
		t.Errorf("in a room of 955 hPa: %+v", s)
	}
}

// TestTogether takes a zero while a span and a temperature are in force, and a span
// while a zero is: the known pressure comes out, for either kind of part.
func TestTogether(t *testing.T) {
	for _, gauge := range []bool{false, true} {
		pivot := 101000.0
		if gauge {
			pivot = 0
		}
		old := []calibration.Entry{
			entry(calibration.Span, func(e *calibration.Entry) { e.Factor, e.PivotPa, e.Gauge = 1.03, pivot, gauge }),
			entry(calibration.Temperature, func(e *calibration.Entry) { e.PaPerK, e.AtC, e.Gauge = 9, 15, gauge }),
		}
		reads := func(pa float64) sensor.Sample {
			if gauge {
				return sensor.FromVacuum(day, pa)
			}
			return bag(pa)
		}
		says := func(s sensor.Sample) float64 {
			if gauge {
				return s.GaugeVacuum()
			}
			return s.Bag
		}
		b := book(t, old...)
		known := pivot
		zero := b.For("sled", "mpr").ZeroFor(sensor.Bag, gauge, known+333, known, 5)
		if err := b.Add(entry(calibration.Zero, func(e *calibration.Entry) { e.OffsetPa, e.KnownPa, e.Gauge = zero, known, gauge })); err != nil {
			t.Fatal(err)
		}
		if got := says(b.For("sled", "mpr").Apply(reads(known+333), 5)); !near(got, known) {
			t.Errorf("gauge %v: the zero gives %v, want %v", gauge, got, known)
		}
		factor, turns := b.For("sled", "mpr").SpanFor(sensor.Bag, gauge, 22000, 20500, 101300, 5)
		if err := b.Add(entry(calibration.Span, func(e *calibration.Entry) { e.Factor, e.PivotPa, e.Gauge = factor, turns, gauge })); err != nil {
			t.Fatal(err)
		}
		c := b.For("sled", "mpr")
		if got := says(c.Apply(reads(22000), 5)); !near(got, 20500) {
			t.Errorf("gauge %v: the span gives %v", gauge, got)
		}
	}
}

func TestBarometer(t *testing.T) {
	c := book(t, entry(calibration.Zero, func(e *calibration.Entry) { e.Quantity, e.OffsetPa = sensor.Ambient, 120 })).For("sled", "mpr")
	s := sensor.Blank(day)
	s.Ambient = 101000
	if got := c.Apply(s, 10); got.Ambient != 101120 || !math.IsNaN(got.Bag) {
		t.Errorf("%+v", got)
	}
}

func TestTemperature(t *testing.T) {
	c := book(t, entry(calibration.Temperature, func(e *calibration.Entry) { e.PaPerK, e.AtC = -12, 15 })).For("sled", "mpr")
	for air, want := range map[float64]float64{15: 16000, 5: 16120, 20: 15940} {
		if got := c.Apply(bag(16000), air).Bag; !near(got, want) {
			t.Errorf("at %v °C %v, want %v", air, got, want)
		}
	}
	if got := c.Apply(bag(16000), math.NaN()).Bag; got != 16000 {
		t.Errorf("without a thermometer %v", got)
	}
}

// TestUndo undoes one after the other.
func TestUndo(t *testing.T) {
	b := book(t,
		entry(calibration.Zero, func(e *calibration.Entry) { e.OffsetPa = 100 }),
		entry(calibration.Temperature, func(e *calibration.Entry) { e.PaPerK, e.AtC = 5, 15 }),
		entry(calibration.Zero, func(e *calibration.Entry) { e.OffsetPa = 200 }),
	)
	for _, want := range []float64{1250, 1150, 1100, 1000} {
		if got := b.For("sled", "mpr").Apply(bag(1000), 25).Bag; got != want {
			t.Errorf("corrected to %v, want %v", got, want)
		}
		e, err := b.Undo("sled", "mpr", day.Add(time.Hour), "a slip")
		if want == 1000 != (err != nil) {
			t.Errorf("%+v, %v", e, err)
		}
	}
	if len(b.Entries) != 3 || b.Entries[0].Undone != "a slip" {
		t.Errorf("undone entries are gone: %+v", b.Entries)
	}
	if text := b.For("sled", "mpr").String(); text != "" {
		t.Errorf("in force: %s", text)
	}
}

func TestFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), calibration.File)
	b, err := calibration.Load(path)
	if err != nil || len(b.Entries) != 0 {
		t.Fatalf("%v, %v", b, err)
	}
	b = book(t, entry(calibration.Zero, func(e *calibration.Entry) { e.OffsetPa = -312.5 }))
	if err := b.Save(path); err != nil {
		t.Fatal(err)
	}
	again, err := calibration.Load(path)
	if err != nil || len(again.Entries) != 1 || again.Entries[0] != b.Entries[0] {
		t.Errorf("%+v, %v", again, err)
	}
	if text := again.For("sled", "mpr").String(); text != "bag zero -312 Pa of 2026-10-17 against the barometer" {
		t.Errorf("says %q", text)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if err := b.Save(filepath.Join(path, "none", "x")); err == nil {
		t.Error("saved into nowhere")
	}
}

func TestRefused(t *testing.T) {
	for name, change := range map[string]func(*calibration.Entry){
		"offset":      func(e *calibration.Entry) { e.OffsetPa = 9000 },
		"none":        func(e *calibration.Entry) { e.OffsetPa = math.NaN() },
		"sensor":      func(e *calibration.Entry) { e.Sensor = "" },
		"temperature": func(e *calibration.Entry) { e.Quantity = sensor.Air },
		"span":        func(e *calibration.Entry) { e.Kind, e.Factor = calibration.Span, 1.3 },
		"drift":       func(e *calibration.Entry) { e.Kind, e.PaPerK = calibration.Temperature, 500 },
		"kind":        func(e *calibration.Entry) { e.Kind = "guess" },
	} {
		var b calibration.Book
		if err := b.Add(entry(calibration.Zero, change)); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	for _, text := range []string{"", "[]", `{"schema":2}`, `{"schema":1,"entries":[{"kind":"zero"}]}`} {
		if _, err := calibration.Parse([]byte(text)); err == nil {
			t.Errorf("%q: taken", text)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"schema":1,"entries":[{"at":"2026-10-17T19:00:00Z","press":"sled","sensor":"mpr","quantity":"bag","kind":"span","factor":1.01,"pivot_pa":101000}]}`))
	f.Add([]byte(`{"schema":1,"entries":[]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		b, err := calibration.Parse(text)
		if err != nil {
			return
		}
		for _, e := range b.Entries {
			c := b.For(e.Press, e.Sensor)
			if got := c.Apply(bag(16000), 12).Bag; math.Abs(got) > 1e300 || math.IsNaN(got) {
				t.Fatalf("16000 Pa become %v by %s", got, c)
			}
		}
	})
}

// night is a hold of 12 h on a board whose sensor drifts by drift Pa/K: the air goes
// round by ±5 K, the glue line follows it late and less, and the seal leaks.
func night(rng *rand.Rand, drift, noise float64) calibration.Night {
	const settled, p0, gas0 = 12 * 3600.0, 16000.0, 14.0
	leak := 50 + 60*rng.Float64() // Pa/h
	phase := rng.Float64() * math.Pi
	var n calibration.Night
	for t := 0.0; t < settled; t += 10 {
		air := 12 + 5*math.Sin(2*math.Pi*t/86400*1.5+phase)
		gas := gas0 + 2.5*math.Sin(2*math.Pi*(t-7200)/86400*1.5+phase)
		truth := (p0 + leak*t/3600) * (gas + 273.15) / (gas0 + 273.15) // Gay-Lussac, constant volume
		n = append(n, calibration.Point{
			At: day.Add(time.Duration(t) * time.Second), BagPa: truth + drift*(air-12) + noise*rng.NormFloat64(), AirC: air, GasC: gas,
		})
	}
	return n
}

func TestLearn(t *testing.T) {
	for _, drift := range []float64{-25, -8, 8, 25} {
		rng := rand.New(rand.NewPCG(3, 5))
		d, err := calibration.Learn([]calibration.Night{night(rng, drift, 20), night(rng, drift, 20), night(rng, drift, 20), night(rng, drift, 20)})
		if err != nil {
			t.Errorf("%v Pa/K: %v", drift, err)
			continue
		}
		if off := math.Abs(d.PaPerK - drift); off > 4*d.SE || off > 2 {
			t.Errorf("%v Pa/K learnt as %.2f ± %.2f", drift, d.PaPerK, d.SE)
		}
	}
}

func TestNothingToLearn(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	sound := func() calibration.Night { return night(rng, 0, 20) }
	drifts := func(d float64) calibration.Night { return night(rng, d, 20) }
	for name, c := range map[string]struct {
		nights []calibration.Night
		says   string
	}{
		"no drift":     {[]calibration.Night{sound(), sound(), sound(), sound()}, "may be none at all"},
		"one night":    {[]calibration.Night{drifts(20)}, "1 of 1 sound nights"},
		"short nights": {[]calibration.Night{drifts(20)[:900], drifts(20)[:900], drifts(20)[:900]}, "0 of 3"},
		"contradict":   {[]calibration.Night{drifts(20), drifts(-22), drifts(19), drifts(-20)}, "may be none at all"},
	} {
		if d, err := calibration.Learn(c.nights); !errors.Is(err, calibration.ErrTooLittle) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: learnt %+v, %v", name, d, err)
		}
	}
}
