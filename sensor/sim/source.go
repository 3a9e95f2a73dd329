package sim

import (
	"context"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Source reads a [Bag] as if it were a part.
type Source struct {
	bag *Bag
	now func() time.Time
}

// NewSource returns a source that reads bag at the times that now gives: the
// wall clock's in a daemon, a faster one in a demo, a test's own.
func NewSource(bag *Bag, now func() time.Time) *Source {
	return &Source{bag: bag, now: now}
}

// Read carries the bag on to now and reads it.
func (s *Source) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	return s.bag.Step(s.now()), nil
}

// Close does nothing: closing a source leaves the bag as it is.
func (s *Source) Close() error { return nil }
