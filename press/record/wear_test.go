//go:build full && linux

package record_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"github.com/nightclamp/nightclamp/press/record"
)

// TestFlashWear counts what a device is given while two days are kept on it: ext4
// on a loop device, everything pushed out after each flush, so that the file
// system's own journal and the index of SQLite's log count each time. It needs
// root, mkfs.ext4 and loop devices.
func TestFlashWear(t *testing.T) {
	for name, test := range map[string]struct {
		options record.Options
		most    float64 // MB an hour beyond the file
	}{
		"defaults":              {record.Options{}, 1},
		"an hour, on a ramdisk": {record.Options{Flush: time.Hour, Ramdisk: t.TempDir()}, 0.1},
	} {
		t.Run(name, func(t *testing.T) { wear(t, test.options, test.most) })
	}
}

func wear(t *testing.T, options record.Options, most float64) {
	t.Helper()
	disk := newDisk(t)
	disk.mount(t)
	defer disk.unmount(t)
	root, err := os.Open(disk.dir)
	must(t, err)
	defer root.Close() //nolint:errcheck // it was only opened to name the file system
	device := loopOf(t, disk.dir)
	path := filepath.Join(disk.dir, "nightclamp.db")
	s, err := record.Open(t.Context(), path, options)
	must(t, err)
	must(t, s.PutRun(t.Context(), deck()))
	must(t, unix.Syncfs(int(root.Fd())))
	before := givenTo(t, device)
	const hours = 48
	noise := readings(6000)
	for i := range hours * 3600 {
		at := time.Duration(i) * time.Second
		sample := noise[i%len(noise)]
		sample.Time, sample.Mono = evening().Add(at), at
		must(t, s.AddSample(t.Context(), deck().ID, sample))
		if i%10 == 0 { // whether or not something was flushed
			must(t, unix.Syncfs(int(root.Fd())))
		}
	}
	must(t, s.Close())
	must(t, unix.Syncfs(int(root.Fd())))
	size, err := os.Stat(path)
	must(t, err)
	given := givenTo(t, device) - before
	t.Logf("the file has %.2f MB, the device was given %.1f MB: %.2f MB an hour", mega(size.Size()), mega(given), mega(given)/hours)
	if beyond := mega(given-size.Size()) / hours; beyond > most {
		t.Errorf("%.2f MB an hour beyond the file, more than %v", beyond, most)
	}
}

// loopOf finds the loop device under a mount.
func loopOf(t *testing.T, dir string) string {
	t.Helper()
	text, err := os.ReadFile("/proc/mounts")
	must(t, err)
	for line := range strings.Lines(string(text)) {
		if fields := strings.Fields(line); len(fields) > 1 && fields[1] == dir {
			return filepath.Base(fields[0])
		}
	}
	t.Fatalf("nothing is mounted at %s", dir)
	return ""
}

// givenTo is how many bytes a block device was given to write: the seventh number
// of its stat, in sectors of 512 (Linux, Documentation/block/stat.rst).
func givenTo(t *testing.T, device string) int64 {
	t.Helper()
	text, err := os.ReadFile("/sys/block/" + device + "/stat")
	must(t, err)
	var n [7]int64
	_, err = fmt.Sscan(string(text), &n[0], &n[1], &n[2], &n[3], &n[4], &n[5], &n[6])
	must(t, err)
	return n[6] * 512
}
