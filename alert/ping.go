package alert

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"time"
)

// Ping is a sign of life for a watcher elsewhere: a dead man's switch that
// raises the alarm when it is not called for a while. It is called only while
// the watch over the presses is at work, not merely while the process runs: a
// house without power, a dead network and a daemon without samples all fall
// silent in the same way.
type Ping struct {
	url    string
	every  time.Duration
	alive  func() bool
	log    *slog.Logger
	client *http.Client
	hide   redactor
}

// NewPing returns a ping that gets url every so often (0: every five minutes)
// while alive says that samples arrive.
func NewPing(raw string, every time.Duration, alive func() bool, log *slog.Logger) (*Ping, error) {
	u, err := url.Parse(raw)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		return nil, fmt.Errorf("the URL to ping cannot be read; write it as https://host/path")
	}
	if every == 0 {
		every = 5 * time.Minute
	}
	if every < 10*time.Second {
		return nil, fmt.Errorf("a ping every %s is too often; use 10s or more", every)
	}
	return &Ping{url: raw, every: every, alive: alive, log: log, client: &http.Client{Timeout: 10 * time.Second}, hide: newRedactor(u)}, nil
}

// Run pings until ctx ends. A ping that fails is tried again after a tenth of
// the time between two.
func (p *Ping) Run(ctx context.Context) error {
	failing, silent := false, false
	for {
		wait := p.every
		switch {
		case !p.alive():
			if !silent {
				p.log.Warn("no samples arrive: no sign of life is given")
			}
			silent, wait = true, p.every/10
		default:
			silent = false
			err := p.once(ctx)
			if err != nil && ctx.Err() == nil {
				if !failing {
					p.log.Warn("sign of life not delivered; trying on", "err", err)
				}
				wait = p.every / 10
			}
			failing = err != nil
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(wait):
		}
	}
}

func (p *Ping) once(ctx context.Context) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, p.url, nil)
	if err != nil {
		return fmt.Errorf("ping: %s", p.hide.clean(err))
	}
	return post(p.client, req, "ping", p.hide)
}
