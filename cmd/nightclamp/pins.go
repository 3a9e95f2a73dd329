package main

import (
	"context"
	"log/slog"

	"golang.org/x/sync/errgroup"
	"periph.io/x/conn/v3/gpio"

	"github.com/nightclamp/nightclamp/alert"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/daemon"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/pins"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/button"
)

// hands are what the daemon does on the board's own pins: the relays of pumps, a
// lamp, a buzzer and a button. A pin that cannot be had is told of and stops
// nothing: the watch goes on.
type hands struct {
	cfg    *config.Config
	board  pins.Board
	log    *slog.Logger
	relays []*pins.Relay
}

func newHands(cfg *config.Config, board pins.Board, log *slog.Logger) *hands {
	return &hands{cfg: cfg, board: board, log: log}
}

// pump opens the relay of a press; nil where the press has no pump.
func (h *hands) pump(p config.Press) *daemon.Pump {
	if p.Pump.Pin == "" {
		return nil
	}
	relay, err := h.relay(p.Pump)
	if err != nil {
		h.log.Error("the pump's relay cannot be had; the press is watched without it", "press", p.Name, "error", err)
		return &daemon.Pump{Control: p.Pump.Control(), Relay: noRelay{err}}
	}
	h.relays = append(h.relays, relay)
	return &daemon.Pump{Control: p.Pump.Control(), Relay: relay}
}

func (h *hands) relay(p config.Pump) (*pins.Relay, error) {
	pin, err := h.board(p.Pin)
	if err != nil {
		return nil, err
	}
	return pins.NewRelay(pin, p.ActiveLow, h.log)
}

// noRelay is a relay that could not be had.
type noRelay struct{ why error }

// Set fails: the pump is locked by it, and an alert says so.
func (n noRelay) Set(bool) error { return n.why }

// keeper is the daemon, as the button orders it.
type keeper interface {
	Acknowledge(ctx context.Context, o press.AckOrder) ([]press.Alert, error)
	TopUp(ctx context.Context, o press.MarkOrder) (press.Status, error)
	Start(ctx context.Context, o press.StartOrder) (press.Status, error)
	Release(ctx context.Context, o press.MarkOrder) (press.Status, error)
}

// run works until ctx ends.
func (h *hands) run(ctx context.Context, d keeper, active func() []press.Alert) error {
	g, ctx := errgroup.WithContext(ctx)
	for _, r := range h.relays {
		g.Go(func() error { return r.Run(ctx) })
	}
	signal := h.signal(active)
	if signal != nil {
		g.Go(func() error { return signal.Run(ctx) })
	}
	if b := h.button(); b != nil {
		g.Go(func() error {
			return b.Run(ctx, func(ctx context.Context, p button.Press) { h.pressed(ctx, d, signal, p) })
		})
	}
	return g.Wait()
}

// signal is the lamp and the buzzer; nil: there are none.
func (h *hands) signal(active func() []press.Alert) *alert.Signal {
	buzzer, lamp := h.output(h.cfg.Pins.Buzzer), h.output(h.cfg.Pins.Lamp)
	if buzzer == nil && lamp == nil {
		return nil
	}
	return alert.NewSignal(buzzer, lamp, active, h.log)
}

func (h *hands) output(name string) gpio.PinOut {
	if name == "" {
		return nil
	}
	pin, err := h.board(name)
	if err != nil {
		h.log.Error("lamp or buzzer cannot be had", "error", err)
		return nil
	}
	return pin
}

func (h *hands) button() *pins.Button {
	if h.cfg.Pins.Button == "" {
		return nil
	}
	pin, err := h.board(h.cfg.Pins.Button)
	if err == nil {
		var b *pins.Button
		if b, err = pins.NewButton(pin); err == nil {
			return b
		}
	}
	h.log.Error("the button cannot be had", "error", err)
	return nil
}

// byButton is who acknowledges and writes notes at the button.
const byButton = "button"

// pressed does what a press means, and nods with lamp and buzzer: once for done,
// three times for not.
func (h *hands) pressed(ctx context.Context, d keeper, signal *alert.Signal, p button.Press) {
	meaning := map[button.Press]string{
		button.Short: h.cfg.Pins.Short, button.Double: h.cfg.Pins.Double, button.Long: h.cfg.Pins.Long,
	}[p]
	name := h.cfg.Pins.Press
	if name == "" {
		name = h.cfg.Presses[0].Name
	}
	var err error
	switch meaning {
	case config.MeansAcknowledge:
		err = h.acknowledge(ctx, d, name)
	case config.MeansTopUp:
		_, err = d.TopUp(ctx, press.MarkOrder{Press: name, Text: byButton})
	case config.MeansLayup:
		_, err = d.Start(ctx, press.StartOrder{Press: name, FloorPa: press.Unknown()})
	case config.MeansRelease:
		_, err = d.Release(ctx, press.MarkOrder{Press: name})
	default:
		return
	}
	h.log.Info("button", "press", name, "pressed", p, "means", meaning, "error", err)
	if signal != nil {
		signal.Nod(err == nil)
	}
}

// acknowledge takes the alerts of the press, and those of the board. It is no
// failure that one of them has none.
func (h *hands) acknowledge(ctx context.Context, d keeper, name string) error {
	_, first := d.Acknowledge(ctx, press.AckOrder{Press: name, By: byButton})
	_, second := d.Acknowledge(ctx, press.AckOrder{Press: alert.BoardName, By: byButton})
	if second == nil {
		return nil
	}
	return first
}
