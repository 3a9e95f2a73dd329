package alert

import "golang.org/x/sys/unix"

// DiskSpace returns what an ordinary user may still write where path is, and the
// size of that file system, in bytes.
func DiskSpace(path string) (free, size uint64, err error) {
	var st unix.Statfs_t
	if err := unix.Statfs(path, &st); err != nil {
		return 0, 0, err
	}
	block := uint64(st.Bsize)
	return st.Bavail * block, st.Blocks * block, nil
}

// ClockSet reports whether the kernel takes its clock for set by a time service.
func ClockSet() bool {
	var tx unix.Timex
	state, err := unix.Adjtimex(&tx)
	if err != nil {
		return true // not to be found out: nothing is said
	}
	return state != unix.TIME_ERROR && tx.Status&unix.STA_UNSYNC == 0
}
