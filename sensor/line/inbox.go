package line

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// mostOdd is how many lines in a row may be unreadable.
const mostOdd = 10

// ErrNoLine means that lines come, but none that can be read.
var ErrNoLine = errors.New("no readable line; is this the right sender, and the right form?")

// Inbox keeps the newest line for whoever reads, so that a slow reader never
// sees old ones. One goroutine puts lines in, another takes them out.
type Inbox struct {
	parser Parser
	newest chan result

	mu   sync.Mutex
	odd  int   // lines in a row that could not be read
	last error // what was wrong with the newest of them
}

// result is a line as it was understood.
type result struct {
	sensor.Sample
	err error
}

// NewInbox returns an empty one.
func NewInbox(p Parser) *Inbox { return &Inbox{parser: p, newest: make(chan result, 1)} }

// Put takes a line that came at t. A few that cannot be read are passed over:
// the first one after opening is mostly half a line, and a controller may say
// hello.
func (b *Inbox) Put(t time.Time, text []byte) {
	s, err := b.parser.Parse(t, text)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.last = err; err == nil {
		b.odd = 0
		b.put(result{Sample: s})
		return
	}
	if b.odd++; b.odd >= mostOdd {
		b.put(result{err: b.unreadable()})
	}
}

// unreadable says how many lines came, and what is wrong with them; nil when none
// did. It runs under b.mu.
func (b *Inbox) unreadable() error {
	if b.last == nil {
		return nil
	}
	return fmt.Errorf("%w %d lines came; the newest: %w", ErrNoLine, b.odd, b.last)
}

// Fail says that no more lines come.
func (b *Inbox) Fail(err error) { b.put(result{err: err}) }

func (b *Inbox) put(r result) {
	select {
	case <-b.newest:
	default:
	}
	b.newest <- r
}

// Take returns the newest line that was not taken before, or waits for one.
func (b *Inbox) Take(ctx context.Context) (sensor.Sample, error) {
	select {
	case r := <-b.newest:
		return r.Sample, r.err
	case <-ctx.Done():
		b.mu.Lock()
		defer b.mu.Unlock()
		if err := b.unreadable(); err != nil {
			return sensor.Sample{}, err
		}
		return sensor.Sample{}, fmt.Errorf("no line came: %w", ctx.Err())
	}
}
