package main

import (
	"encoding/json"
	"os"
	"strings"
	"testing"
)

// noisyShed has a bag sensor with a noise of 20 Pa.
func noisyShed(t *testing.T) shed {
	t.Helper()
	s := newShed(t, "")
	text := strings.Replace(readFile(t, s.config), `scenario = "plain"`, "scenario = \"plain\"\npart.noise_pa = 20", 1)
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return s
}

// TestSensorNoise measures a noise that was put in: with twenty readings the
// standard deviation is within 45 % of it but for one case in a thousand.
func TestSensorNoise(t *testing.T) {
	s := noisyShed(t)
	r := s.run(t, "sensor", "noise", "--for", "1500ms", "--json")
	var found noiseText
	if err := json.Unmarshal([]byte(r.out), &found); r.code != exitOK || err != nil {
		t.Fatalf("exit %d, %v: %s%s", r.code, err, r.out, r.err)
	}
	if sd := found.Noise.SD; sd < 9 || sd > 31 {
		t.Errorf("noise %v Pa, 20 were put in", sd)
	}
	if len(found.Leaks) < 3 {
		t.Fatalf("leaks %v", found.Leaks)
	}
	for i, leak := range found.Leaks {
		if leak.BestS <= 0 || leak.ExpectS < leak.BestS {
			t.Errorf("leak %+v", leak)
		}
		if i > 0 && (leak.PaPerH < found.Leaks[i-1].PaPerH) != (leak.BestS > found.Leaks[i-1].BestS) {
			t.Errorf("a smaller leak must take longer: %+v after %+v", leak, found.Leaks[i-1])
		}
	}
	if r = s.run(t, "sensor", "noise", "--for", "500ms"); r.code != exitOK || !strings.Contains(r.out, "Pa") {
		t.Errorf("for people: exit %d: %s%s", r.code, r.out, r.err)
	}
}

func TestSensorReadWatch(t *testing.T) {
	s := noisyShed(t)
	r := s.run(t, "sensor", "read", "--watch", "--for", "600ms")
	if r.code != exitOK || strings.Count(r.out, "\n") < 3 {
		t.Errorf("exit %d, a line a reading is expected: %s%s", r.code, r.out, r.err)
	}
}

func TestSensorScan(t *testing.T) {
	r := command(t, "", "sensor", "scan", "--json")
	var report map[string]any
	if err := json.Unmarshal([]byte(r.out), &report); r.code != exitOK || err != nil {
		t.Errorf("exit %d, %v: %s%s", r.code, err, r.out, r.err)
	}
}
