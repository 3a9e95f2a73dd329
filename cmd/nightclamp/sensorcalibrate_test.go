package main

import (
	"fmt"
	"log/slog"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
)

// stillShed is a press whose bag and barometer are the files of a kernel's drivers,
// which always say the same: pressures in kPa, the kernel's unit for them (Linux,
// Documentation/ABI/testing/sysfs-bus-iio). A gauge part's is that above the room.
func stillShed(t *testing.T, reference, bag, ambient string) shed {
	t.Helper()
	s := newShed(t, "")
	for device, value := range map[string]string{"0": bag, "1": ambient} {
		dir := filepath.Join(s.folder, "iio", "iio:device"+device)
		if err := os.MkdirAll(dir, 0o750); err != nil {
			t.Fatal(err)
		}
		for file, text := range map[string]string{"name": "part" + device, "in_pressure_input": value} {
			if err := os.WriteFile(filepath.Join(dir, file), []byte(text+"\n"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	text := readFile(t, s.config)
	text = text[:strings.Index(text, "[[press.sensor]]")]
	for i, name := range []string{"bag", "room"} {
		quantity, of := "bag", reference
		if name == "room" {
			quantity, of = "ambient", "absolute"
		}
		text += fmt.Sprintf("[[press.sensor]]\ndriver = \"iio\"\nname = %q\ndevice = \"part%d\"\npressure = %q\nreference = %q\ndir = %q\n", name, i, quantity, of, filepath.Join(s.folder, "iio"))
	}
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(s.folder, "data"), 0o750); err != nil {
		t.Fatal(err)
	}
	return s
}

// TestCalibrate takes a zero and a span of a part that is off, reads, and undoes.
func TestCalibrate(t *testing.T) {
	s := stillShed(t, "absolute", "101.73", "101.3")
	for _, step := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"list"}, exitOK, "Nothing is calibrated"},
		{[]string{"undo"}, exitFault, "nothing to undo"},
		{[]string{"zero", "--for", "400ms", "--note", "first evening"}, exitOK, "against the barometer room (sure to ±57.7 Pa); first evening"},
		{[]string{"list"}, exitOK, "in force"},
		{[]string{"list"}, exitOK, "first evening"},
		{[]string{"span"}, exitUsage, "what does the other gauge show"},
		{[]string{"span", "--for", "400ms", "--known", "99kPa"}, exitUsage, "take the span at 20 kPa"},
		{[]string{"span", "--for", "400ms", "--vacuum", "40kPa"}, exitUsage, "draw the vacuum first"},
		{[]string{"zero", "--for", "400ms", "--known", "90kPa"}, exitUsage, "is the line open"},
		{[]string{"zero", "--of", "air"}, exitUsage, "give bag, or ambient"},
		{[]string{"zero", "--sensor", "other"}, exitUsage, "no sensor reads the bag pressure"},
		{[]string{"zero", "--press", "other"}, exitUsage, `no press "other"`},
		{[]string{"zero", "--of", "ambient", "--for", "400ms"}, exitUsage, "what does the room really have"},
		{[]string{"zero", "--of", "ambient", "--altitude", "100"}, exitUsage, "go together"},
		// U.S. Standard Atmosphere 1976: 1013.25 hPa at sea level are 1001.29 at 100 m.
		{[]string{"zero", "--of", "ambient", "--for", "400ms", "--altitude", "100", "--sea-level", "1013.25hPa"}, exitOK, "ambient zero -1171 Pa"},
		{[]string{"undo", "--of", "ambient", "--note", "a slip"}, exitOK, "Undone: bench/room"},
		{[]string{"list"}, exitOK, "undone 20"},
		{[]string{"temperature"}, exitFault, "no record yet"},
	} {
		r := s.run(t, append([]string{"sensor", "calibrate"}, step.args...)...)
		if r.code != step.code || !strings.Contains(r.out+r.err, step.says) {
			t.Errorf("%v: exit %d, want %d saying %q:\n%s%s", step.args, r.code, step.code, step.says, r.out, r.err)
		}
	}
	if r := s.run(t, "sensor", "read", "--json"); !strings.Contains(r.out, `"bag": 101300`) {
		t.Errorf("a reading after the zero: %s%s", r.out, r.err)
	}
	cfg, err := config.Load(s.config)
	if err != nil {
		t.Fatal(err)
	}
	feed, err := newLiveFeed(cfg.Presses[0], cfg, slog.New(slog.DiscardHandler))
	if err != nil || !strings.Contains(feed.Calibration(), "bag: bag zero -430 Pa") {
		t.Errorf("the daemon has %q, %v", feed.Calibration(), err)
	}
}

// TestCalibrateSpan has a part that shows 2 % too little of the vacuum.
func TestCalibrateSpan(t *testing.T) {
	for kind, says := range map[string]string{"absolute": "22.9", "gauge": "-78.4"} {
		s := stillShed(t, kind, says, "101.3")
		if r := s.run(t, "sensor", "calibrate", "span", "--for", "400ms", "--vacuum", "80kPa"); r.code != exitOK || !strings.Contains(r.out, "bag span +2.04 %") || !strings.Contains(r.out, "(sure to ±92") {
			t.Errorf("%s: exit %d: %s%s", kind, r.code, r.out, r.err)
		}
		want := `"bag": 21300`
		if kind == "gauge" {
			want = `"vacuum": 80000`
		}
		if r := s.run(t, "sensor", "read", "--json"); !strings.Contains(r.out, want) {
			t.Errorf("%s afterwards: %s", kind, r.out)
		}
	}
}

// TestCalibrateOnlyBetweenRuns refuses while the bag holds.
func TestCalibrateOnlyBetweenRuns(t *testing.T) {
	if err := (&app{}).idle(t.Context(), config.Default(), calibrating{force: true}, "bench"); err != nil {
		t.Errorf("forced: %v", err)
	}
	s := newShed(t, "")
	s.serve(t)
	r := s.run(t, "sensor", "calibrate", "zero", "--for", "500ms", "--known", "101kPa")
	if r.code != exitOK && !strings.Contains(r.err, "a step in the pressure") {
		t.Errorf("exit %d: %s%s", r.code, r.out, r.err)
	}
}

// keepNight keeps a sound night of a board whose part drifts by paPerK.
func keepNight(t *testing.T, store *record.Store, night int, paPerK float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(uint64(night), 1))
	start := time.Date(2026, 10, 10+night, 19, 0, 0, 0, time.UTC)
	id := "bench-" + start.Format("20060102")
	run := record.Run{ID: id, Press: "bench", Started: start, Verdict: press.Pressed, Stage: press.Release, Ended: start.Add(13 * time.Hour)}
	if err := store.PutRun(t.Context(), run); err != nil {
		t.Fatal(err)
	}
	for sec := 0; sec < 12*3600; sec += 5 {
		x := float64(sec)
		s := sensor.Blank(start.Add(time.Duration(sec) * time.Second))
		s.Air, s.GlueLine, s.Ambient = 12+5*math.Cos(x/14400), 15+2*math.Cos((x-7200)/14400), 101300
		s.Bag = 17000*(s.GlueLine+273.15)/288.15 + 80*x/3600 + paPerK*(s.Air-12) + 15*rng.NormFloat64()
		if err := store.AddSample(t.Context(), id, s); err != nil {
			t.Fatal(err)
		}
	}
	event := func(kind press.Kind, at time.Time) press.Event {
		return press.Event{Time: at, Press: "bench", Run: id, Kind: kind, VacuumPa: 84e3, Verdict: press.Pressed}
	}
	if err := store.AddEvents(t.Context(), event(press.HoldStarted, start), event(press.Released, start.Add(12*time.Hour))); err != nil {
		t.Fatal(err)
	}
}

// TestCalibrateTemperature learns a drift that was put in, and changes nothing before
// it is told to.
func TestCalibrateTemperature(t *testing.T) {
	s := stillShed(t, "absolute", "101.3", "101.3")
	store, err := record.Open(t.Context(), filepath.Join(s.folder, "data", "nightclamp.db"), record.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for night := range 3 {
		keepNight(t, store, night, 22)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	r := s.run(t, "sensor", "calibrate", "temperature")
	if r.code != exitOK || !strings.Contains(r.out, "Nothing was changed") || !strings.Contains(r.out, "From 3 sound nights") {
		t.Fatalf("exit %d: %s%s", r.code, r.out, r.err)
	}
	path := filepath.Join(s.folder, "data", calibration.File)
	if _, err := os.Stat(path); err == nil {
		t.Fatal("it was changed without consent")
	}
	if r = s.run(t, "sensor", "calibrate", "temperature", "--yes"); r.code != exitOK {
		t.Fatalf("exit %d: %s%s", r.code, r.out, r.err)
	}
	b, err := calibration.Load(path)
	if err != nil || len(b.Entries) != 1 || math.Abs(b.Entries[0].PaPerK+22) > 2 {
		t.Errorf("%+v, %v", b, err)
	}
	if r = s.run(t, "sensor", "calibrate", "temperature"); r.code != exitFault || !strings.Contains(r.err, "0 of 0 sound nights") {
		t.Errorf("the same nights again: exit %d: %s%s", r.code, r.out, r.err)
	}
}

func TestHoldOf(t *testing.T) {
	at := func(h float64) time.Time {
		return time.Date(2026, 10, 17, 19, 0, 0, 0, time.UTC).Add(time.Duration(h * float64(time.Hour)))
	}
	for name, c := range map[string]struct {
		events []press.Event
		sound  bool
	}{
		"whole":                          {[]press.Event{{Kind: press.HoldStarted, Time: at(0)}, {Kind: press.Released, Time: at(12)}}, true},
		"leak":                           {[]press.Event{{Kind: press.HoldStarted, Time: at(0)}, {Kind: press.LeakFound, Time: at(3)}, {Kind: press.Released, Time: at(12)}}, false},
		"top-up at the end, then a leak": {[]press.Event{{Kind: press.HoldStarted, Time: at(0)}, {Kind: press.ToppedUp, Time: at(8)}, {Kind: press.LeakFound, Time: at(9)}}, true},
		"open yet":                       {[]press.Event{{Kind: press.HoldStarted, Time: at(0)}}, false},
		"never held":                     {[]press.Event{{Kind: press.Released, Time: at(1)}}, false},
	} {
		if _, _, sound := holdOf(c.events); sound != c.sound {
			t.Errorf("%s: sound %v", name, sound)
		}
	}
}

// What is shown while a part is tried is what the daemon would take: calibrated, and
// of a gauge part what it measures, the vacuum.
func TestReadShowsWhatTheDaemonTakes(t *testing.T) {
	s := stillShed(t, "absolute", "101.73", "101.3")
	if r := s.run(t, "sensor", "calibrate", "zero", "--for", "400ms"); r.code != exitOK {
		t.Fatal(r.out, r.err)
	}
	if r := s.run(t, "sensor", "read", "--json"); !strings.Contains(r.out, `"bag": 101300`) {
		t.Errorf("read: %s%s", r.out, r.err)
	}
	if r := s.run(t, "sensor", "read", "--watch", "--for", "300ms"); !strings.Contains(r.out, "bench/bag bag  101730 Pa  101300 Pa (calibrated), 101 kPa") {
		t.Errorf("watch: %s%s", r.out, r.err)
	}
	if r := s.run(t, "sensor", "read", "--watch", "--for", "300ms", "--json"); !strings.Contains(r.out, `"raw":101730,"value":101300,"converted":"101 kPa"`) {
		t.Errorf("watch as JSON: %s%s", r.out, r.err)
	}
	if r := s.run(t, "sensor", "read", "--press", "sled"); r.code != exitUsage || !strings.Contains(r.err, `no press "sled"`) {
		t.Errorf("another press: exit %d, %s%s", r.code, r.out, r.err)
	}

	s = stillShed(t, "gauge", "-84.2", "101.3")
	for _, args := range [][]string{{"read"}, {"read", "--watch", "--for", "300ms"}} {
		r := s.run(t, append([]string{"sensor"}, args...)...)
		if !strings.Contains(r.out, "vacuum") || !strings.Contains(r.out, "84 kPa") || strings.Contains(r.out, "bag bag") {
			t.Errorf("gauge part, %v: %s%s", args, r.out, r.err)
		}
	}
}
