package wire

import (
	"fmt"
	"strings"

	"github.com/nightclamp/nightclamp/press"
)

const (
	root    = "nightclamp"
	service = "nightclamp"
	orders  = "do.nightclamp"
)

// ValidToken reports whether s may name a site or a press: 1 to 64 letters,
// digits, hyphens or underscores. It is what NATS allows in one part of a
// subject, less what would have to be quoted in a shell or a file name.
func ValidToken(s string) error {
	if s == "" {
		return fmt.Errorf("the name is empty; give it 1 to 64 letters, digits, - or _")
	}
	if len(s) > 64 {
		return fmt.Errorf("name %q has %d characters; use at most 64", s[:64]+"…", len(s))
	}
	for _, r := range s {
		if !tokenRune(r) {
			return fmt.Errorf("name %q has %q in it; use letters a-z, digits, - and _, for example %q", s, r, tidy(s))
		}
	}
	return nil
}

func tokenRune(r rune) bool {
	switch {
	case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
		return true
	}
	return false
}

// tidy is a name near s that would do.
func tidy(s string) string {
	t := strings.Trim(strings.Map(func(r rune) rune {
		if tokenRune(r) {
			return r
		}
		return '-'
	}, s), "-")
	if t == "" {
		return "press1"
	}
	return t
}

// EventSubject is where events of a kind are published; "*" stands for any
// site, press or kind.
func EventSubject(site, pressName string, kind press.Kind) string {
	return subject(site, pressName, "event", string(kind))
}

// AlertSubject is where changes of the named alert are published.
func AlertSubject(site, pressName, name string) string {
	return subject(site, pressName, "alert", name)
}

// SampleSubject is where samples are published.
func SampleSubject(site, pressName string) string { return subject(site, pressName, "sample") }

// StatusSubject is where the status of a press is published.
func StatusSubject(site, pressName string) string { return subject(site, pressName, "status") }

// HeartbeatSubject is where the daemon of a site says that it is alive.
func HeartbeatSubject(site string) string { return root + "." + site + ".heartbeat" }

// OrderSubject is where the service of a site takes an order.
func OrderSubject(site, verb string) string { return orders + "." + site + "." + verb }

func subject(site, pressName string, rest ...string) string {
	return root + "." + site + "." + pressName + "." + strings.Join(rest, ".")
}
