package main

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
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

// TestWatchTriesAgain watches a sensor that is plugged in only later, is pulled out,
// and comes back.
func TestWatchTriesAgain(t *testing.T) {
	s := stillShed(t, "absolute", "101.3", "101.3")
	cfg, err := config.Load(s.config)
	if err != nil {
		t.Fatal(err)
	}
	here, away := filepath.Join(s.folder, "iio"), filepath.Join(s.folder, "away")
	move := func(from, to string) {
		if err := os.Rename(from, to); err != nil {
			t.Fatal(err)
		}
	}
	move(here, away)
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		var mu sync.Mutex
		var last heard
		failures := 0
		now := func() (heard, int) {
			mu.Lock()
			defer mu.Unlock()
			return last, failures
		}
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			keepListening(ctx, cfg.Presses[0], cfg.Presses[0].Sensors[0], func(h heard) {
				mu.Lock()
				defer mu.Unlock()
				if last = h; h.err != nil {
					failures++
				}
			})
		}()
		time.Sleep(9 * time.Second)
		if h, n := now(); n < 4 || !strings.Contains(h.err.Error(), "trying again") {
			t.Errorf("%d failures, the last %v", n, h.err)
		}
		move(away, here)
		time.Sleep(5 * time.Second)
		if h, _ := now(); h.err != nil || h.sample.Bag != 101300 {
			t.Errorf("plugged in: %+v", h)
		}
		move(here, away)
		time.Sleep(5 * time.Second)
		if h, _ := now(); h.err == nil {
			t.Error("pulled out, and it reads on")
		}
		move(away, here)
		time.Sleep(5 * time.Second)
		if h, _ := now(); h.err != nil {
			t.Errorf("plugged in again: %v", h.err)
		}
		cancel()
		<-ended
	})
}
