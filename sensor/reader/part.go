package reader

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"sync"
	"time"

	"github.com/cenkalti/backoff/v5"

	"github.com/nightclamp/nightclamp/sensor"
)

// Part is one part of a press, configured and not yet open.
type Part struct {
	Name   string            // unique on its press
	Driver string            // for [sensor.Health] alone
	Reads  []sensor.Quantity // what it should read
	// Every is its pace; zero: the group's.
	Every time.Duration
	// Timeout is how long one reading may take; zero: [DefaultTimeout].
	Timeout time.Duration
	// MaxAge is how long a reading stands for the present; zero: five times its
	// pace, and 5 s at least.
	MaxAge time.Duration
	Open   func(context.Context) (sensor.Source, error)
	// Correct takes the part's known errors out of a reading; nil: none is known.
	// airC is the newest known temperature of the air, NaN: there is none.
	Correct func(s sensor.Sample, airC float64) sensor.Sample
}

// DefaultTimeout is how long a reading may take when its part does not say.
const DefaultTimeout = 2 * time.Second

// A part that failed is opened again after about retryFirst, then after twice
// that and so on up to about retryMost.
const (
	retryFirst = 250 * time.Millisecond
	retryMost  = 30 * time.Second
)

// ErrHangs is the state of a part whose reading does not return.
var ErrHangs = errors.New("no answer within its time; waiting for it to return")

// reading is what a part said last.
type reading struct {
	sensor.Sample
	moment Moment
	at     time.Time // by the process's own clock, for its age
	number uint64    // counts the good readings from 1
}

// part runs one part and keeps its newest reading.
type part struct {
	Part
	clock Clock
	log   *slog.Logger
	fresh func() // called after each good reading

	mu     sync.Mutex
	newest reading
	reads  []sensor.Quantity
	busy   time.Time // since when a call has not returned; zero: none has not
	errs   uint64
	err    error
}

// run reads the part until ctx ends or a recorded series does.
func (p *part) run(ctx context.Context) {
	retry := backoff.NewExponentialBackOff()
	retry.InitialInterval, retry.MaxInterval, retry.Multiplier = retryFirst, retryMost, 2
	for {
		err := p.sitting(ctx, retry.Reset)
		if ctx.Err() != nil {
			return
		}
		p.failed(err)
		if errors.Is(err, io.EOF) {
			return
		}
		if wait(ctx, time.After(retry.NextBackOff())) != nil {
			return
		}
	}
}

// sitting opens the part and reads it until that fails.
func (p *part) sitting(ctx context.Context, worked func()) (err error) {
	source, err := p.open(ctx)
	if err != nil {
		return err
	}
	p.learn(source)
	closeOnce := sync.OnceValue(source.Close)
	defer func() { err = errors.Join(err, p.shut(closeOnce)) }()
	pace := time.NewTicker(p.Every)
	defer pace.Stop()
	for {
		if err := p.read(ctx, source, closeOnce); err != nil {
			return err
		}
		worked()
		if err := wait(ctx, pace.C); err != nil {
			return err
		}
	}
}

// teller is a source that knows what it reads only once it is open, as that of
// a recorded file does.
type teller interface{ Reads() []sensor.Quantity }

func (p *part) learn(source sensor.Source) {
	if t, ok := source.(teller); ok {
		p.mu.Lock()
		p.reads = t.Reads()
		p.mu.Unlock()
	}
}

func wait(ctx context.Context, c <-chan time.Time) error {
	select {
	case <-c:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (p *part) open(ctx context.Context) (source sensor.Source, err error) {
	p.begin()
	defer func() { p.end(recover(), &err) }()
	ctx, cancel := context.WithTimeout(ctx, p.Timeout)
	defer cancel()
	inTime := context.AfterFunc(ctx, p.hangs)
	defer inTime()
	source, err = p.Open(ctx)
	if err != nil {
		return nil, fmt.Errorf("opening: %w", err)
	}
	return source, nil
}

// read makes one reading. When its time is over the source is closed under it,
// which ends a read from a line or a socket.
func (p *part) read(ctx context.Context, source sensor.Source, closeOnce func() error) (err error) {
	p.begin()
	defer func() { p.end(recover(), &err) }()
	ctx, cancel := context.WithTimeout(ctx, p.Timeout)
	defer cancel()
	inTime := context.AfterFunc(ctx, func() {
		p.hangs()
		_ = closeOnce() // what it says is told by the sitting, which calls it too
	})
	s, err := source.Read(ctx)
	if !inTime() {
		return errors.Join(fmt.Errorf("no answer within %v: %w", p.Timeout, context.Cause(ctx)), err)
	}
	if err != nil {
		return err
	}
	p.succeeded(s)
	return nil
}

func (p *part) shut(closeOnce func() error) (err error) {
	p.begin()
	defer func() { p.end(recover(), &err) }()
	return closeOnce()
}

// begin and end enclose each call of the driver, so that one that does not
// return can be told.
func (p *part) begin() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.busy = time.Now()
}

// end takes what recover gave: a driver that panics has failed, no more.
func (p *part) end(broken any, err *error) {
	if broken != nil {
		*err = fmt.Errorf("driver %s broke: %v", p.Driver, broken)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.busy = time.Time{}
}

func (p *part) succeeded(s sensor.Sample) {
	moment := p.clock()
	p.mu.Lock()
	was := p.err
	p.newest = reading{Sample: s, moment: moment, at: time.Now(), number: p.newest.number + 1}
	p.err = nil
	p.mu.Unlock()
	if was != nil {
		p.log.Info("sensor answers again", "sensor", p.Name)
	}
	p.fresh()
}

func (p *part) failed(err error) {
	p.mu.Lock()
	was := p.err
	p.err = err
	ended := errors.Is(err, io.EOF)
	if !ended {
		p.errs++
	}
	p.mu.Unlock()
	switch {
	case ended:
		p.log.Info("recorded series has ended", "sensor", p.Name)
	case was == nil:
		p.log.Warn("sensor failed; trying again", "sensor", p.Name, "err", err)
	}
}

// hangs is called when a call's time is over and it has not returned.
func (p *part) hangs() {
	p.mu.Lock()
	stuck := !p.busy.IsZero() && time.Since(p.busy) >= p.Timeout
	first := stuck && p.err == nil
	if stuck {
		p.err = ErrHangs
	}
	p.mu.Unlock()
	if first {
		p.log.Warn("sensor does not answer in time", "sensor", p.Name, "timeout", p.Timeout)
	}
}

// last returns the newest reading and how the part is doing.
func (p *part) last() (reading, sensor.Health) {
	p.mu.Lock()
	defer p.mu.Unlock()
	h := sensor.Health{
		Name: p.Name, Driver: p.Driver, Reads: p.reads,
		LastAt: p.newest.moment.Time, Errors: p.errs, Err: p.err, Last: sensor.Blank(time.Time{}),
	}
	if p.newest.number > 0 {
		h.Last = p.newest.Sample
	}
	h.Healthy = h.Err == nil && p.newest.number > 0 && time.Since(p.newest.at) <= p.MaxAge
	return p.newest, h
}
