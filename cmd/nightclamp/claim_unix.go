//go:build unix

package main

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// claim keeps a data folder to one process that writes there: two would each take
// the other's runs for its own. The claim is a lock of the folder itself, leaves
// nothing behind, and ends with the process however it ends.
func claim(folder string) (release func() error, err error) {
	f, err := os.Open(folder) //nolint:gosec // the folder is the user's
	if err != nil {
		return nil, fmt.Errorf("data folder: %w: create it for the user who runs nightclamp, or set data in the config", err)
	}
	err = unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB) //nolint:gosec // a descriptor is an int
	if errors.Is(err, unix.EWOULDBLOCK) {
		return nil, errors.Join(f.Close(), fmt.Errorf("data folder %s: another nightclamp writes the record there: "+
			"stop it first (systemctl stop nightclamp, or end the one in the other terminal), or set another data folder in the config", folder))
	}
	return f.Close, nil // some network file systems lock no folders: no reason not to watch
}
