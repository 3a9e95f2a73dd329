package pins

import (
	"context"
	"fmt"
	"time"

	"periph.io/x/conn/v3/gpio"

	"github.com/nightclamp/nightclamp/press/button"
)

// lookEvery is how often the button is looked at. Asking the kernel fifty times a
// second costs next to nothing, and works on pins that tell no edges.
const lookEvery = 20 * time.Millisecond

// Button is a push button from a pin to ground. The pin is pulled up inside.
type Button struct{ pin gpio.PinIn }

// NewButton takes the pin.
func NewButton(pin gpio.PinIn) (*Button, error) {
	if err := pin.In(gpio.PullUp, gpio.NoEdge); err != nil {
		return nil, fmt.Errorf("button on pin %s: %w; look at the pin's number and at who may use it", pin, err)
	}
	return &Button{pin}, nil
}

// Run calls pressed for every press until ctx ends. A button that is down at the
// start, or a wire that lies on ground, must be let go of first.
func (b *Button) Run(ctx context.Context, pressed func(context.Context, button.Press)) error {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	began := time.Now()
	var decoder button.Decoder
	armed := false
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		closed := b.pin.Read() == gpio.Low
		if armed = armed || !closed; !armed {
			continue
		}
		if p := decoder.Sample(time.Since(began), closed); p != "" {
			pressed(ctx, p)
		}
	}
}
