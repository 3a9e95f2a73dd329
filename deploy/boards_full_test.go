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

// The binaries for the boards play the demo's night, in an emulator, as this
// machine does. (Only as told: a 64-bit ARM fuses multiply and add, so the last
// digits may differ.) ARM1176 is the processor of the first boards with ARMv6.
func TestBoardsPlayTheDemo(t *testing.T) {
	here := play(t, build(t))
	if len(here) == 0 {
		t.Fatal("nothing happened in the demo's night")
	}
	for _, board := range []struct {
		name     string
		env      []string
		emulator []string
	}{
		{"arm64", []string{"GOARCH=arm64"}, []string{"qemu-aarch64"}},
		{"armv6", []string{"GOARCH=arm", "GOARM=6"}, []string{"qemu-arm", "-cpu", "arm1176"}},
	} {
		t.Run(board.name, func(t *testing.T) {
			t.Parallel()
			if there := play(t, append(board.emulator, build(t, board.env...)...)); !slices.Equal(there, here) {
				t.Errorf("on %s the night is\n%q\nhere\n%q", board.name, there, here)
			}
		})
	}
}

// build compiles nightclamp with the environment.
func build(t *testing.T, env ...string) []string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "nightclamp")
	cmd := exec.CommandContext(t.Context(), "go", "build", "-o", binary, "../cmd/nightclamp")
	cmd.Env = append(append(os.Environ(), "CGO_ENABLED=0", "GOOS=linux"), env...)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("build with %q: %v\n%s", env, err, out)
	}
	return []string{binary}
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
