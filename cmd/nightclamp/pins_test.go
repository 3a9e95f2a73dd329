package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/pins"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/button"
)

// bench of pins that are none of a real board.
type pinBench map[string]*gpiotest.Pin

func (b pinBench) open(name string) (pins.Pin, error) {
	if pin := b[name]; pin != nil {
		return pin, nil
	}
	return nil, fmt.Errorf("there is no pin %q", name)
}

func pinned(t *testing.T, more string) *config.Config {
	t.Helper()
	cfg, err := config.Parse("pins.toml", []byte(`[pins]
lamp = "GPIO23"
buzzer = "GPIO24"
button = "GPIO17"
`+more+`
[[press]]
name = "sled"
[press.pump]
pin = "GPIO25"
active_low = true
`), config.BuiltIn())
	if err != nil {
		t.Fatal(err)
	}
	return cfg
}

// ordered notes the orders of a button.
type ordered struct {
	orders []string
	fail   error
}

func (o *ordered) note(order, press string) error {
	o.orders = append(o.orders, order+" "+press)
	return o.fail
}

func (o *ordered) Acknowledge(_ context.Context, a press.AckOrder) ([]press.Alert, error) {
	return nil, o.note("acknowledge", a.Press+" by "+a.By)
}

func (o *ordered) TopUp(_ context.Context, m press.MarkOrder) (press.Status, error) {
	return press.Status{}, o.note("top-up", m.Press)
}

func (o *ordered) Start(_ context.Context, s press.StartOrder) (press.Status, error) {
	return press.Status{}, o.note("start", s.Press)
}

func (o *ordered) Release(_ context.Context, m press.MarkOrder) (press.Status, error) {
	return press.Status{}, o.note("release", m.Press)
}

// TestHands presses the button beside a press that is in trouble: the lamp and the
// buzzer are at work, and the relay is off before, and after.
func TestHands(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		board := pinBench{}
		for _, name := range []string{"GPIO17", "GPIO23", "GPIO24", "GPIO25"} {
			board[name] = &gpiotest.Pin{N: name, EdgesChan: make(chan gpio.Level)}
		}
		at := func(name string) gpio.Level {
			board[name].Lock()
			defer board[name].Unlock()
			return board[name].L
		}
		cfg := pinned(t, `long = "release"`)
		h := newHands(cfg, board.open, slog.New(slog.DiscardHandler))
		pump := h.pump(cfg.Presses[0])
		if pump == nil || at("GPIO25") != gpio.High {
			t.Fatalf("a relay that is on when low begins %s", at("GPIO25"))
		}
		ctx, cancel := context.WithCancel(t.Context())
		o := &ordered{}
		wakes := []press.Alert{{Severity: press.Wake, State: press.AlertRaised}}
		ended := make(chan error, 1)
		go func() { ended <- h.run(ctx, o, func() []press.Alert { return wakes }) }()
		synctest.Wait()
		board["GPIO17"].Lock()
		board["GPIO17"].L = gpio.High // let go
		board["GPIO17"].Unlock()
		lamp := map[gpio.Level]bool{}
		for range 32 {
			time.Sleep(130 * time.Millisecond)
			lamp[at("GPIO23")] = true
		}
		if len(lamp) != 2 {
			t.Error("something is wrong and the lamp does not flash")
		}
		push := func(down ...time.Duration) {
			for _, d := range down {
				for _, l := range []gpio.Level{gpio.Low, gpio.High} {
					board["GPIO17"].Lock()
					board["GPIO17"].L = l
					board["GPIO17"].Unlock()
					time.Sleep(d)
				}
			}
			time.Sleep(time.Second)
		}
		push(200 * time.Millisecond)
		push(200*time.Millisecond, 200*time.Millisecond)
		push(1500 * time.Millisecond)
		if err := pump.Relay.Set(true); err != nil || at("GPIO25") != gpio.Low {
			t.Errorf("switched on: %v, %s", err, at("GPIO25"))
		}
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		want := []string{"acknowledge sled by button", "acknowledge board by button", "top-up sled", "release sled"}
		if !slices.Equal(o.orders, want) {
			t.Errorf("orders %q, want %q", o.orders, want)
		}
		if at("GPIO25") != gpio.High || at("GPIO23") != gpio.Low || at("GPIO24") != gpio.Low {
			t.Errorf("at the end: relay %s, lamp %s, buzzer %s", at("GPIO25"), at("GPIO23"), at("GPIO24"))
		}
	})
}

// TestPinsThatAreNotThere are told of, and the watch goes on.
func TestPinsThatAreNotThere(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		cfg := pinned(t, "")
		h := newHands(cfg, pinBench{}.open, slog.New(slog.NewTextHandler(&log, nil)))
		pump := h.pump(cfg.Presses[0])
		if pump == nil || pump.Relay.Set(false) == nil {
			t.Error("a relay that is not there can be switched")
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
		defer cancel()
		if err := h.run(ctx, &ordered{}, func() []press.Alert { return nil }); err != nil {
			t.Error(err)
		}
		if n := strings.Count(log.String(), "there is no pin"); n != 4 {
			t.Errorf("%d of 4 pins told of:\n%s", n, log.String())
		}
	})
}

func TestButtonNods(t *testing.T) {
	cfg := pinned(t, `short = "nothing"`)
	h := newHands(cfg, pinBench{}.open, slog.New(slog.DiscardHandler))
	o := &ordered{fail: errors.New("no run")}
	h.pressed(t.Context(), o, nil, button.Short)
	h.pressed(t.Context(), o, nil, button.Long)
	if want := []string{"start sled"}; !slices.Equal(o.orders, want) {
		t.Errorf("%q", o.orders)
	}
}

func TestPumpsOff(t *testing.T) {
	var out bytes.Buffer
	a := &app{streams: streams{strings.NewReader(""), &out, &out}}
	cfg := pinned(t, "")
	board := pinBench{"GPIO25": {N: "GPIO25", L: gpio.Low}}
	if err := a.pumpsOff(cfg, board.open); err != nil || board["GPIO25"].L != gpio.High || !strings.Contains(out.String(), "is off") {
		t.Errorf("%v, %s, %s", err, board["GPIO25"].L, out.String())
	}
	if err := a.pumpsOff(cfg, pinBench{}.open); err == nil || !strings.Contains(err.Error(), "pull its plug") {
		t.Errorf("a relay that is not there: %v", err)
	}
	if r := newShed(t, "").run(t, "pump", "off"); r.code != exitOK || r.out != "" {
		t.Errorf("without a pump: exit %d, %s%s", r.code, r.out, r.err)
	}
}
