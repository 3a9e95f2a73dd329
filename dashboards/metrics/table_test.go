package metrics

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
)

var update = flag.Bool("update", false, "rewrite the table in README.md")

// The table in README.md lists every metric with its type, labels and help as
// the code has them. Run with -update after a change.
func TestReadmeListsEveryMetric(t *testing.T) {
	var rows strings.Builder
	rows.WriteString("| metric | type | labels | meaning |\n| --- | --- | --- | --- |\n")
	for _, f := range append([]family{buildInfo}, families()...) {
		kind := "gauge"
		if f.kind == prometheus.CounterValue {
			kind = "counter"
		}
		fmt.Fprintf(&rows, "| `%s` | %s | %s | %s |\n", f.name, kind, strings.Join(f.own(), ", "), f.help)
	}
	readme, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	const begin, end = "<!-- metrics -->\n", "<!-- /metrics -->"
	head, rest, ok := strings.Cut(string(readme), begin)
	table, tail, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatal("README.md has no <!-- metrics --> … <!-- /metrics -->")
	}
	if *update {
		if err := os.WriteFile("README.md", []byte(head+begin+rows.String()+end+tail), 0o600); err != nil {
			t.Fatal(err)
		}
		return
	}
	if table != rows.String() {
		t.Errorf("README.md does not list the metrics as they are; go test -update mends it. Want:\n%s", rows.String())
	}
}
