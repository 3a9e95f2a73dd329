package main

import (
	"errors"
	"io"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
)

// dropReplay tests the bag of a recorded series, from its first sample or from
// when it is pumped down.
func (a *app) dropReplay(f dropFlags) error {
	in, name, err := a.openInput(f.replay)
	if err != nil {
		return usageError{err}
	}
	defer in.Close() //nolint:errcheck // it was only read
	series, err := csvfile.NewReader(in, name)
	if err != nil {
		return usageError{err}
	}
	cfg := press.Config{Press: "replay", Site: "replay", Work: press.EmptyBag}
	var run *press.Run
	for {
		sample, err := series.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return usageError{err}
		}
		first := run == nil
		if first {
			cfg.Display.Location = sample.Time.Location()
			run = press.New(cfg)
		}
		run.Advance(sample)
		if first {
			if _, err := run.DropTest(f.order()); err != nil {
				return usageError{err}
			}
		}
		if d := run.Status().DropTest; !d.Running() {
			return a.dropVerdict(*d)
		}
	}
	if run == nil {
		return usageError{errors.New(name + ": a series without a sample")}
	}
	run.CutDropTest("end_of_series")
	return a.dropVerdict(*run.Status().DropTest)
}
