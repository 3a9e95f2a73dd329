package metrics_test

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
)

func goversion() string { return runtime.Version() }

// gather returns our own series with their values.
func gather(t *testing.T, r prometheus.Gatherer) map[string]float64 {
	t.Helper()
	families, err := r.Gather()
	if err != nil {
		t.Fatal(err)
	}
	all := make(map[string]float64)
	for _, f := range families {
		if !strings.HasPrefix(f.GetName(), "nightclamp_") {
			continue
		}
		for _, m := range f.GetMetric() {
			labels := make([]string, 0, len(m.GetLabel()))
			for _, l := range m.GetLabel() {
				labels = append(labels, fmt.Sprintf("%s=%q", l.GetName(), l.GetValue()))
			}
			value := m.GetGauge().GetValue()
			if m.GetCounter() != nil {
				value = m.GetCounter().GetValue()
			}
			all[f.GetName()+"{"+strings.Join(labels, ",")+"}"] = value
		}
	}
	return all
}

func BenchmarkScrape(b *testing.B) {
	r := registry(&testing.T{}, deck(), bare())
	for b.Loop() {
		if _, err := r.Gather(); err != nil {
			b.Fatal(err)
		}
	}
}
