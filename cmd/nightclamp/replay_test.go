package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/sensor/csvfile"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// result is what one command line printed and how it ended.
type result struct {
	code     int
	out, err string
}

// command runs a command line with stdin.
func command(t *testing.T, stdin string, args ...string) result {
	t.Helper()
	var out, err bytes.Buffer
	code := execute(t.Context(), streams{strings.NewReader(stdin), &out, &err}, args)
	return result{code, out.String(), err.String()}
}

// objects reads the output of replay --json.
func objects(t *testing.T, text string) []map[string]any {
	t.Helper()
	var list []map[string]any
	for line := range strings.Lines(text) {
		var o map[string]any
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v in line %q", err, line)
		}
		list = append(list, o)
	}
	if len(list) == 0 {
		t.Fatal("nothing was printed")
	}
	return list
}

// nightCSV is the demo's night as a file, a row every step seconds.
func nightCSV(t testing.TB, step int, moment func(i int) string) string {
	t.Helper()
	cfg := sim.BoatShed()
	cfg.Start = sim.BoatShedBegins(time.UTC)
	bag := sim.New(cfg)
	var b strings.Builder
	b.WriteString("time,bag_pa,ambient_pa,glueline_c,air_c\n")
	for i := 0; i <= int(sim.BoatShedLength/time.Second); i += step {
		s := bag.Step(cfg.Start.Add(time.Duration(i) * time.Second))
		fmt.Fprintf(&b, "%s,%.1f,%.1f,%.3f,%.3f\n", moment(i), s.Bag, s.Ambient, s.GlueLine, s.Air)
	}
	return b.String()
}

func seconds(i int) string { return fmt.Sprint(i) }

func rfc3339(i int) string {
	return sim.BoatShedBegins(time.UTC).Add(time.Duration(i) * time.Second).Format(time.RFC3339)
}

func TestReplaySummary(t *testing.T) {
	r := command(t, nightCSV(t, 1, rfc3339), "replay", "--glue", "pva-d3", "--json", "-")
	if r.code != exitOK || r.err != "" {
		t.Fatalf("exit %d: %s", r.code, r.err)
	}
	list := objects(t, r.out)
	sum := list[len(list)-1]
	for _, key := range []string{
		"stage", "samples", "vacuum_pa", "leak_rate_pa_per_h", "leak_rate_low", "leak_rate_high", "progress",
		"clamped_progress", "press_time_at", "floor_at", "margin_s", "verdict", "sentence",
	} {
		if _, there := sum[key]; !there {
			t.Errorf("the summary lacks %s", key)
		}
	}
	if sum["kind"] != "summary" || sum["stage"] != "release" || sum["verdict"] != "pressed" || sum["samples"] != 108001.0 {
		t.Errorf("summary %v", sum)
	}
	if list[0]["kind"] != "pulldown_started" || list[len(list)-2]["kind"] != "released" {
		t.Errorf("the first event is %v, the last %v", list[0], list[len(list)-2])
	}
	for _, o := range list[:len(list)-1] {
		if _, err := time.Parse(time.RFC3339Nano, o["time"].(string)); err != nil {
			t.Errorf("time of %v: %v", o["kind"], err)
		}
	}
}

// TestReplayKindsOfTime: the same night told in seconds gives the same events,
// their times as numbers.
func TestReplayKindsOfTime(t *testing.T) {
	inSeconds := objects(t, command(t, nightCSV(t, 10, seconds), "replay", "--glue", "pva-d3", "--json", "-").out)
	inDates := objects(t, command(t, nightCSV(t, 10, rfc3339), "replay", "--glue", "pva-d3", "--json", "-").out)
	if len(inSeconds) != len(inDates) {
		t.Fatalf("%d events in seconds, %d in dates", len(inSeconds)-1, len(inDates)-1)
	}
	begin := sim.BoatShedBegins(time.UTC)
	for i, o := range inSeconds[:len(inSeconds)-1] {
		date, err := time.Parse(time.RFC3339Nano, inDates[i]["time"].(string))
		if err != nil {
			t.Fatal(err)
		}
		if o["kind"] != inDates[i]["kind"] || o["time"] != date.Sub(begin).Seconds() {
			t.Errorf("%v at %v, %v at %v", o["kind"], o["time"], inDates[i]["kind"], date)
		}
	}
}

// TestReplayUnderVacuumIsAHold: a gauge series that begins under vacuum.
func TestReplayUnderVacuumIsAHold(t *testing.T) {
	text := "time,vacuum_pa,glueline_c\n"
	for i := range 3600 {
		text += fmt.Sprintf("%d,%d,20\n", i, 85000+i*7919%41)
	}
	r := command(t, text, "replay", "--glue", "uf-two-part", "--json", "-")
	list := objects(t, r.out)
	if list[0]["kind"] != "hold_started" || list[0]["time"] != 0.0 {
		t.Errorf("the first event is %v", list[0])
	}
	at := list[len(list)-1]["press_time_at"].(map[string]any)
	// Two-part UF, fast hardener, at 20 °C: 1 3/4 h, doubled for bent work
	// (light-aircraft construction manual, App. D, 2002; the built-in sheet).
	if expected := at["expected"].(float64); expected < 2*1.75*3600-60 || expected > 2*1.75*3600+60 {
		t.Errorf("press time at %v s, want %v", expected, 2*1.75*3600)
	}
}

func TestReplayBadInput(t *testing.T) {
	folder := t.TempDir()
	cut := filepath.Join(folder, "cut.csv")
	if err := os.WriteFile(cut, []byte("time,bag_pa\n0,16000\n1"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		name, stdin string
		args        []string
		says        []string
	}{
		{"unknown column", "time,bag_pa,humidity\n", []string{"-"}, []string{":1:", "humidity", "glueline_c"}},
		{"no time", "bag_pa\n1\n", []string{"-"}, []string{"time"}},
		{"time goes back", "time,bag_pa\n5,16000\n4,16000\n", []string{"-"}, []string{":3:"}},
		{"no number", "time,bag_pa\n5,16000\n6,sixteen\n", []string{"-"}, []string{":3:", "bag_pa", "sixteen"}},
		{"cut off", "", []string{cut}, []string{cut, ":3:"}},
		{"no file", "", []string{filepath.Join(folder, "none.csv")}, []string{"none.csv"}},
		{"missing datasheet", "time,bag_pa\n0,1\n", []string{"--glue", "pva-d33", "-"}, []string{"pva-d33", "pva-d3"}},
		{"impossible floor", "time,bag_pa\n0,1\n", []string{"--floor", "120kPa", "-"}, []string{"120 kPa", "--floor"}},
		{"floor without unit", "time,bag_pa\n0,1\n", []string{"--floor", "65", "-"}, []string{"kPa"}},
		{"no argument", "", nil, []string{"arg"}},
		{"empty", "", []string{"-"}, []string{":1:", "header"}},
	} {
		r := command(t, test.stdin, append([]string{"replay", "--json"}, test.args...)...)
		if r.code != exitUsage {
			t.Errorf("%s: exit %d, want %d (%s)", test.name, r.code, exitUsage, r.err)
		}
		for _, word := range test.says {
			if !strings.Contains(r.err, word) {
				t.Errorf("%s: the error does not say %q: %s", test.name, word, r.err)
			}
		}
	}
}

// recorded holds real series; the README beside them tells their sources and
// licences.
const recorded = "../../leak/testdata/replay/"

// TestReplaySealedHullHasNoLeak replays sealed instrument hulls under rough
// vacuum at sea (C-PROOF pyglider example data, Apache-2.0). They are sound, and
// yet raw dP/dt exceeds 2 kPa/h, from temperature and from an oil ballast that
// changes the free volume.
func TestReplaySealedHullHasNoLeak(t *testing.T) {
	for _, name := range []string{"hull-10.csv", "hull-12.csv"} {
		text := readFile(t, recorded+name)
		if fastest := fastestRise(t, text); fastest < 2000 {
			t.Errorf("%s: the raw rise is at most %v Pa/h: the series shows nothing", name, fastest)
		}
		list := objects(t, command(t, text, "replay", "--json", "--floor", "20kPa", "-").out)
		for _, o := range list {
			switch o["kind"] {
			case "leak_found", "margin_gone", "below_floor", "vacuum_lost":
				t.Errorf("%s: on a sound hull: %v", name, o)
			}
		}
		if sum := list[len(list)-1]; sum["stage"] != "hold" {
			t.Errorf("%s: ends in %v", name, sum["stage"])
		}
	}
}

// TestReplayChambersRank replays real leak-downs (chambers by Eva Zillen, CC0,
// mirrored into a vacuum): the more a chamber lost in all, the higher its rate.
func TestReplayChambersRank(t *testing.T) {
	type chamber struct {
		name      string
		raw, rate float64
	}
	var all []chamber
	for _, name := range []string{"prusa", "ultimaker-010", "aluminium", "ultimaker-006", "formlabs"} {
		text := readFile(t, recorded+"chamber-"+name+".csv")
		list := objects(t, command(t, text, "replay", "--json", "--floor", "20kPa", "-").out)
		rate, known := list[len(list)-1]["leak_rate_pa_per_h"].(float64)
		if !known {
			t.Errorf("%s: no rate at all", name)
		}
		all = append(all, chamber{name, rawLoss(t, text), rate})
	}
	slices.SortFunc(all, func(a, b chamber) int { return cmp.Compare(a.raw, b.raw) })
	for i, c := range all {
		t.Logf("%-14s lost %6.0f Pa/h in all, leaks %6.0f Pa/h", c.name, c.raw, c.rate)
		if i > 0 && c.rate <= all[i-1].rate {
			t.Errorf("%s leaks %v Pa/h, the tighter %s %v", c.name, c.rate, all[i-1].name, all[i-1].rate)
		}
	}
}

// rawLoss is last minus first bag pressure over the time between them, Pa/h.
func rawLoss(t *testing.T, text string) float64 {
	t.Helper()
	r, err := csvfile.NewReader(strings.NewReader(text), "chamber")
	if err != nil {
		t.Fatal(err)
	}
	first, err := r.Next()
	if err != nil {
		t.Fatal(err)
	}
	for last := first; ; {
		s, err := r.Next()
		if err != nil {
			return (last.Bag - first.Bag) / last.Time.Sub(first.Time).Hours()
		}
		last = s
	}
}

func readFile(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// fastestRise is the largest rise of the raw pressure over five minutes, Pa/h.
func fastestRise(t *testing.T, text string) float64 {
	t.Helper()
	r, err := csvfile.NewReader(strings.NewReader(text), "hull")
	if err != nil {
		t.Fatal(err)
	}
	var fastest float64
	var times []time.Time
	var values []float64
	for {
		s, err := r.Next()
		if err != nil {
			return fastest
		}
		times, values = append(times, s.Time), append(values, s.Bag)
		for len(times) > 0 && s.Time.Sub(times[0]) > 5*time.Minute {
			fastest = max(fastest, (s.Bag-values[0])/s.Time.Sub(times[0]).Hours())
			times, values = times[1:], values[1:]
		}
	}
}

func BenchmarkReplay(b *testing.B) {
	text := nightCSV(b, 1, seconds)
	rows := float64(strings.Count(text, "\n") - 1)
	for b.Loop() {
		var out, err bytes.Buffer
		if code := execute(b.Context(), streams{strings.NewReader(text), &out, &err}, []string{"replay", "--glue", "pva-d3", "-"}); code != exitOK {
			b.Fatal(err.String())
		}
	}
	b.ReportMetric(float64(b.N)*rows/b.Elapsed().Seconds(), "samples/s")
}
