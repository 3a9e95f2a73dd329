package pins

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"periph.io/x/conn/v3/gpio"
)

// Deadman is how long a relay stays on without its order being renewed.
const Deadman = 15 * time.Second

// Relay is the relay of a pump. It is off until [Relay.Set] says otherwise, goes off
// by itself when Set is not called any more, and when [Relay.Run] ends.
type Relay struct {
	pin gpio.PinOut
	on  gpio.Level // the level at which the relay is on
	log *slog.Logger

	mu     sync.Mutex
	is     bool
	ended  bool
	orders time.Time // of the newest order to be on
}

// NewRelay takes a pin and switches it off at once. activeLow: the relay is on when
// the pin is low.
func NewRelay(pin gpio.PinOut, activeLow bool, log *slog.Logger) (*Relay, error) {
	r := &Relay{pin: pin, on: gpio.Level(!activeLow), log: log}
	if err := r.put(false); err != nil {
		return nil, err
	}
	return r, nil
}

// Set switches the relay, or renews the order that it be on. A relay whose Run has
// ended stays off.
func (r *Relay) Set(on bool) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if on && r.ended {
		return fmt.Errorf("relay on pin %s: not switched on: the daemon is ending", r.pin)
	}
	if on {
		r.orders = time.Now()
	}
	if on == r.is {
		return nil
	}
	return r.put(on)
}

func (r *Relay) put(on bool) error {
	level := !r.on
	if on {
		level = r.on
	}
	if err := r.pin.Out(level); err != nil {
		return fmt.Errorf("relay on pin %s: %w; look at the pin's number and at who may use it", r.pin, err)
	}
	r.is = on
	return nil
}

// Run watches that the relay does not stay on by neglect, and switches it off when
// ctx ends.
func (r *Relay) Run(ctx context.Context) error {
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	defer r.end()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
			r.look()
		}
	}
}

// look switches off what nobody has asked for any more. A pin that fails is tried
// again with every look.
func (r *Relay) look() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if !r.is || time.Since(r.orders) < Deadman {
		return
	}
	err := r.put(false)
	r.log.Error("pump switched off: nobody has renewed its order", "pin", r.pin.String(), "for", Deadman, "err", err)
}

func (r *Relay) end() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.ended = true
	if err := r.put(false); err != nil {
		r.log.Error("pump not switched off; pull its plug", "err", err)
	}
}
