//go:build full

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// readOnly runs a shell script in which this machine's root is mounted read-only and
// ram is an empty ramdisk, in a mount namespace of its own.
func readOnly(t *testing.T, ram, script string, args ...string) string {
	t.Helper()
	const prepare = `mount --make-rprivate / && mount -t tmpfs tmpfs "$RAM" && mount -o remount,ro,bind / && `
	probe := exec.CommandContext(t.Context(), "unshare", "-m", "sh", "-c", prepare+"! touch /nightclamp-probe 2>/dev/null")
	probe.Env = append(os.Environ(), "RAM="+ram)
	if out, err := probe.CombinedOutput(); err != nil {
		t.Skipf("no mount namespace can be had here (it takes root): %v: %s", err, out)
	}
	c := exec.CommandContext(t.Context(), "unshare", append([]string{"-m", "sh", "-c", prepare + script, "sh"}, args...)...)
	c.Env = append(os.Environ(), "RAM="+ram)
	out, err := c.CombinedOutput()
	t.Logf("%v: %s", err, out)
	return string(out)
}

// TestReadOnlyRoot starts the daemon on a board whose root is read-only: with the
// record on it it says so and ends; with the record on a ramdisk it watches, and
// doctor says what that costs.
func TestReadOnlyRoot(t *testing.T) {
	binary := filepath.Join(t.TempDir(), "nightclamp")
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("build: %v: %s", err, out)
	}
	s := newShed(t, "")
	ram := filepath.Join(s.folder, "ram")
	if err := os.Mkdir(ram, 0o750); err != nil {
		t.Fatal(err)
	}
	out := readOnly(t, ram, `"$1" -c "$2" serve; echo "exit $?"; "$1" -c "$2" doctor --user root --all`, binary, s.config)
	for _, says := range []string{"data folder", "read-only file system", "set data in the config", "exit 1", "mounted read-only"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), says) {
			t.Errorf("the record on a read-only root: nothing of %q", says)
		}
	}

	text := strings.Replace(readFile(t, s.config), filepath.Join(s.folder, "data"), filepath.Join(ram, "record"), 1)
	if err := os.WriteFile(s.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	out = readOnly(t, ram, `
"$1" -c "$2" serve & daemon=$!
for i in $(seq 200); do "$1" -c "$2" status > /dev/null 2>&1 && break; sleep 0.1; done
"$1" -c "$2" start --work "sled deck 4" && "$1" -c "$2" release && "$1" -c "$2" record list
"$1" -c "$2" record backup "$RAM/copy.db" && echo "copied"
"$1" -c "$2" doctor --user root --all
kill $daemon; wait $daemon; echo "exit $?"
mount -o remount,ro "$RAM" && "$1" -c "$2" record list > /dev/null && echo "read without writing"`, binary, s.config)
	for _, says := range []string{"sled deck 4", "copied", "on a ramdisk", "exit 0", "read without writing"} {
		if !strings.Contains(out, says) {
			t.Errorf("the record on a ramdisk: nothing of %q", says)
		}
	}
}
