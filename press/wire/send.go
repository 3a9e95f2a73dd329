package wire

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// StreamName is the JetStream stream that the link creates for events and
// alerts where none holds them yet.
const StreamName = "NIGHTCLAMP"

// DedupWindow is how long the stream knows a message again by its id: longer
// than any link is down while somebody still cares.
const DedupWindow = 48 * time.Hour

// ErrDown says that there is no connection to the server.
var ErrDown = errors.New("nats: not connected")

// Send publishes one message and returns nil once the server has taken it: by
// the stream's acknowledgement where there is JetStream, otherwise by its
// answer to a ping. Sending a message again does no harm.
func (l *Link) Send(ctx context.Context, m Message) error {
	if !l.up.Load() {
		return ErrDown
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	js, err := l.stream.find(ctx)
	if err != nil {
		return err
	}
	msg := nats.NewMsg(m.Subject)
	msg.Header.Set(jetstream.MsgIDHeader, m.ID)
	msg.Data = m.Data
	if js != nil {
		if _, err = js.PublishMsg(ctx, msg); err == nil {
			return nil
		}
		l.stream.forget() // it may have gone away, or its server has
		return fmt.Errorf("nats: publish %s to JetStream: %w", m.Subject, err)
	}
	if err := l.nc.PublishMsg(msg); err != nil {
		return fmt.Errorf("nats: publish %s: %w", m.Subject, err)
	}
	if err := l.nc.FlushWithContext(ctx); err != nil {
		return fmt.Errorf("nats: publish %s: no answer: %w", m.Subject, err)
	}
	return nil
}

// sendBacklog sends what waits, oldest first, one at a time: order matters more
// than speed, and events are few.
func (l *Link) sendBacklog(ctx context.Context) error {
	failed := 0
	for ctx.Err() == nil {
		err := l.sendNext(ctx)
		switch {
		case err == nil:
			failed = 0
			continue
		case errors.Is(err, errNothing):
			failed = 0
			l.rest(ctx, 0)
		case errors.Is(err, ErrDown):
			l.rest(ctx, 0)
		case ctx.Err() == nil:
			if failed++; failed == 1 || failed%10 == 0 {
				l.log.Warn("nats: message held back; trying on", "attempts", failed, "held_back", l.Held(), "err", err)
			}
			l.rest(ctx, reconnectDelay(failed-1))
		}
	}
	return nil
}

var errNothing = errors.New("nothing waits")

func (l *Link) sendNext(ctx context.Context) error {
	m, ok, err := l.backlog.Next(ctx)
	if err != nil {
		return fmt.Errorf("nats: read the backlog: %w", err)
	}
	if !ok {
		return errNothing
	}
	if err := l.Send(ctx, m); err != nil {
		return err
	}
	return l.backlog.Taken(ctx, m.ID)
}

// rest waits for d, or where d is 0 until something is put or the link comes up.
func (l *Link) rest(ctx context.Context, d time.Duration) {
	var after <-chan time.Time
	kick := l.kick
	if d > 0 {
		t := time.NewTimer(d)
		defer t.Stop()
		after, kick = t.C, nil
	}
	select {
	case <-ctx.Done():
	case <-kick:
	case <-after:
	}
}

// streamer finds out whether the server keeps what it is sent.
type streamer struct {
	cfg Config
	log *slog.Logger
	nc  *nats.Conn

	mu     sync.Mutex
	known  bool
	js     jetstream.JetStream // nil: publish plainly
	denied bool                // the server does not let this user ask
}

// forget makes the next find ask again.
func (s *streamer) forget() {
	s.mu.Lock()
	s.known = false
	s.mu.Unlock()
}

// refused takes note of a permission error about JetStream's own subjects: the
// question would else be asked for ever.
func (s *streamer) refused(err error) bool {
	if !isJetStreamDenied(err) {
		return false
	}
	s.mu.Lock()
	first := !s.denied
	s.denied = true
	s.mu.Unlock()
	if first {
		s.log.Warn("nats: this user may not use JetStream; events and alerts are published without acknowledgement", "err", err)
	}
	return true
}

// find returns JetStream when there is some and a stream holds the site's
// events and alerts, and nil when the server has none.
func (s *streamer) find(ctx context.Context) (jetstream.JetStream, error) {
	s.mu.Lock()
	known, js, denied := s.known, s.js, s.denied
	s.mu.Unlock()
	if s.cfg.NoJetStream || denied {
		return nil, nil
	}
	if known {
		return js, nil
	}
	js, err := s.ask(ctx)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	s.known, s.js = true, js
	s.mu.Unlock()
	return js, nil
}

func (s *streamer) ask(ctx context.Context) (jetstream.JetStream, error) {
	js, err := jetstream.New(s.nc)
	if err != nil {
		return nil, fmt.Errorf("nats: jetstream: %w", err)
	}
	_, err = js.AccountInfo(ctx)
	switch {
	case errors.Is(err, jetstream.ErrJetStreamNotEnabled), errors.Is(err, jetstream.ErrJetStreamNotEnabledForAccount):
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("nats: ask for JetStream: %w", err)
	}
	if err := s.ensure(ctx, js); err != nil {
		return nil, err
	}
	return js, nil
}
