package pins_test

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/pins"
	"github.com/nightclamp/nightclamp/press/button"
)

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

func level(p *gpiotest.Pin) gpio.Level {
	p.Lock()
	defer p.Unlock()
	return p.L
}

func TestRelayIsOffFirst(t *testing.T) {
	for _, activeLow := range []bool{false, true} {
		pin := &gpiotest.Pin{N: "GPIO25", L: gpio.Level(!activeLow)} // as it would be when on
		if _, err := pins.NewRelay(pin, activeLow, quiet()); err != nil {
			t.Fatal(err)
		}
		if got := level(pin); got != gpio.Level(activeLow) {
			t.Errorf("active low %v: the pin is %s", activeLow, got)
		}
	}
}

// TestDeadman stops renewing the order: the relay goes off by itself.
func TestDeadman(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pin := &gpiotest.Pin{N: "GPIO25"}
		relay, err := pins.NewRelay(pin, false, quiet())
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		go relay.Run(ctx)
		for range 120 { // two minutes of orders
			if err := relay.Set(true); err != nil {
				t.Fatal(err)
			}
			time.Sleep(time.Second)
			if level(pin) != gpio.High {
				t.Fatal("it goes off although it is ordered on")
			}
		}
		time.Sleep(pins.Deadman - 3*time.Second)
		if level(pin) != gpio.High {
			t.Error("it goes off too soon")
		}
		time.Sleep(5 * time.Second)
		if level(pin) != gpio.Low {
			t.Error("nobody renews the order, and it stays on")
		}
		cancel()
		synctest.Wait()
	})
}

func TestRelayIsOffAtTheEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pin := &gpiotest.Pin{N: "GPIO25"}
		relay, err := pins.NewRelay(pin, true, quiet())
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		go relay.Run(ctx)
		if err := relay.Set(true); err != nil || level(pin) != gpio.Low {
			t.Fatalf("%v, %s", err, level(pin))
		}
		cancel()
		synctest.Wait()
		if level(pin) != gpio.High {
			t.Error("it stays on after the end")
		}
		if err := relay.Set(true); err == nil || level(pin) != gpio.High {
			t.Errorf("it is switched on after the end: %v", err)
		}
	})
}

// brokenPin takes nothing.
type brokenPin struct{ gpiotest.Pin }

func (*brokenPin) Out(gpio.Level) error { return errors.New("device or resource busy") }

func TestRelayThatCannotBeSwitched(t *testing.T) {
	if _, err := pins.NewRelay(&brokenPin{gpiotest.Pin{N: "GPIO25"}}, false, quiet()); err == nil {
		t.Error("a pin that takes nothing is taken")
	}
}

func TestButton(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pin := &gpiotest.Pin{N: "GPIO17", EdgesChan: make(chan gpio.Level)}
		set := func(l gpio.Level, d time.Duration) {
			pin.Lock()
			pin.L = l
			pin.Unlock()
			time.Sleep(d)
		}
		b, err := pins.NewButton(pin)
		if err != nil {
			t.Fatal(err)
		}
		if pin.Pull() != gpio.PullUp {
			t.Errorf("pulled %s", pin.Pull())
		}
		pin.L = gpio.Low // something lies on it at the start
		ctx, cancel := context.WithCancel(t.Context())
		var got []button.Press
		go b.Run(ctx, func(_ context.Context, p button.Press) { got = append(got, p) })
		time.Sleep(5 * time.Second)
		set(gpio.High, time.Second)
		set(gpio.Low, 200*time.Millisecond)
		set(gpio.High, time.Second)
		set(gpio.Low, 3*time.Second)
		set(gpio.High, time.Second)
		cancel()
		synctest.Wait()
		if want := []button.Press{button.Short, button.Long}; !slices.Equal(got, want) {
			t.Errorf("%v, want %v", got, want)
		}
	})
}
