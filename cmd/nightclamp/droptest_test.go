package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor/sim"
)

// benchSeries is a bag on the bench, a row a second, pumped for the first minutes.
func benchSeries(t *testing.T, leak float64, hours int) string {
	t.Helper()
	cfg := sim.Plain()
	cfg.Part.NoisePa = 10
	cfg.Start = sim.BoatShedBegins(time.UTC)
	cfg.Scenario.PumpRuns = []sim.PumpRun{{From: time.Minute, To: 5 * time.Minute}}
	cfg.Scenario.Leaks = []sim.Leak{{PaPerH: leak}}
	bag := sim.New(cfg)
	var b strings.Builder
	b.WriteString("time,bag_pa,ambient_pa,air_c\n")
	for i := range hours * 3600 {
		s := bag.Step(cfg.Start.Add(time.Duration(i) * time.Second))
		fmt.Fprintf(&b, "%d,%.1f,%.1f,%.2f\n", i, s.Bag, s.Ambient, s.Air)
	}
	path := filepath.Join(t.TempDir(), "bench.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestDropTestOfASeries(t *testing.T) {
	for _, c := range []struct {
		leak  float64
		hours int
		code  int
		says  string
	}{
		{60, 1, dropHolds, "The bag holds."},
		{6000, 1, dropFails, "The bag does not hold."},
		{800, 0, exitUsage, "bench.csv"},
	} {
		r := command(t, "", "drop-test", "--hold", "24h", "--floor", "65kPa", "--replay", benchSeries(t, c.leak, c.hours))
		if r.code != c.code || !strings.Contains(r.out+r.err, c.says) {
			t.Errorf("leak of %.0f Pa/h: exit %d, want %d saying %q:\n%s%s", c.leak, r.code, c.code, c.says, r.out, r.err)
		}
	}
	r := command(t, "", "drop-test", "--hold", "60h", "--json", "--replay", benchSeries(t, 470, 1))
	var d press.DropTest
	if err := json.Unmarshal([]byte(r.out), &d); err != nil || r.code != dropDoubt || d.Outcome != press.DropCannotTell {
		t.Errorf("too short a series: exit %d, %v:\n%s%s", r.code, err, r.out, r.err)
	}
}

// TestDropTestCommand gives the order to a running daemon, shows the test, and
// ends it from another command.
func TestDropTestCommand(t *testing.T) {
	s := newShed(t, "")
	s.serve(t)
	if r := s.run(t, "drop-test", "--cancel"); r.code != exitFault || !strings.Contains(r.err, "no drop test") {
		t.Errorf("nothing to cancel: exit %d: %s%s", r.code, r.out, r.err)
	}
	if r := s.run(t, "drop-test", "keel"); r.code != exitFault || !strings.Contains(r.err, "keel") {
		t.Errorf("a press that is not there: exit %d: %s%s", r.code, r.out, r.err)
	}
	shown := make(chan result)
	go func() { shown <- s.run(t, "drop-test", "bench", "--hold", "24h") }()
	for cancelled := false; !cancelled; {
		r := s.run(t, "drop-test", "--cancel")
		cancelled = r.code == exitOK
		if cancelled && !strings.Contains(r.out, "broken off: you ended it") {
			t.Errorf("cancelled: %s", r.out)
		}
	}
	r := <-shown
	for _, says := range []string{"with nothing in the bag", "Pump the bag down", "nightclamp start", "broken off: you ended it"} {
		if !strings.Contains(r.out, says) {
			t.Errorf("the test was shown without %q:\n%s%s", says, r.out, r.err)
		}
	}
	if r.code != dropDoubt {
		t.Errorf("exit %d", r.code)
	}
}
