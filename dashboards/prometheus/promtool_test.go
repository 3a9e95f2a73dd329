//go:build full

package prometheus_test

import (
	"os/exec"
	"testing"
)

// Debian's prometheus brings promtool.
func TestPromtool(t *testing.T) {
	for _, args := range [][]string{
		{"check", "rules", "--lint=all", "--lint-fatal", "rules.yml"},
		{"check", "config", "--lint=all", "--lint-fatal", "prometheus.yml"},
		{"test", "rules", "rules_test.yml"},
	} {
		out, err := exec.CommandContext(t.Context(), "promtool", args...).CombinedOutput()
		if err != nil {
			t.Errorf("promtool %v: %v\n%s", args, err, out)
		}
	}
}
