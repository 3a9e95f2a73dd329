package alert

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"github.com/nightclamp/nightclamp/press"
)

// wirePin is a pin that counts how often it goes on, and for how long.
type wirePin struct {
	mu    sync.Mutex
	level gpio.Level
	since time.Time
	on    time.Duration
	rises int
	fail  error
}

// The rest of a pin.
func (p *wirePin) String() string                        { return "wirePin" }
func (p *wirePin) Halt() error                           { return nil }
func (p *wirePin) Name() string                          { return "wirePin" }
func (p *wirePin) Number() int                           { return 0 }
func (p *wirePin) Function() string                      { return "Out" }
func (p *wirePin) PWM(gpio.Duty, physic.Frequency) error { return errors.ErrUnsupported }

// Out sets the level.
func (p *wirePin) Out(l gpio.Level) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.level {
		p.on += time.Since(p.since)
	}
	if l && !p.level {
		p.rises++
	}
	p.level, p.since = l, time.Now()
	return p.fail
}

func TestSignalPatterns(t *testing.T) {
	alertOf := func(s press.Severity, state press.AlertState) []press.Alert {
		return []press.Alert{{Severity: press.Note, State: press.AlertAcknowledged}, {Severity: s, State: state}}
	}
	for _, c := range []struct {
		name                   string
		alerts                 []press.Alert
		tones, flashes         int // in two minutes
		toneMillis, lampMillis int // in all
	}{
		{"nothing", nil, 0, 0, 0, 0},
		{"wake", alertOf(press.Wake, press.AlertRaised), 60, 480, 60 * 125, 60000},
		{"warn", alertOf(press.Warn, press.AlertRaised), 2, 60, 1000, 60000},
		{"note", alertOf(press.Note, press.AlertRaised), 0, 15, 0, 15 * 125},
		{"acknowledged", alertOf(press.Wake, press.AlertAcknowledged), 0, 1, 0, 120000},
	} {
		synctest.Test(t, func(t *testing.T) {
			buzzer, lamp := &wirePin{}, &wirePin{}
			s := NewSignal(buzzer, lamp, func() []press.Alert { return c.alerts }, quiet())
			background(t, s.Run)
			time.Sleep(2*time.Minute - time.Millisecond)
			synctest.Wait() // the detector of races knows it
			if buzzer.rises != c.tones || lamp.rises != c.flashes {
				t.Errorf("%s: %d tones and %d flashes, want %d and %d", c.name, buzzer.rises, lamp.rises, c.tones, c.flashes)
			}
			near := func(got time.Duration, want int) bool {
				return (got - time.Duration(want)*time.Millisecond).Abs() <= 2*beat
			}
			if !near(buzzer.on, c.toneMillis) || !near(lamp.on, c.lampMillis) {
				t.Errorf("%s: buzzer on for %s, lamp for %s", c.name, buzzer.on, lamp.on)
			}
		})
	}
}

// TestSignalNods answers a button while nothing is wrong.
func TestSignalNods(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		buzzer := &wirePin{}
		s := NewSignal(buzzer, nil, func() []press.Alert { return nil }, slog.New(slog.DiscardHandler))
		ctx, cancel := context.WithCancel(t.Context())
		go s.Run(ctx)
		rises := func() int {
			buzzer.mu.Lock()
			defer buzzer.mu.Unlock()
			return buzzer.rises
		}
		for want, done := range map[int]bool{1: true, 3: false} {
			before := rises()
			s.Nod(done)
			time.Sleep(3 * time.Second)
			if got := rises() - before; got != want {
				t.Errorf("done %v: %d tones, want %d", done, got, want)
			}
		}
		cancel()
		synctest.Wait()
	})
}

func TestSignalIsOffAtTheEndAndOutlivesABadPin(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		lamp := &wirePin{fail: errors.New("busy")}
		s := NewSignal(nil, lamp, func() []press.Alert { return []press.Alert{{State: press.AlertAcknowledged}} }, quiet())
		ctx, stop := context.WithTimeout(t.Context(), time.Minute)
		defer stop()
		time.AfterFunc(30*time.Second, func() {
			lamp.mu.Lock()
			defer lamp.mu.Unlock()
			if !lamp.level {
				t.Error("the lamp is off")
			}
		})
		if err := s.Run(ctx); err != nil {
			t.Error(err)
		}
		synctest.Wait()
		if lamp.level {
			t.Error("the lamp is left on")
		}
	})
}
