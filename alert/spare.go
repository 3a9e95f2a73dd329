package alert

import (
	"context"
	"slices"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// spare is the outbox with a second one in memory, for what the first cannot be
// given: a full disk must not keep anybody asleep. What went out from memory and
// turns up in the outbox later is not sent again.
type spare struct {
	Outbox

	mu      sync.Mutex
	waiting []press.Delivery
	sent    map[string]bool
}

// spareAtMost bounds what waits in memory.
const spareAtMost = 1000

func (s *spare) put(list []press.Delivery) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, d := range list {
		if !s.sent[d.Key] && s.find(d.Key) < 0 && len(s.waiting) < spareAtMost {
			s.waiting = append(s.waiting, d)
		}
	}
}

func (s *spare) find(key string) int {
	return slices.IndexFunc(s.waiting, func(d press.Delivery) bool { return d.Key == key })
}

// Due returns what is due in the outbox, then what is due in memory. An outbox
// that cannot be read is no error while something waits in memory.
func (s *spare) Due(ctx context.Context, now time.Time, limit int) ([]press.Delivery, error) {
	kept, err := s.Outbox.Due(ctx, now, limit)
	s.mu.Lock()
	defer s.mu.Unlock()
	var due []press.Delivery
	for _, d := range kept {
		if i := s.find(d.Key); i >= 0 { // the disk has room again
			s.waiting = slices.Delete(s.waiting, i, i+1)
		}
		if !s.sent[d.Key] {
			due = append(due, d)
		} else if s.Outbox.Sent(ctx, d.Key) == nil {
			delete(s.sent, d.Key)
		}
	}
	for _, d := range s.waiting {
		if !d.DueAt.After(now) {
			due, err = append(due, d), nil
		}
	}
	return due, err
}

// settle changes a message in memory and reports whether it is there.
func (s *spare) settle(key string, change func(d *press.Delivery) (stays bool)) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.find(key)
	if i < 0 {
		return false
	}
	s.waiting[i].Attempts++
	if !change(&s.waiting[i]) {
		s.waiting = slices.Delete(s.waiting, i, i+1)
		if len(s.sent) < spareAtMost {
			s.sent[key] = true
		}
	}
	return true
}

// Sent says that the message went out.
func (s *spare) Sent(ctx context.Context, key string) error {
	if s.settle(key, func(*press.Delivery) bool { return false }) {
		return nil
	}
	return s.Outbox.Sent(ctx, key)
}

// Retry says when the next try may be made.
func (s *spare) Retry(ctx context.Context, key string, at time.Time, failure string) error {
	if s.settle(key, func(d *press.Delivery) bool { d.DueAt, d.Error = at, failure; return true }) {
		return nil
	}
	return s.Outbox.Retry(ctx, key, at, failure)
}

// GiveUp says that the message will never go out.
func (s *spare) GiveUp(ctx context.Context, key, failure string) error {
	if s.settle(key, func(*press.Delivery) bool { return false }) {
		return nil
	}
	return s.Outbox.GiveUp(ctx, key, failure)
}
