package doctor

import (
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
)

// daemonUser is whom the packaged unit runs the daemon as.
const daemonUser = "nightclamp"

// who is a user, and the groups that count for the user's rights.
type who struct {
	name string
	uid  int
	gids []int
}

// whose finds the user whose permissions count: the named one, the daemon's own
// when root asks, else the one who asks.
func (e *examination) whose() who {
	name := e.User
	if name == "" && os.Geteuid() == 0 {
		name = daemonUser
	}
	if w, ok := e.lookup(name); ok {
		return w
	}
	gids, err := os.Getgroups()
	if err != nil {
		gids = nil
	}
	w := who{name: "uid " + strconv.Itoa(os.Geteuid()), uid: os.Geteuid(), gids: append(gids, os.Getegid())}
	for line := range strings.Lines(e.word("etc/passwd")) {
		if f := strings.Split(line, ":"); len(f) > 2 && f[2] == strconv.Itoa(w.uid) {
			w.name = f[0]
			break
		}
	}
	return w
}

// lookup reads a user out of the files, as a small board keeps them.
func (e *examination) lookup(name string) (who, bool) {
	for line := range strings.Lines(e.word("etc/passwd")) {
		f := strings.Split(strings.TrimSpace(line), ":")
		if len(f) < 4 || f[0] != name || name == "" {
			continue
		}
		uid, err1 := strconv.Atoi(f[2])
		gid, err2 := strconv.Atoi(f[3])
		if err1 != nil || err2 != nil {
			continue
		}
		return who{name: name, uid: uid, gids: append(e.groupsOf(name), gid)}, true
	}
	return who{}, false
}

func (e *examination) groupsOf(name string) []int {
	var gids []int
	for line := range strings.Lines(e.word("etc/group")) {
		f := strings.Split(strings.TrimSpace(line), ":")
		if len(f) < 4 || !slices.Contains(strings.Split(f[3], ","), name) {
			continue
		}
		if gid, err := strconv.Atoi(f[2]); err == nil {
			gids = append(gids, gid)
		}
	}
	return gids
}

// group is the name of a group; its number where it has none.
func (e *examination) group(gid int) string {
	for line := range strings.Lines(e.word("etc/group")) {
		if f := strings.Split(line, ":"); len(f) > 2 && f[2] == strconv.Itoa(gid) {
			return f[0]
		}
	}
	return strconv.Itoa(gid)
}

// The rights to a file, as in the last digit of its mode.
const (
	toRead  = 4
	toWrite = 2
	toEnter = 1
)

// may reports whether the user has the rights to what info describes. It goes by
// owner, group and mode; access lists are not looked at.
func (w who) may(info fs.FileInfo, rights fs.FileMode) bool {
	uid, gid, known := owner(info)
	mode := info.Mode().Perm()
	switch {
	case w.uid == 0 || !known:
		return true
	case uid == w.uid:
		mode >>= 6
	case slices.Contains(w.gids, gid):
		mode >>= 3
	}
	return mode&rights == rights
}
