package intake

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/press/record"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/csvfile"
)

// LogOptions say what a plain series does not.
type LogOptions struct {
	Press press.Config // site, press, work, datasheet, floor
	Run   record.Run   // Glue, Sheet, Plies, AreaM2 and Notes are taken over
	// Begin is the moment of the first sample of a series that counts seconds.
	Begin time.Time
}

// Log takes in a plain series, as `nightclamp replay` reads it: the engine says
// where runs begin and end. It returns the IDs of the runs that were found. The
// name stands in errors.
func Log(ctx context.Context, keeper Keeper, in io.Reader, name string, options LogOptions) ([]string, error) {
	series, err := csvfile.NewReader(in, name)
	if err != nil {
		return nil, err
	}
	l := &log{options: options, keeper: keeper, thinner: record.NewThinner(0), engine: press.New(options.Press)}
	for {
		sample, err := series.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return l.taken, err
		}
		if series.TimeKind() == csvfile.Seconds {
			if options.Begin.IsZero() {
				return nil, fmt.Errorf("%s counts seconds: say when the first sample was taken", name)
			}
			sample.Time = options.Begin.Add(sample.Time.Sub(csvfile.Origin()))
		}
		if err := l.take(ctx, sample); err != nil {
			return l.taken, fmt.Errorf("import %s: %w", name, err)
		}
	}
	if l.engine.ID() != "" {
		err = l.end(ctx, l.engine.Release())
	}
	if err == nil && len(l.taken) == 0 {
		err = errors.New("no run is in it: the pressure shows no pull-down and no hold")
	}
	if err != nil {
		return l.taken, fmt.Errorf("import %s: %w", name, err)
	}
	return l.taken, nil
}

// log carries a series through the engine, run by run.
type log struct {
	options LogOptions
	keeper  Keeper
	engine  *press.Run
	thinner *record.Thinner
	rows    []record.Thin
	events  []press.Event
	taken   []string
	last    time.Time
}

func (l *log) take(ctx context.Context, s sensor.Sample) error {
	l.last = s.Time
	events := l.engine.Advance(s)
	if l.engine.Closed() {
		return l.end(ctx, events)
	}
	if l.engine.ID() == "" {
		return nil
	}
	l.events = append(l.events, events...)
	if row, full := l.thinner.Add(s); full {
		l.rows = append(l.rows, row)
	}
	return nil
}

// end keeps the run and waits for the next one.
func (l *log) end(ctx context.Context, events []press.Event) error {
	if row, some := l.thinner.Rest(); some {
		l.rows = append(l.rows, row)
	}
	status := l.engine.Status()
	final, err := json.Marshal(status)
	if err != nil {
		return err
	}
	run := l.options.Run
	run.ID, run.Site, run.Press, run.Work = status.Run, status.Site, status.Press, status.Work
	run.FloorPa, run.Strained = float64(status.FloorPa), !l.options.Press.Relaxed
	run.Started, run.Ended, run.Stage, run.Verdict, run.Final = status.Started, l.last, status.Stage, status.Verdict, final
	rows := l.rows
	err = l.keeper.Add(ctx, record.Whole{Run: run, Events: append(l.events, events...), Rows: func(yield func(record.Thin, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
	}})
	l.engine, l.rows, l.events = press.New(l.options.Press), nil, nil
	if err == nil {
		l.taken = append(l.taken, run.ID)
	}
	return err
}
