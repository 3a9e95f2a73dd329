package daemon

import (
	"context"
	"sync"
)

// watchers are those who want to know that a status changed. Each has a place
// for one word; a second is dropped while the first was not taken.
type watchers struct {
	mu   sync.Mutex
	all  map[chan struct{}]struct{}
	over bool
}

// Subscribe returns a channel that gets a value after a status changed, until
// ctx ends or the daemon stops.
func (d *Daemon) Subscribe(ctx context.Context) <-chan struct{} { return d.watchers.subscribe(ctx) }

func (w *watchers) subscribe(ctx context.Context) <-chan struct{} {
	c := make(chan struct{}, 1)
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.over {
		close(c)
		return c
	}
	if w.all == nil {
		w.all = map[chan struct{}]struct{}{}
	}
	w.all[c] = struct{}{}
	context.AfterFunc(ctx, func() { w.leave(c) })
	return c
}

func (w *watchers) leave(c chan struct{}) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if _, there := w.all[c]; there {
		delete(w.all, c)
		close(c)
	}
}

func (w *watchers) tell() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for c := range w.all {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

func (w *watchers) close() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.over = true
	for c := range w.all {
		delete(w.all, c)
		close(c)
	}
}
