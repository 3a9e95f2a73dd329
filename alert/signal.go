package alert

import (
	"context"
	"log/slog"
	"sync/atomic"
	"time"

	"periph.io/x/conn/v3/gpio"

	"github.com/nightclamp/nightclamp/press"
)

// Signal is a buzzer and a lamp beside the press, for whoever stands there, and
// for what cannot be sent. They repeat a pattern by the loudest alert:
//
//	           buzzer                               lamp
//	wake       four short tones, every 8 s          quick flashes
//	warn       one tone, every minute               a slow flash
//	note       silent                               a short wink, every 8 s
//	all acknowledged   silent                       steadily on
//	nothing    silent                               off
//
// Both are outputs that are on when high. A buzzer that draws more than the few
// milliamperes of a pin needs a transistor, and a coil a diode besides.
type Signal struct {
	buzzer, lamp gpio.PinOut // nil: there is none
	active       func() []press.Alert
	log          *slog.Logger
	failed       bool
	nods         atomic.Int32 // half beats of a nod that are still to be played
}

// NewSignal returns a signal on the given pins. active lists the alerts of all
// presses and of the board.
func NewSignal(buzzer, lamp gpio.PinOut, active func() []press.Alert, log *slog.Logger) *Signal {
	return &Signal{buzzer: buzzer, lamp: lamp, active: active, log: log}
}

// beat is the length of one step of a pattern.
const beat = 125 * time.Millisecond

// pattern says for each of its steps, which it repeats, whether to be on.
type pattern struct {
	period int
	on     func(step int) bool
}

func never(int) bool      { return false }
func constantly(int) bool { return true }

// patterns returns what the buzzer and the lamp do about the alerts.
func patterns(alerts []press.Alert) (buzzer, lamp pattern) {
	loudest := -1
	for _, a := range alerts {
		if a.State == press.AlertRaised {
			loudest = max(loudest, rank(a.Severity))
		}
	}
	switch {
	case loudest == rank(press.Wake):
		return pattern{64, func(i int) bool { return i < 8 && i%2 == 0 }}, pattern{2, func(i int) bool { return i == 0 }}
	case loudest == rank(press.Warn):
		return pattern{480, func(i int) bool { return i < 4 }}, pattern{16, func(i int) bool { return i < 8 }}
	case loudest == rank(press.Note):
		return pattern{1, never}, pattern{64, func(i int) bool { return i == 0 }}
	case len(alerts) > 0:
		return pattern{1, never}, pattern{1, constantly}
	}
	return pattern{1, never}, pattern{1, never}
}

// Run plays until ctx ends, and leaves both off. A pin that fails is told of
// once; it stops nothing.
func (s *Signal) Run(ctx context.Context) error {
	defer s.set(s.buzzer, gpio.Low)
	defer s.set(s.lamp, gpio.Low)
	tick := time.NewTicker(beat)
	defer tick.Stop()
	const lookEvery = 8 // steps: once a second
	var buzzer, lamp pattern
	for step := 0; ; step++ {
		if step%lookEvery == 0 {
			buzzer, lamp = patterns(s.active())
		}
		if left := s.nods.Load(); left > 0 {
			s.nods.Add(-1)
			s.set(s.buzzer, left%2 == 0)
			s.set(s.lamp, left%2 == 0)
		} else {
			s.set(s.buzzer, gpio.Level(buzzer.on(step%buzzer.period)))
			s.set(s.lamp, gpio.Level(lamp.on(step%lamp.period)))
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// Nod answers somebody who pressed a button: one flash and tone for done, three for
// not done.
func (s *Signal) Nod(done bool) {
	times := int32(1)
	if !done {
		times = 3
	}
	s.nods.Store(2 * times)
}

func (s *Signal) set(pin gpio.PinOut, level gpio.Level) {
	if pin == nil {
		return
	}
	if err := pin.Out(level); err != nil && !s.failed {
		s.failed = true
		s.log.Error("signal pin cannot be set; look at its number and at who may use it", "pin", pin.String(), "err", err)
	}
}
