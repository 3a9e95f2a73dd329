package wire

import (
	"errors"
	"net"
	"sync/atomic"
	"time"
)

var errLater = errors.New("nats: first connection is made in the background")

// laterDialer refuses the first dial, so that nats.Connect returns at once and
// a server that swallows packets cannot hold up the first sample; nats.go
// dials again in the background.
type laterDialer struct{ called atomic.Bool }

// Dial refuses once, then connects.
func (d *laterDialer) Dial(network, address string) (net.Conn, error) {
	if !d.called.Swap(true) {
		return nil, errLater
	}
	return (&net.Dialer{Timeout: 5 * time.Second}).Dial(network, address)
}
