//go:build full && linux

package record_test

import (
	"bufio"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"github.com/nightclamp/nightclamp/press/record"
)

// powerCuts is how often the power goes.
const powerCuts = 200

// TestPowerCut runs the victim on a file system of its own, ext4 on a loop
// device, and stops that file system dead under it, as the kernel's
// EXT4_IOC_SHUTDOWN without a flush of the log does: what was not fsynced is
// gone, as in a power cut. It needs root, mkfs.ext4 and loop devices.
func TestPowerCut(t *testing.T) {
	if !alone(t) {
		return
	}
	disk := newDisk(t)
	disk.mount(t)
	path := filepath.Join(disk.dir, "nightclamp.db")
	s, err := record.Open(t.Context(), path, record.Options{})
	must(t, err)
	must(t, s.PutRun(t.Context(), deck()))
	must(t, s.Close())
	random := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 0)) //nolint:gosec // not a secret
	acknowledged := map[string]bool{}
	from := 0
	for cut := range powerCuts {
		acks := disk.cutOne(t, path, from, random)
		for _, ack := range acks {
			acknowledged[ack] = true
		}
		newest := 0
		if len(acks) > 1 {
			newest, err = strconv.Atoi(acks[len(acks)-1])
			must(t, err)
		}
		from = inspect(t, path, acknowledged, newest) + 1000000
		if t.Failed() {
			t.Fatalf("after %d power cuts", cut+1)
		}
	}
	t.Logf("%d power cuts, %d events acknowledged", powerCuts, len(acknowledged))
}

const aloneEnv = "NIGHTCLAMP_RECORD_ALONE"

// alone runs the test again in a mount namespace of its own, and reports whether
// this is that run. Another test that makes a namespace meanwhile would take a copy
// of the disk's mount along, and keep the file system that was stopped alive.
func alone(t *testing.T) bool {
	t.Helper()
	if os.Getenv(aloneEnv) != "" {
		return true
	}
	if os.Geteuid() != 0 {
		t.Skip("mounting a file system needs root")
	}
	again := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v", "-test.timeout=10m")
	again.Env = append(os.Environ(), aloneEnv+"=1")
	again.SysProcAttr = &unix.SysProcAttr{Unshareflags: unix.CLONE_NEWNS}
	out, err := again.CombinedOutput()
	t.Logf("%s", out)
	switch {
	case err != nil && again.ProcessState == nil:
		t.Skipf("no mount namespace can be had here: %v", err)
	case err != nil:
		t.Fatal(err)
	case strings.Contains(string(out), "--- SKIP"):
		t.Skip("no file system of its own; the reason is above")
	}
	return false
}

// disk is a file system in a file.
type disk struct{ image, dir string }

func newDisk(t *testing.T) *disk {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("mounting a file system needs root")
	}
	d := &disk{image: filepath.Join(t.TempDir(), "disk.img"), dir: filepath.Join(t.TempDir(), "mnt")}
	file, err := os.Create(d.image)
	must(t, err)
	must(t, errors.Join(file.Truncate(96<<20), file.Close(), os.Mkdir(d.dir, 0o755)))
	if out, err := exec.CommandContext(t.Context(), "mkfs.ext4", "-q", d.image).CombinedOutput(); err != nil {
		t.Skipf("mkfs.ext4: %v: %s", err, out)
	}
	if out, err := exec.CommandContext(t.Context(), "mount", "-o", "loop", d.image, d.dir).CombinedOutput(); err != nil {
		t.Skipf("no loop device can be mounted here: %v: %s", err, out)
	}
	d.unmount(t)
	t.Cleanup(func() { _ = unix.Unmount(d.dir, unix.MNT_DETACH) })
	return d
}

func (d *disk) mount(t *testing.T) {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), "mount", "-o", "loop", d.image, d.dir).CombinedOutput(); err != nil {
		t.Fatalf("mount: %v: %s", err, out)
	}
}

func (d *disk) unmount(t *testing.T) {
	t.Helper()
	if out, err := exec.CommandContext(t.Context(), "umount", d.dir).CombinedOutput(); err != nil {
		t.Fatalf("umount: %v: %s", err, out)
	}
}

// cutOne runs a victim, cuts the power a random moment after a random number of
// acknowledgements, and brings the file system up again. It returns what was
// acknowledged before the cut. (In the very moment of a shutdown a call of
// fsync that finds its transaction gone may succeed, which no computer without
// power would live to see.)
func (d *disk) cutOne(t *testing.T, path string, from int, random *rand.Rand) []string {
	t.Helper()
	victim := exec.CommandContext(t.Context(), os.Args[0])
	victim.Env = append(os.Environ(), victimEnv+"="+path, victimEnv+"_FROM="+strconv.Itoa(from))
	out, err := victim.StdoutPipe()
	must(t, err)
	must(t, victim.Start())
	var mu sync.Mutex
	var acks []string
	var before int
	cut := make(chan error, 1)
	lines := bufio.NewScanner(out)
	enough := 1 + random.IntN(12)
	for lines.Scan() {
		mu.Lock()
		acks = append(acks, lines.Text())
		mu.Unlock()
		if len(acks) == enough {
			time.AfterFunc(time.Duration(random.IntN(8000))*time.Microsecond, func() {
				mu.Lock()
				before = len(acks)
				mu.Unlock()
				cut <- d.shutDown()
			})
		}
	}
	if len(acks) < enough {
		t.Fatalf("the victim ended before the power went: %v", victim.Wait())
	}
	_ = victim.Wait() // it ends by itself: nothing can be written any more
	must(t, <-cut)
	d.unmount(t)
	d.mount(t)
	return acks[:before]
}

// shutDown stops the file system at once, without writing anything out.
func (d *disk) shutDown() error {
	const (
		ext4Shutdown = 0x8004587d // _IOR('X', 125, __u32)
		noLogFlush   = 2
	)
	dir, err := os.Open(d.dir)
	if err != nil {
		return err
	}
	err = unix.IoctlSetPointerInt(int(dir.Fd()), ext4Shutdown, noLogFlush)
	return errors.Join(err, dir.Close())
}
