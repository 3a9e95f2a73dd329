package doctor

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

const disk = "disk"

// Free space below which a night may fail, and below which somebody should know,
// in bytes. A run of two days takes a few megabytes.
const (
	spaceLeast = 20 << 20
	spaceLow   = 200 << 20
)

// disk looks at the place of the record.
func (e *examination) disk() {
	if e.cfg.Record.Ramdisk != "" {
		e.ramdisk(e.cfg.Record.Ramdisk)
	}
	where := e.dataPlace()
	if where == "" {
		return
	}
	e.fileSystem(where)
	e.space(where)
	e.wear()
}

// dataPlace is the data folder, or the nearest folder above it where it is still
// to be made; empty when it cannot be had, which has been said then.
func (e *examination) dataPlace() string {
	data := e.cfg.Data
	info, err := os.Stat(e.path(data))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return e.parent(data)
	case errors.Is(err, fs.ErrPermission):
		e.add(disk, Attention, fmt.Sprintf("the data folder %s is closed to the one who asks, so it was not looked at", data), "ask as root: sudo nightclamp doctor")
		return ""
	case err != nil:
		e.add(disk, Wrong, fmt.Sprintf("the data folder cannot be looked at: %v", err), "look at the disk and its mounts, or set data in the config")
		return ""
	case !info.IsDir():
		e.add(disk, Wrong, fmt.Sprintf("%s is a file, and data should name a folder", data), "set data in the config")
		return ""
	case !e.who.may(info, toRead|toWrite|toEnter):
		e.add(disk, Wrong, fmt.Sprintf("%s may not write the data folder %s", e.who.name, data), fmt.Sprintf("sudo chown -R %s: %s", e.who.name, data))
		return data
	}
	e.ok(disk, "%s may write the data folder %s", e.who.name, data)
	return data
}

// parent is the nearest folder above that is there. The packaged unit has systemd
// make the data folder.
func (e *examination) parent(data string) string {
	above := filepath.Dir(data)
	for !e.exists(above) && above != filepath.Dir(above) {
		above = filepath.Dir(above)
	}
	info, err := os.Stat(e.path(above))
	switch {
	case err != nil:
		e.add(disk, Wrong, fmt.Sprintf("the data folder %s is not there: %v", data, err), fmt.Sprintf("sudo install -d -o %s -m 750 %s", e.who.name, data))
		return ""
	case !e.who.may(info, toWrite|toEnter) && data != "/var/lib/nightclamp":
		e.add(disk, Wrong, fmt.Sprintf("the data folder %s is not there, and %s may not make it", data, e.who.name), fmt.Sprintf("sudo install -d -o %s -m 750 %s", e.who.name, data))
	default:
		e.ok(disk, "the data folder %s is made when the daemon first starts", data)
	}
	return above
}

// mount is one line of /proc/self/mounts.
type mount struct {
	on, kind string
	options  []string
}

// mountOf is the file system that a path is on: of the mounts above it the
// longest, and of several on one place the last.
func (e *examination) mountOf(path string) (mount, bool) {
	var best mount
	for line := range strings.Lines(e.word("proc/self/mounts")) {
		f := strings.Fields(line)
		if len(f) < 4 {
			continue
		}
		on := strings.NewReplacer(`\040`, " ", `\011`, "\t", `\134`, `\`).Replace(f[1])
		above := on == "/" || path == on || strings.HasPrefix(path, on+"/")
		if above && len(on) >= len(best.on) {
			best = mount{on: on, kind: f[2], options: strings.Split(f[3], ",")}
		}
	}
	return best, best.on != ""
}

// ramdisk looks at where rows are to wait for the next flush.
func (e *examination) ramdisk(folder string) {
	m, known := e.mountOf(folder)
	switch _, err := os.Stat(e.path(folder)); {
	case errors.Is(err, fs.ErrNotExist):
		e.add(disk, Attention, fmt.Sprintf("the ramdisk %s is not there: samples are written to the disk every two minutes", folder),
			"the service makes /run/nightclamp when it starts; name that, or another folder on a tmpfs, as record.ramdisk")
	case err != nil:
		e.add(disk, Attention, fmt.Sprintf("the ramdisk cannot be looked at: %v", err), "ask as root: sudo nightclamp doctor")
	case known && m.kind != "tmpfs" && m.kind != "ramfs":
		e.add(disk, Attention, fmt.Sprintf("record.ramdisk %s is on %s: every row wears what it is on", folder, m.kind), "name a folder on a tmpfs, such as /run/nightclamp")
	default:
		e.ok(disk, "rows wait on the ramdisk %s, and go to the disk every %v", folder, e.cfg.Record.Flush)
	}
}

// fileSystem looks at what the record would lie on.
func (e *examination) fileSystem(path string) {
	m, known := e.mountOf(path)
	if !known {
		return
	}
	if slices.Contains(m.options, "ro") {
		e.add(disk, Wrong, fmt.Sprintf("%s is on %s, which is mounted read-only", path, m.on),
			"if the system's root is read-only by design, put data on a disk that is not, or on a ramdisk (deploy/README.md, Read-only root); if it became so by itself, the card is failing: save what is on it")
		return
	}
	switch m.kind {
	case "tmpfs", "ramfs":
		e.add(disk, Attention, fmt.Sprintf("the record is on a ramdisk (%s): a power cut loses all of it, and a run under way is not picked up", m.on), "that may be meant; else set data to a folder on a disk")
	case "nfs", "nfs4", "cifs", "smb3", "9p", "fuse.sshfs", "ceph", "afs":
		e.add(disk, Wrong, fmt.Sprintf("the record is on a network's file system (%s, %s), whose locks SQLite's log cannot rely on", m.on, m.kind), "set data to a folder on a disk of this board; nightclamp record backup copies elsewhere")
	case "vfat", "exfat", "msdos", "ntfs", "ntfs3", "fuseblk":
		e.add(disk, Attention, fmt.Sprintf("the record is on %s (%s), which has no journal that outlives a power cut, or no rights", m.kind, m.on), "set data to a folder on ext4, btrfs, xfs or f2fs")
	default:
		e.ok(disk, "the record is on %s (%s), writable", m.kind, m.on)
	}
}

func (e *examination) space(path string) {
	free, size, err := e.Space(e.path(path))
	remedy := fmt.Sprintf("free some space on the disk of %s: sudo journalctl --vacuum-size=100M and sudo apt-get clean often help", path)
	switch {
	case err != nil:
		e.add(disk, Attention, fmt.Sprintf("the free space of %s cannot be found out: %v", path, err), "df says more")
	case free < spaceLeast:
		e.add(disk, Wrong, fmt.Sprintf("only %d MB of %d are free where the record is kept", free>>20, size>>20), remedy)
	case free < min(size/20, spaceLow):
		e.add(disk, Attention, fmt.Sprintf("%d MB of %d are free where the record is kept", free>>20, size>>20), remedy)
	default:
		e.ok(disk, "%d MB of %d are free", free>>20, size>>20)
	}
}

// wornOut is the life_time, in tenths of the estimated life used, from which an
// eMMC's own estimate (JEDEC JESD84-B51, registers 268 and 269) says that it
// nears its end. From memory of the standard.
const wornOut = 9

func (e *examination) wear() {
	for _, file := range e.glob("sys/block/mmcblk*/device/life_time") {
		for _, word := range strings.Fields(e.word(file)) {
			tenths, err := strconv.ParseUint(word, 0, 8)
			if err == nil && tenths >= wornOut {
				e.add(disk, Attention, fmt.Sprintf("the flash says that it has used up %d %% of its life", 10*tenths), "copy the record (nightclamp record backup) and replace the card")
				return
			}
		}
	}
}
