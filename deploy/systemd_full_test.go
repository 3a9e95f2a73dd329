//go:build full

package deploy_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// exposure is the most that systemd-analyze security may find. Its scale goes
// from 0, a service that can do nothing, to 10.
const exposure = 2.0

// unit is the unit with a program that is there.
func unit(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("nightclamp.service")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "nightclamp.service")
	if err := os.WriteFile(file, []byte(strings.Replace(string(text), "/usr/bin/nightclamp", "/bin/true", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// systemd knows every word of the unit and has nothing to remark.
func TestUnitVerifies(t *testing.T) {
	out, err := exec.Command("systemd-analyze", "verify", "--man=no", unit(t)).CombinedOutput()
	if err != nil || len(out) > 0 {
		t.Errorf("systemd-analyze verify: %v\n%s", err, out)
	}
}

func TestUnitIsShutIn(t *testing.T) {
	out, err := exec.Command("systemd-analyze", "security", "--offline=true", "--no-pager", unit(t)).CombinedOutput()
	if err != nil {
		t.Fatalf("systemd-analyze security: %v\n%s", err, out)
	}
	m := regexp.MustCompile(`Overall exposure level for nightclamp.service: ([0-9.]+)`).FindSubmatch(out)
	if m == nil {
		t.Fatalf("no level in\n%s", out)
	}
	level, err := strconv.ParseFloat(string(m[1]), 64)
	if err != nil || level > exposure {
		t.Errorf("exposure %s (%v), at most %v:\n%s", m[1], err, exposure, out)
	}
}

func TestSysusers(t *testing.T) {
	file, err := filepath.Abs("nightclamp.sysusers")
	if err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("systemd-sysusers", "--dry-run", file).CombinedOutput(); err != nil {
		t.Errorf("systemd-sysusers: %v\n%s", err, out)
	}
}

func TestPrometheusConfig(t *testing.T) {
	if out, err := exec.Command("promtool", "check", "config", "prometheus.yml").CombinedOutput(); err != nil {
		t.Errorf("promtool: %v\n%s", err, out)
	}
}
