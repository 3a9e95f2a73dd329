package reader

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Config is what a group needs besides its parts. The zero value works.
type Config struct {
	// Interval is the pace of the samples; zero: ten a second.
	Interval time.Duration
	// StationPa is the room's pressure while no barometer tells it; zero: the
	// standard atmosphere.
	StationPa float64
	Clock     Clock        // nil: [SystemClock]
	Log       *slog.Logger // nil: the default one
}

// HoldAmbient is how long a barometer that fell silent is believed.
const HoldAmbient = 6 * time.Hour

// wakeUp is how long a barometer may take to answer for the first time before
// the room's pressure is assumed.
const wakeUp = 5 * time.Second

// leaveAfter is how long the end of a group waits for parts that hang.
const leaveAfter = time.Second

// Group reads the parts of one press.
type Group struct {
	cfg   Config
	parts []*part
	lead  *part         // reads the bag; nil: none does
	fresh chan struct{} // the lead has read

	// Of the goroutine that gives samples:
	given   uint64 // number of the lead's reading that was given last
	started time.Time
	before  Moment // of the sample before
	ambient held
	airC    float64 // newest known temperature of the air; NaN: there was none
	told    float64 // room pressure that a source without barometer was told; 0: none
}

// New returns a group that is not yet running.
func New(parts []Part, cfg Config) (*Group, error) {
	if cfg.Interval <= 0 {
		cfg.Interval = 100 * time.Millisecond
	}
	if cfg.Clock == nil {
		cfg.Clock = SystemClock()
	}
	if cfg.Log == nil {
		cfg.Log = slog.Default()
	}
	g := &Group{cfg: cfg, fresh: make(chan struct{}, 1), airC: sensor.Missing}
	for _, c := range parts {
		if slices.ContainsFunc(g.parts, func(p *part) bool { return p.Name == c.Name }) {
			return nil, fmt.Errorf("two sensors of a press are named %q: give each its own name", c.Name)
		}
		g.add(c)
	}
	return g, nil
}

func (g *Group) add(c Part) {
	if c.Every <= 0 {
		c.Every = g.cfg.Interval
	}
	if c.Timeout <= 0 {
		c.Timeout = DefaultTimeout
	}
	if c.MaxAge <= 0 {
		c.MaxAge = max(5*time.Second, 5*c.Every)
	}
	p := &part{Part: c, reads: c.Reads, clock: g.cfg.Clock, log: g.cfg.Log, fresh: func() {}}
	if g.lead == nil && slices.Contains(c.Reads, sensor.Bag) {
		g.lead = p
		p.fresh = g.wake
	}
	g.parts = append(g.parts, p)
}

func (g *Group) wake() {
	select {
	case g.fresh <- struct{}{}:
	default: // it is awake already
	}
}

// Run reads the parts and gives each sample to take, until ctx ends. It
// returns an error when a part hangs and had to be left behind.
func (g *Group) Run(ctx context.Context, take func(sensor.Sample)) error {
	var running sync.WaitGroup
	for _, p := range g.parts {
		running.Go(func() { p.run(ctx) })
	}
	g.give(ctx, take)
	return g.leave(&running)
}

// give passes samples on: with each reading of the lead, or when that is late.
func (g *Group) give(ctx context.Context, take func(sensor.Sample)) {
	g.started = time.Now()
	patience := g.cfg.Interval + g.cfg.Interval/2
	if g.lead != nil {
		patience = max(patience, g.lead.Every+g.lead.Every/2)
	}
	late := time.NewTimer(patience)
	defer late.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-g.fresh:
			late.Reset(patience)
		case <-late.C:
			late.Reset(g.cfg.Interval)
		}
		take(g.sample())
	}
}

func (g *Group) leave(running *sync.WaitGroup) error {
	done := make(chan struct{})
	go func() {
		running.Wait()
		close(done)
	}()
	timer := time.NewTimer(leaveAfter)
	defer timer.Stop()
	select {
	case <-done:
		return nil
	case <-timer.C:
		return g.hanging()
	}
}

func (g *Group) hanging() error {
	var err error
	for _, p := range g.parts {
		if !p.idle() {
			err = errors.Join(err, fmt.Errorf("sensor %s: left behind: %w", p.Name, ErrHangs))
		}
	}
	return err
}

func (p *part) idle() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.busy.IsZero()
}

// Health tells how each part is doing, in the order of the config. It may be
// called at any time, from anywhere.
func (g *Group) Health() []sensor.Health {
	out := make([]sensor.Health, len(g.parts))
	for i, p := range g.parts {
		_, out[i] = p.last()
	}
	return out
}
