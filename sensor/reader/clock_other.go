//go:build !linux

package reader

import (
	"errors"
	"time"
)

func bootTime() (time.Duration, error) { return 0, errors.ErrUnsupported }
