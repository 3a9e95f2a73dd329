package alert

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/units"
)

// Outbox keeps messages until they are sent. The record implements it.
type Outbox interface {
	// Due returns up to limit messages that wait to be sent and may be tried
	// at now, in the order in which they were enqueued.
	Due(ctx context.Context, now time.Time, limit int) ([]press.Delivery, error)
	// Sent says that the message went out.
	Sent(ctx context.Context, key string) error
	// Retry says that a try failed and when the next one may be made.
	Retry(ctx context.Context, key string, at time.Time, failure string) error
	// GiveUp says that the message will never go out.
	GiveUp(ctx context.Context, key, failure string) error
}

const (
	// horizon is how far ahead the outbox is read. The dispatcher needs what is
	// not due yet to keep the messages of one alert in order.
	horizon = 7 * 24 * time.Hour
	// readAtMost is how many messages are read at once.
	readAtMost = 500
	// tooOld is the age at which a message is no use to anybody.
	tooOld = 48 * time.Hour
	// triesWhenRefused is how often a message is tried that the service calls
	// wrong: a network that wants a login first answers so, too.
	triesWhenRefused = 5
	// late is the age from which a message says that it is.
	late = 5 * time.Minute
	// takenPlace is why a message is given up that nobody misses.
	takenPlace = "a newer message about the same alert took its place"
)

// Dispatcher brings the messages of the outbox to their ways.
type Dispatcher struct {
	outbox *spare
	ways   Ways
	log    *slog.Logger
	wake   chan struct{}
	state  func(alertID string) (press.AlertState, bool) // nil: not known
	answer *Answers                                      // nil: messages have no link to answer by

	mu     sync.Mutex
	health map[string]press.WayHealth
	notes  map[string]note // by key: what the outbox could not be told
}

// note is what is remembered of a message when the outbox cannot be written, so
// that it is neither sent in a loop nor sent again.
type note struct {
	after time.Time // not to be tried before
	sent  bool
}

// NewDispatcher returns a dispatcher; [Dispatcher.Run] does the work.
func NewDispatcher(outbox Outbox, ways Ways, log *slog.Logger) *Dispatcher {
	d := &Dispatcher{outbox: &spare{Outbox: outbox, sent: map[string]bool{}}, ways: ways, log: log, wake: make(chan struct{}, 1), health: map[string]press.WayHealth{}, notes: map[string]note{}}
	for _, name := range ways.Names() {
		d.health[name] = press.WayHealth{Name: name}
	}
	return d
}

// Ask tells the dispatcher how to find out what has become of an alert, and
// whether there is such an alert still. What was held back for the quiet hours,
// or for the next person, is then sent only while it is still true. It must be
// called before [Dispatcher.Run].
func (d *Dispatcher) Ask(state func(alertID string) (press.AlertState, bool)) { d.state = state }

// AnswerBy lets every message that raises an alert carry a link to acknowledge it
// by. It must be called before [Dispatcher.Run].
func (d *Dispatcher) AnswerBy(a *Answers) { d.answer = a }

// answerable adds that link. The log is no place for it.
func (d *Dispatcher) answerable(m press.Delivery) press.Delivery {
	if d.answer != nil && stateOf(m) == press.AlertRaised && m.Way != LogWay {
		m.Answer = d.answer.Link(Answer{Alert: m.AlertID, Way: m.Way, Until: m.Created.Add(tooOld)})
	}
	return m
}

// Wake says that the outbox has something new. It never blocks.
func (d *Dispatcher) Wake() {
	select {
	case d.wake <- struct{}{}:
	default:
	}
}

// Direct takes messages that the outbox could not be given, because the record
// cannot be written, and sends them from memory. Giving them again, here or later
// through the outbox, sends nothing twice. It never blocks.
func (d *Dispatcher) Direct(list []press.Delivery) {
	if len(list) > 0 {
		d.outbox.put(list)
		d.Wake()
	}
}

// Health says how each way is doing, in the order of the config.
func (d *Dispatcher) Health() []press.WayHealth {
	d.mu.Lock()
	defer d.mu.Unlock()
	var list []press.WayHealth
	for _, name := range d.ways.Names() {
		list = append(list, d.health[name])
	}
	return list
}

// Run delivers until ctx ends. A way that hangs does not hold up the others.
func (d *Dispatcher) Run(ctx context.Context) error {
	r := round{Dispatcher: d, busy: map[string]bool{}, done: make(chan string)}
	defer r.finish()
	for {
		next := r.start(ctx)
		timer := time.NewTimer(next)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil
		case <-d.wake:
		case way := <-r.done:
			delete(r.busy, way)
		case <-timer.C:
		}
		timer.Stop()
	}
}

// round is what Run keeps between two looks into the outbox.
type round struct {
	*Dispatcher
	busy map[string]bool // ways that are at work
	done chan string
}

// finish waits for the ways that are still at work; their sends end with ctx.
func (r *round) finish() {
	for len(r.busy) > 0 {
		delete(r.busy, <-r.done)
	}
}

// start sets every way to work that has something due and is idle, and returns
// how long until something else is due.
func (r *round) start(ctx context.Context) time.Duration {
	const idle = 10 * time.Minute
	now := time.Now()
	waiting, err := r.outbox.Due(ctx, now.Add(horizon), readAtMost)
	if err != nil {
		if ctx.Err() == nil {
			r.log.Error("outbox cannot be read; trying again", "err", err)
		}
		return 10 * time.Second
	}
	next := idle
	for way, lane := range lanes(waiting) {
		r.countWaiting(way, len(lane))
		if r.busy[way] {
			continue // it says when it is done
		}
		due, wait := r.dueIn(lane, now)
		if len(due) == 0 {
			next = min(next, wait)
			continue
		}
		r.busy[way] = true
		go func() {
			r.work(ctx, way, due)
			r.done <- way
		}()
	}
	return next
}

// work sends what is due on one way, the most urgent alert first, until
// something fails: then the outbox is looked at again, because something more
// urgent may have come while a dead network was waited for.
func (d *Dispatcher) work(ctx context.Context, way string, due []press.Delivery) {
	due, superseded := newest(due)
	for _, m := range superseded {
		d.settle(m, false, d.outbox.GiveUp(ctx, m.Key, takenPlace))
	}
	for _, m := range due {
		if ctx.Err() != nil || d.send(ctx, way, m) != nil {
			return
		}
	}
}

// send tries one message once and tells the outbox what came of it.
func (d *Dispatcher) send(ctx context.Context, way string, m press.Delivery) error {
	open := d.ways.named(way)
	switch age := time.Since(m.Created); {
	case d.noted(m.Key).sent:
		d.settle(m, true, d.outbox.Sent(ctx, m.Key))
		return nil
	case d.past(m):
		d.settle(m, false, d.outbox.GiveUp(ctx, m.Key, "acknowledged or over before it was due"))
		return nil
	case open == nil:
		d.settle(m, false, d.outbox.GiveUp(ctx, m.Key, "no way of this name is configured any more"))
		return nil
	case age > tooOld:
		d.log.Error("alert was never delivered; given up", "way", way, "alert", m.AlertID, "tries", m.Attempts, "err", m.Error)
		d.lost(way)
		d.settle(m, false, d.outbox.GiveUp(ctx, m.Key, "too old to be of use; last: "+m.Error))
		return nil
	case age > late:
		m.Title += fmt.Sprintf(" (%s late)", units.Display{}.Span(age))
	}
	trying, cancel := context.WithTimeout(ctx, sendPatience)
	err := open.sender.Send(trying, d.answerable(m))
	cancel()
	if err == nil {
		d.well(way)
		d.settle(m, true, d.outbox.Sent(context.WithoutCancel(ctx), m.Key))
		return nil
	}
	if ctx.Err() != nil { // shut down in the middle: it stays as it was
		return ctx.Err()
	}
	d.failed(ctx, way, m, err)
	return err
}

func (d *Dispatcher) failed(ctx context.Context, way string, m press.Delivery, err error) {
	d.ill(way, err)
	if errors.Is(err, ErrPermanent) && m.Attempts+1 >= triesWhenRefused {
		d.log.Error("alert could not be delivered; given up", "way", way, "alert", m.AlertID, "tries", m.Attempts+1, "err", err)
		d.lost(way)
		d.settle(m, false, d.outbox.GiveUp(ctx, m.Key, err.Error()))
		return
	}
	at := time.Now().Add(pause(m, errors.Is(err, ErrPermanent)))
	d.settle(m, false, d.outbox.Retry(ctx, m.Key, at, err.Error()))
}

// pause grows with every try from two seconds to five minutes, for a message
// that wakes to half a minute; a random part of it keeps boards apart.
func pause(m press.Delivery, refused bool) time.Duration {
	longest := 5 * time.Minute
	if m.Severity == press.Wake {
		longest = 30 * time.Second
	}
	first := 2 * time.Second
	if refused {
		first, longest = 30*time.Second, 30*time.Minute
	}
	p := min(longest, first<<min(m.Attempts, 12))
	return p*3/4 + rand.N(p/4)
}

func (d *Dispatcher) countWaiting(way string, n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	h := d.health[way]
	h.Name, h.Waiting = way, n
	d.health[way] = h
}

func (d *Dispatcher) well(way string) {
	d.mu.Lock()
	h := d.health[way]
	before := h.Failing
	h.Failing, h.Error, h.LastOK = time.Time{}, "", time.Now().UTC()
	h.Waiting = max(0, h.Waiting-1)
	d.health[way] = h
	d.mu.Unlock()
	if !before.IsZero() {
		d.log.Info("alerts are delivered again", "way", way, "failing_since", before)
	}
}

func (d *Dispatcher) ill(way string, err error) {
	d.mu.Lock()
	h := d.health[way]
	news := h.Failing.IsZero() || h.Error != err.Error()
	if h.Failing.IsZero() {
		h.Failing = time.Now().UTC()
	}
	h.Error = err.Error()
	d.health[way] = h
	d.mu.Unlock()
	if news {
		d.log.Error("alert not delivered; trying on", "way", way, "err", err)
	}
}

func (d *Dispatcher) lost(way string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	h := d.health[way]
	h.GivenUp++
	d.health[way] = h
}
