// Package prometheus_test holds the rules to the metrics that there are.
package prometheus_test

import (
	"os"
	"regexp"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"github.com/nightclamp/nightclamp/dashboards/metrics"
	"github.com/nightclamp/nightclamp/press"
)

// A rule about a metric that was renamed never fires and never complains.
func TestRulesNameMetricsThatThereAre(t *testing.T) {
	described := make(chan *prometheus.Desc, 200)
	metrics.NewCollector(metrics.Config{Status: func() []press.Status { return nil }}).Describe(described)
	close(described)
	named := regexp.MustCompile(`fqName: "([a-z_]+)"`)
	known := map[string]bool{}
	for d := range described {
		known[named.FindStringSubmatch(d.String())[1]] = true
	}
	for _, file := range []string{"rules.yml", "rules_test.yml"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		found := regexp.MustCompile(`(^|[^a-z_:])(nightclamp_[a-z_]+)`).FindAllStringSubmatch(string(text), -1)
		if len(found) < 10 {
			t.Errorf("%s: only %d metrics found; is the pattern right?", file, len(found))
		}
		for _, m := range found {
			if name := m[2]; !known[name] && name != "nightclamp_recording" && name != "nightclamp_alerts" {
				t.Errorf("%s names %s, which is not in dashboards/metrics", file, name)
			}
		}
	}
}
