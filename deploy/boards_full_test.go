//go:build full

package deploy_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
)

// night is what the demo's record says happened.
type night struct {
	Events []struct {
		Kind    string `json:"kind"`
		Verdict string `json:"verdict"`
	} `json:"events"`
}

func (n night) story() []string {
	var told []string
	for _, e := range n.Events {
		told = append(told, e.Kind+e.Verdict)
	}
	return told
}

// The binaries for the boards, as they are shipped, play the demo's night, in an
// emulator, as the one for this kind of machine does. (Only as told: a 64-bit ARM fuses multiply and add, so the last
// digits may differ.) ARM1176 is the processor of the first boards with ARMv6.
func TestBoardsPlayTheDemo(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.CommandContext(t.Context(), "make", "-C", "..", "cross", "DIST="+dir).CombinedOutput(); err != nil {
		t.Fatalf("make cross: %v\n%s", err, out)
	}
	binary := func(kind string) string { return filepath.Join(dir, "nightclamp-linux-"+kind) }
	here := play(t, []string{binary("amd64")})
	if len(here) == 0 {
		t.Fatal("nothing happened in the demo's night")
	}
	for kind, emulator := range map[string][]string{
		"arm64": {"qemu-aarch64"},
		"armv6": {"qemu-arm", "-cpu", "arm1176"},
	} {
		t.Run(kind, func(t *testing.T) {
			t.Parallel()
			if there := play(t, append(emulator, binary(kind))); !slices.Equal(there, here) {
				t.Errorf("on %s the night is\n%q\nhere\n%q", kind, there, here)
			}
		})
	}
}

// play runs the demo as fast as it goes and returns what happened in it.
func play(t *testing.T, command []string) []string {
	t.Helper()
	dir := t.TempDir()
	args := append(slices.Clone(command[1:]), "demo", "--once", "--out", dir)
	if out, err := exec.CommandContext(t.Context(), command[0], args...).CombinedOutput(); err != nil {
		t.Fatalf("%q: %v\n%s", command, err, out)
	}
	records, err := filepath.Glob(filepath.Join(dir, "*", "record.json"))
	if err != nil || len(records) != 1 {
		t.Fatalf("%q left the records %q (%v)", command, records, err)
	}
	text, err := os.ReadFile(records[0])
	if err != nil {
		t.Fatal(err)
	}
	var n night
	if err := json.Unmarshal(text, &n); err != nil {
		t.Fatalf("%s: %v", records[0], err)
	}
	return n.story()
}
