package wire

import (
	"context"
	"errors"
	"slices"
	"sync"
)

// Message is something that must arrive.
type Message struct {
	ID      string // the same for every copy of the same message
	Subject string
	Data    []byte
}

// Backlog is where messages wait until the server has taken them. The record
// may implement it durably; [NewMemory] is one that forgets at the end of the
// process. Its methods are called from several goroutines.
type Backlog interface {
	// Put keeps a message behind those that wait already. One whose ID waits
	// already is not kept twice.
	Put(ctx context.Context, m Message) error
	// Next returns the oldest message that has not been taken, and false when
	// nothing waits.
	Next(ctx context.Context) (Message, bool, error)
	// Taken forgets the message with this ID.
	Taken(ctx context.Context, id string) error
	// Len is how many wait.
	Len() int
}

// ErrFull is returned by a [Memory] that had to let its oldest message go.
var ErrFull = errors.New("nats: more messages wait for the server than can be kept; the oldest was let go (it is still in the record)")

// Memory is a bounded [Backlog] in memory.
type Memory struct {
	mu    sync.Mutex
	limit int
	wait  []Message
	ids   map[string]struct{}
}

// NewMemory returns a backlog for at most limit messages.
func NewMemory(limit int) *Memory {
	return &Memory{limit: limit, ids: map[string]struct{}{}}
}

// Put keeps a message. When there is no room the oldest goes, and the error is [ErrFull].
func (b *Memory) Put(_ context.Context, m Message) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, waits := b.ids[m.ID]; waits {
		return nil
	}
	var err error
	if len(b.wait) >= b.limit {
		delete(b.ids, b.wait[0].ID)
		b.wait = slices.Delete(b.wait, 0, 1)
		err = ErrFull
	}
	b.wait = append(b.wait, m)
	b.ids[m.ID] = struct{}{}
	return err
}

// Next returns the oldest message.
func (b *Memory) Next(context.Context) (Message, bool, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.wait) == 0 {
		return Message{}, false, nil
	}
	return b.wait[0], true, nil
}

// Taken forgets a message.
func (b *Memory) Taken(_ context.Context, id string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, waits := b.ids[id]; !waits {
		return nil
	}
	delete(b.ids, id)
	b.wait = slices.DeleteFunc(b.wait, func(m Message) bool { return m.ID == id })
	return nil
}

// Len is how many messages wait.
func (b *Memory) Len() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.wait)
}
