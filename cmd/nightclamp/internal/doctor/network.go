package doctor

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"
)

const network = "network"

// reachIn is how long a machine elsewhere may take to answer.
const reachIn = 3 * time.Second

// network looks at the addresses that the daemon listens on, and at NATS.
func (e *examination) network(ctx context.Context) {
	e.listens("the page", "http.listen", e.cfg.HTTP.Listen)
	if e.cfg.NATS.URL == "" {
		e.listens("the NATS server", "nats.listen", e.cfg.NATS.Listen)
	} else {
		e.joins(ctx)
	}
	e.route()
}

// listens looks whether an address is free, or taken by the daemon.
func (e *examination) listens(what, key, address string) {
	if address == "" {
		return
	}
	err := e.Listen(address)
	switch {
	case err == nil && e.daemon != nil && !strings.HasSuffix(address, ":0"):
		e.add(network, Attention, fmt.Sprintf("the daemon runs, but nothing listens on %s for %s", address, what), fmt.Sprintf("the daemon is elsewhere, or was started with another config: sudo systemctl restart nightclamp takes this one's %s", key))
	case err == nil:
		e.ok(network, "%s is free for %s", address, what)
	case e.daemon != nil:
		e.ok(network, "%s is taken by the daemon's own, %s", address, what)
	default:
		e.add(network, Wrong, fmt.Sprintf("%s cannot listen on %s: %v", what, address, rootOf(err)),
			fmt.Sprintf("sudo ss -ltnp shows who has the port; stop that, or set %s to another", key))
	}
}

// joins tries the servers that the config names. URLs are not shown whole.
func (e *examination) joins(ctx context.Context) {
	if e.daemon != nil {
		e.ok(network, "the NATS server answers")
		return
	}
	for text := range strings.SplitSeq(e.cfg.NATS.URL, ",") {
		u, err := url.Parse(strings.TrimSpace(text))
		if err != nil { // Load has refused it
			continue
		}
		port := u.Port()
		if port == "" {
			port = "4222"
		}
		e.reach(ctx, network, "the NATS server", u.Hostname()+":"+port, "is it running, and is the network up? Check nats.url")
	}
}

// reach makes a connection, says nothing over it, and closes it.
func (e *examination) reach(ctx context.Context, area, what, address, remedy string) {
	ctx, cancel := context.WithTimeout(ctx, reachIn)
	defer cancel()
	conn, err := e.Dial(ctx, "tcp", address)
	if err != nil {
		e.add(area, Wrong, fmt.Sprintf("%s cannot be reached at %s: %v", what, address, rootOf(err)), remedy)
		return
	}
	conn.Close() //nolint:errcheck,gosec // nothing was said over it
	e.ok(area, "%s is reached at %s", what, address)
}

// rootOf is the innermost error: those around it repeat the address.
func rootOf(err error) error {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err
		}
		err = inner
	}
}

// route looks for a way out of this machine in the kernel's table, whose second
// column is the destination: zero is everywhere (Linux, net/ipv4/fib_trie.c).
func (e *examination) route() {
	table := e.word("proc/net/route")
	if table == "" {
		return
	}
	for line := range strings.Lines(table) {
		if f := strings.Fields(line); len(f) > 1 && f[1] == "00000000" {
			e.ok(network, "there is a way out, by %s", f[0])
			return
		}
	}
	for line := range strings.Lines(e.word("proc/net/ipv6_route")) {
		f := strings.Fields(line)
		if len(f) > 9 && f[1] == "00" && f[9] != "lo" && strings.Trim(f[4], "0") != "" {
			e.ok(network, "there is a way out, by %s", f[9])
			return
		}
	}
	state, remedy := Attention, "connect the network, or rely on the lamp, the buzzer and your own look"
	if len(e.cfg.Alert.Ways) > 0 {
		state, remedy = Wrong, "connect the network: no alert gets out without it"
	}
	e.add(network, state, "there is no way out of this machine (no default route)", remedy)
}
