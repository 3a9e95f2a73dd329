//go:build full && linux

package export_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/press/record/export"
	"github.com/nightclamp/nightclamp/sensor"
)

// The test binary exports by itself with this set, so that its memory is that
// of the export alone.
const exporterEnv = "NIGHTCLAMP_EXPORT_RECORD"

func TestMain(m *testing.M) {
	if path := os.Getenv(exporterEnv); path != "" {
		if err := exporter(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

func exporter(path string) error {
	ctx := context.Background()
	s, err := record.OpenReadOnly(ctx, path)
	if err != nil {
		return err
	}
	start := time.Now()
	if _, err := export.Export(ctx, s, "last", filepath.Dir(path), export.Options{}); err != nil {
		return err
	}
	took := time.Since(start)
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return err
	}
	_, rest, _ := strings.Cut(string(status), "VmHWM:")
	var peak int
	if _, err := fmt.Sscan(rest, &peak); err != nil {
		return err
	}
	fmt.Println(peak, took.Milliseconds()) //nolint:forbidigo // how the child answers
	return s.Close()
}

// A run of 48 hours at 10 Hz leaves as many buckets as one at 1 Hz.
func TestTwoDaysAreExportedInLittleMemory(t *testing.T) {
	path := filepath.Join(t.TempDir(), "r.db")
	s, err := record.Open(t.Context(), path, record.Options{Flush: 12 * time.Hour})
	must(t, err)
	source := night()
	run := source.run
	run.Ended = run.Started.Add(48 * time.Hour)
	events := source.events
	events[len(events)-1].Time = run.Ended
	must(t, s.Commit(t.Context(), record.Batch{Run: &run, Events: events, Alerts: source.alerts}))
	for i := range 48 * 3600 {
		row := bucket(run.Started.Add(time.Duration(i)*time.Second), float64(i)/3600)
		sample := sensor.Sample{Time: row.First, Boot: row.Boot, Mono: row.Mono, Bag: row.Bag.Mean, Ambient: row.Ambient.Mean,
			GlueLine: row.GlueLine.Mean, Air: row.Air.Mean}
		must(t, s.AddSample(t.Context(), run.ID, sample))
	}
	must(t, s.Close())
	child := exec.CommandContext(t.Context(), os.Args[0])
	child.Env = append(os.Environ(), exporterEnv+"="+path)
	child.Stderr = os.Stderr
	out, err := child.Output()
	must(t, err)
	var peak, took int
	_, err = fmt.Sscan(string(out), &peak, &took)
	must(t, err)
	t.Logf("exported in %d ms, %.1f MB at most", took, float64(peak)/1e3)
	if peak > 64e3 {
		t.Errorf("%.1f MB, more than 64", float64(peak)/1e3)
	}
}
