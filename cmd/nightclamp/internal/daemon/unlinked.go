package daemon

import (
	"context"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

// Unlinked is a link to nobody, for a run without servers.
type Unlinked struct{}

// Sample does nothing.
func (Unlinked) Sample(string, string, sensor.Sample) {}

// Event does nothing.
func (Unlinked) Event(context.Context, press.Event) error { return nil }

// Alert does nothing.
func (Unlinked) Alert(context.Context, press.Alert) error { return nil }

// Status does nothing.
func (Unlinked) Status(press.Status) error { return nil }
