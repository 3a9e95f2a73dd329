//go:build full && linux

package record_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
)

// TestTwoDaysAtTenHertz holds the promises of the package comment about the
// disk: what a long run takes, and what is written to keep it.
func TestTwoDaysAtTenHertz(t *testing.T) {
	s, path := fresh(t)
	must(t, s.PutRun(t.Context(), deck()))
	before := writtenBytes(t)
	const hours = 48
	noise := readings(6000)
	for i := range hours * 36000 {
		sample := noise[i%len(noise)]
		sample.Time = evening().Add(time.Duration(i) * 100 * time.Millisecond)
		sample.Mono = time.Duration(i) * 100 * time.Millisecond
		must(t, s.AddSample(t.Context(), deck().ID, sample))
	}
	must(t, s.Close())
	written := writtenBytes(t) - before
	info, err := os.Stat(path)
	must(t, err)
	t.Logf("file %.2f MB, written %.1f MB, %.2f MB an hour", mega(info.Size()), mega(written), mega(written)/hours)
	if info.Size() > 25e6 {
		t.Errorf("the file takes %.1f MB, more than 25", mega(info.Size()))
	}
	if mega(written)/hours > 1 {
		t.Errorf("%.2f MB are written an hour, more than 1", mega(written)/hours)
	}
	start := time.Now()
	var rows int
	for _, err := range open(t, path).Thinned(t.Context(), deck().ID, time.Time{}, time.Time{}, 0) {
		must(t, err)
		rows++
	}
	t.Logf("%d rows read in %v", rows, time.Since(start))
}

func mega(n int64) float64 { return float64(n) / 1e6 }

// writtenBytes is what this process made dirty in the page cache, by whole
// pages, as /proc/self/io counts it. It is 0 on a file system in memory.
func writtenBytes(t *testing.T) int64 {
	t.Helper()
	text, err := os.ReadFile("/proc/self/io")
	must(t, err)
	_, rest, _ := strings.Cut(string(text), "\nwrite_bytes: ")
	var n int64
	_, err = fmt.Sscan(rest, &n)
	must(t, err)
	return n
}
