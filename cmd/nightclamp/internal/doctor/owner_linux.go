package doctor

import (
	"io/fs"
	"syscall"
)

// owner is to whom a file belongs.
func owner(info fs.FileInfo) (uid, gid int, known bool) {
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, 0, false
	}
	return int(st.Uid), int(st.Gid), true
}
