package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"sync"
)

// storyLog is the demo's log: warnings for whoever looks into it, but the alerts, which
// go out by it, as lines of the story. What is said again while nobody answers is said
// once: half a minute of the demo is a night.
type storyLog struct {
	slog.Handler
	out io.Writer

	mu   *sync.Mutex
	said map[string]bool // severity and alert
}

func newStoryLog(a *app) *slog.Logger {
	level := slog.LevelWarn
	if a.verbose {
		level = slog.LevelDebug
	}
	return slog.New(storyLog{
		Handler: slog.NewTextHandler(a.err, &slog.HandlerOptions{Level: level}),
		out:     a.out, mu: new(sync.Mutex), said: map[string]bool{},
	})
}

// Handle prints an alert, and passes on everything else.
func (l storyLog) Handle(ctx context.Context, r slog.Record) error {
	if r.Message != "alert" {
		return l.Handler.Handle(ctx, r)
	}
	with := map[string]string{}
	r.Attrs(func(a slog.Attr) bool {
		with[a.Key] = a.Value.String()
		return true
	})
	l.mu.Lock()
	defer l.mu.Unlock()
	key := with["severity"] + " " + with["id"]
	if l.said[key] {
		return nil
	}
	l.said[key] = true
	text := fmt.Sprintf("Alert (%s), %s: %s", with["severity"], with["title"], with["text"])
	_, err := fmt.Fprintf(l.out, "       %s\n", wrapAfter(text, 72, "         "))
	return err
}
