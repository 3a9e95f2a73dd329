package wire

import (
	"context"
	"log/slog"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nats.go"

	"github.com/nightclamp/nightclamp/press"
)

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// link connects with cfg (its port any free one when embedded) and runs it
// until the test ends.
func link(t *testing.T, cfg Config) *Link {
	t.Helper()
	if cfg.URL == "" {
		cfg.Port = -1
	}
	l, err := Connect(t.Context(), cfg, quiet())
	if err != nil {
		t.Fatalf("connect: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := l.Run(ctx); err != nil {
			t.Errorf("run: %v", err)
		}
	})
	t.Cleanup(func() { stop(); wg.Wait(); l.Close() })
	return l
}

// listen subscribes to subject at url; the subscription is at work on return.
func listen(t *testing.T, url, subject string, opts ...nats.Option) <-chan *nats.Msg {
	t.Helper()
	nc, err := nats.Connect(url, opts...)
	if err != nil {
		t.Fatalf("listen at %s: %v", url, err)
	}
	t.Cleanup(nc.Close)
	got := make(chan *nats.Msg, 256)
	if _, err := nc.ChanSubscribe(subject, got); err != nil {
		t.Fatalf("listen to %s: %v", subject, err)
	}
	if err := nc.Flush(); err != nil {
		t.Fatalf("listen to %s: %v", subject, err)
	}
	return got
}

func receive(t *testing.T, from <-chan *nats.Msg) *nats.Msg {
	t.Helper()
	select {
	case m := <-from:
		return m
	case <-time.After(10 * time.Second):
		t.Fatal("no message within 10 s")
		return nil
	}
}

var testStart = time.Date(2026, 10, 16, 19, 0, 0, 0, time.UTC)

func testEvent(n int, kind press.Kind) press.Event {
	return press.Event{
		Time: testStart.Add(time.Duration(n) * time.Second), Site: "shed", Press: "deck", Run: "deck-1",
		Kind: kind, VacuumPa: 84000,
	}
}
