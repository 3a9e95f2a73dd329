//go:build full

package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// TestKilledAndPickedUp kills the real program with SIGKILL again and again while a
// run is on the press. Each time it must come back to the same run, tell the gap,
// and have every event once.
func TestKilledAndPickedUp(t *testing.T) {
	binary := filepath.Join(t.TempDir(), "nightclamp")
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("build: %v: %s", err, out)
	}
	s := newShed(t, "[record]\nflush = \"1s\"\nbucket = \"1s\"\n")
	text := strings.Replace(readFile(t, s.config), `scenario = "plain"`, `scenario = "plain"
bag.free_volume_l = 0.5
pump.speed_l_per_min = 60
part.noise_pa = 10
script.pump_runs = [{ from = "500ms", to = "24h" }]`, 1)
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	const kills = 6
	run := ""
	for i := range kills {
		daemon := exec.CommandContext(t.Context(), binary, "-c", s.config, "serve")
		if err := daemon.Start(); err != nil {
			t.Fatal(err)
		}
		st := s.awaitRun(t)
		if run == "" {
			run = st.Run
		}
		if st.Run != run {
			t.Fatalf("start %d: picked up %q, was on %q", i, st.Run, run)
		}
		time.Sleep(time.Duration(300+137*i) * time.Millisecond) // a moment of its own for each kill
		if err := daemon.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = daemon.Wait() // killed: that is the point
	}
	r := s.run(t, "record", "show", "--json")
	if r.code != exitOK {
		t.Fatalf("record: %s", r.err)
	}
	var shown struct{ Events []press.Event }
	if err := json.Unmarshal([]byte(r.out), &shown); err != nil {
		t.Fatal(err)
	}
	count := map[press.Kind]int{}
	for _, e := range shown.Events {
		count[e.Kind]++
	}
	if count[press.PulldownStarted] != 1 {
		t.Errorf("%d times pulldown_started", count[press.PulldownStarted])
	}
	if count[press.Gap] != kills-1 {
		t.Errorf("%d gaps after %d kills", count[press.Gap], kills-1)
	}
}

// awaitRun polls until a run is on the press and a sample has come in since the
// daemon started.
func (s shed) awaitRun(t *testing.T) press.Status {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		r := s.run(t, "status", "--json")
		var all []press.Status
		if err := json.Unmarshal([]byte(r.out), &all); err == nil && len(all) == 1 && all[0].Run != "" &&
			time.Since(all[0].Time) < time.Second {
			return all[0]
		}
	}
	t.Fatal("no run on the press")
	return press.Status{}
}
