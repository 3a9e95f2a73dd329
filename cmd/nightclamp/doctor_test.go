package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/doctor"
)

// TestDoctor asks beside a running daemon, and again without one and with a
// config that cannot be read.
func TestDoctor(t *testing.T) {
	s := newShed(t, "")
	tree := t.TempDir()
	t.Run("running", func(t *testing.T) {
		s.serve(t)
		r := s.run(t, "doctor", "--root", tree, "--json", "--send")
		var found doctor.Report
		if err := json.Unmarshal([]byte(r.out), &found); err != nil {
			t.Fatalf("exit %d, %v: %s%s", r.code, err, r.out, r.err)
		}
		for _, want := range []doctor.Finding{
			{Area: "daemon", State: doctor.OK, What: "press bench: newest sample"},
			{Area: "network", State: doctor.OK, What: "taken by the daemon's own, the page"},
			{Area: "notification", State: doctor.OK, What: `way "log" took the test`},
			{Area: "sensors", State: doctor.OK, What: "says bag 101 kPa"},
		} {
			if !has(found, want) {
				t.Errorf("want %+v in\n%s", want, r.out)
			}
		}
	})
	r := s.run(t, "doctor", "--root", tree)
	if r.code != statusTrouble && r.code != statusDoubt || !strings.Contains(r.out, "systemctl enable --now nightclamp") {
		t.Errorf("without a daemon: exit %d: %s%s", r.code, r.out, r.err)
	}
	broken := filepath.Join(s.folder, "broken.toml")
	if err := os.WriteFile(broken, []byte("sight = 3\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	r = command(t, "", "-c", broken, "doctor", "--root", tree, "--all")
	if r.code != statusTrouble || !strings.Contains(r.out, `"sight"`) || !strings.Contains(r.out, "> mend it") {
		t.Errorf("with a broken config: exit %d: %s%s", r.code, r.out, r.err)
	}
	if r = s.run(t, "doctor", "now"); r.code != exitUsage {
		t.Errorf("with an argument too many: exit %d", r.code)
	}
}

func has(r doctor.Report, want doctor.Finding) bool {
	for _, f := range r.Findings {
		if f.Area == want.Area && f.State == want.State && strings.Contains(f.What, want.What) {
			return true
		}
	}
	return false
}
