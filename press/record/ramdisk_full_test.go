//go:build full && linux

package record_test

import (
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"
)

// TestRamdiskIsFull fills a real ramdisk: the record goes on without it, and loses
// nothing. It needs root and a mount namespace.
func TestRamdiskIsFull(t *testing.T) {
	if !alone(t) {
		return
	}
	folder := t.TempDir()
	must(t, unix.Mount("tmpfs", folder, "tmpfs", 0, "size=16k"))
	defer func() { must(t, unix.Unmount(folder, unix.MNT_DETACH)) }()
	path := filepath.Join(t.TempDir(), "nightclamp.db")
	s, warned := sparing(t, path, folder)
	must(t, s.PutRun(t.Context(), deck()))
	feed(t, s, deck().ID, readings(36000))
	if len(*warned) != 1 || !strings.Contains((*warned)[0].Error(), "no space left") {
		t.Errorf("warned of %v", *warned)
	}
	if n := onDisk(t, path); n < 340 {
		t.Errorf("%d buckets are on the disk after an hour", n)
	}
}
