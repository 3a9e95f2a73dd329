//go:build full

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Every query of every panel returns data from a real Prometheus that scraped
// a real demo run, and so does every recording rule.
func TestEveryQueryAgainstARealRun(t *testing.T) {
	metrics := startDemo(t)
	prometheus := startPrometheus(t, metrics)
	begin := time.Now()
	waitForRelease(t, strings.TrimSuffix(metrics, "/metrics"))

	all, err := files()
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	for name, body := range all {
		var d any
		if err := json.Unmarshal(body, &d); err != nil {
			t.Fatal(err)
		}
		for _, expr := range expressions(d) {
			asked++
			if n := series(t, prometheus, filled(expr), begin); n == 0 {
				t.Errorf("%s: no data for %s", name, expr)
			}
		}
	}
	t.Logf("%d queries", asked)
	if asked < 50 {
		t.Errorf("only %d queries were found in the dashboards", asked)
	}
	for _, rule := range []string{
		"site:nightclamp_margin_seconds:min", "press:nightclamp_vacuum_over_floor_pascals",
		"press:nightclamp_busy:bool", "sensor:nightclamp_sensor_errors:rate5m",
	} {
		if series(t, prometheus, rule, begin) == 0 {
			t.Errorf("no data for the rule %s", rule)
		}
	}
}

// start runs a program until the test ends.
func start(t *testing.T, name string, args ...string) io.Reader {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Cancel = func() error { return cmd.Process.Signal(syscall.SIGTERM) }
	cmd.WaitDelay = 10 * time.Second
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatalf("start %s: %v; is it installed?", name, err)
	}
	t.Cleanup(func() {
		cancel()
		_ = cmd.Wait() // ended by us
	})
	return out
}

// startDemo builds nightclamp, lets its demo run fast, and returns the URL of
// its metrics.
func startDemo(t *testing.T) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "nightclamp")
	build := exec.CommandContext(t.Context(), "go", "build", "-o", binary, "../../../cmd/nightclamp")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build nightclamp: %v\n%s", err, out)
	}
	lines := bufio.NewScanner(start(t, binary, "demo", "--speed", "2400"))
	for lines.Scan() {
		if name, address, ok := strings.Cut(strings.TrimSpace(lines.Text()), " "); ok && name == "metrics" {
			go func() { // lest the pipe fills up
				for lines.Scan() {
				}
			}()
			return strings.TrimSpace(address)
		}
	}
	t.Fatalf("the demo did not say where its metrics are: %v", lines.Err())
	return ""
}

// startPrometheus runs Debian's Prometheus with our rules on a scrape a second.
func startPrometheus(t *testing.T, metrics string) string {
	t.Helper()
	target, err := url.Parse(metrics)
	if err != nil {
		t.Fatal(err)
	}
	rules, err := filepath.Abs("../../prometheus/rules.yml")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	config := filepath.Join(dir, "prometheus.yml")
	text := fmt.Sprintf(`global: {scrape_interval: 1s, evaluation_interval: 1s}
rule_files: [%q]
scrape_configs: [{job_name: nightclamp, static_configs: [{targets: [%q]}]}]
`, rules, target.Host)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	start(t, "prometheus", "--config.file="+config, "--storage.tsdb.path="+filepath.Join(dir, "data"),
		"--web.listen-address="+address, "--log.level=warn")
	return "http://" + address
}

// poll asks until it is so, for at most two minutes.
func poll(t *testing.T, what string, so func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	for !so() {
		select {
		case <-ctx.Done():
			t.Fatalf("%s: not in two minutes", what)
		case <-tick.C:
		}
	}
}

// waitForRelease waits until the demo has opened its bag, or has ended.
func waitForRelease(t *testing.T, demo string) {
	t.Helper()
	seen := false
	poll(t, "the demo releases its deck", func() bool {
		var status struct {
			Presses []struct{ Stage string }
		}
		if err := fetch(demo+"/api/v1/status", &status); err != nil || len(status.Presses) == 0 {
			return seen
		}
		seen = true
		return status.Presses[0].Stage == "release"
	})
}

// series is how many series a query returns for the time of the run.
func series(t *testing.T, prometheus, expr string, begin time.Time) int {
	t.Helper()
	q := url.Values{
		"query": {expr}, "start": {fmt.Sprint(begin.Unix())}, "end": {fmt.Sprint(time.Now().Unix())}, "step": {"1"},
	}
	var answer struct {
		Status, Error string
		Data          struct{ Result []any }
	}
	if err := fetch(prometheus+"/api/v1/query_range?"+q.Encode(), &answer); err != nil || answer.Status != "success" {
		t.Errorf("%s: %v %s", expr, err, answer.Error)
	}
	return len(answer.Data.Result)
}

func fetch(address string, into any) error {
	resp, err := http.Get(address) //nolint:gosec,noctx // our own servers
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	return json.NewDecoder(resp.Body).Decode(into)
}

// filled puts what Grafana would for the variables of a query.
func filled(expr string) string {
	return strings.NewReplacer("$site", ".+", "$press", ".+", "$__rate_interval", "10s").Replace(expr)
}

// expressions finds every query in a dashboard: of panels and of annotations.
func expressions(node any) []string {
	var all []string
	switch n := node.(type) {
	case map[string]any:
		for key, value := range n {
			if text, ok := value.(string); ok && key == "expr" {
				all = append(all, text)
				continue
			}
			all = append(all, expressions(value)...)
		}
	case []any:
		for _, value := range n {
			all = append(all, expressions(value)...)
		}
	}
	return all
}
