package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"github.com/nightclamp/nightclamp/dashboards/metrics"
	"github.com/nightclamp/nightclamp/press"
)

// What is committed is what the code builds.
func TestCommittedDashboardsAreTheCode(t *testing.T) {
	all, err := files()
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range all {
		got, err := os.ReadFile(filepath.Join("..", name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not what the code builds; run go run ./dashboards/grafana/gen dashboards/grafana", name)
		}
	}
}

// A panel about a metric that was renamed stays empty and never complains.
func TestPanelsNameMetricsThatThereAre(t *testing.T) {
	described := make(chan *prometheus.Desc, 200)
	metrics.NewCollector(metrics.Config{Status: func() []press.Status { return nil }}).Describe(described)
	close(described)
	named := regexp.MustCompile(`fqName: "([a-z_]+)"`)
	known := map[string]bool{}
	for d := range described {
		known[named.FindStringSubmatch(d.String())[1]] = true
	}
	all, err := files()
	if err != nil {
		t.Fatal(err)
	}
	for name, body := range all {
		found := regexp.MustCompile(`nightclamp_[a-z_]+`).FindAllString(string(body), -1)
		if len(found) < 10 {
			t.Errorf("%s names only %d metrics", name, len(found))
		}
		for _, m := range found {
			if !known[m] {
				t.Errorf("%s names %s, which is not in dashboards/metrics", name, m)
			}
		}
	}
}

func TestOf(t *testing.T) {
	got := of(`max(«a») / «b|stage="hold"»`)
	want := `max(a{site=~"$site", press=~"$press"}) / b{site=~"$site", press=~"$press", stage="hold"}`
	if got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestRunWrites(t *testing.T) {
	dir := t.TempDir()
	if err := run([]string{dir}); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"press.json", "shop.json"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	if run(nil) == nil || run([]string{filepath.Join(dir, "nowhere")}) == nil {
		t.Error("bad arguments are no error")
	}
}
