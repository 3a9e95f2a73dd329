package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/calibration"
	"github.com/nightclamp/nightclamp/sensor/drivers"
	"github.com/nightclamp/nightclamp/sensor/reader"
)

// liveFeed reads the configured parts of one press, and takes their known errors out.
type liveFeed struct {
	group *reader.Group
	press string
	names []string // of the sensors
	path  string   // of the calibration
	log   *slog.Logger

	book    atomic.Pointer[calibration.Book]
	inForce atomic.Pointer[string] // of the book, in words
	changed time.Time              // of the file that was read; of the goroutine of Run
}

func newLiveFeed(p config.Press, cfg *config.Config, log *slog.Logger) (*liveFeed, error) {
	f := &liveFeed{press: p.Name, path: filepath.Join(cfg.Data, calibration.File), log: log.With("press", p.Name)}
	f.book.Store(&calibration.Book{})
	var parts []reader.Part
	for _, s := range p.Sensors {
		part, err := configurePart(s)
		if err != nil {
			return nil, fmt.Errorf("%s: press %s: sensor %s: %w", s.Where, p.Name, s.Name, err)
		}
		part.Correct = func(sample sensor.Sample, airC float64) sensor.Sample {
			return f.book.Load().For(f.press, part.Name).Apply(sample, airC)
		}
		f.names = append(f.names, part.Name)
		parts = append(parts, part)
	}
	group, err := reader.New(parts, reader.Config{
		Interval: p.Interval.Std(), StationPa: cfg.StationPressure.Pa(), Log: log.With("press", p.Name),
	})
	if err != nil {
		return nil, fmt.Errorf("press %s: %w", p.Name, err)
	}
	f.group = group
	return f, f.readBook()
}

func configurePart(s config.Sensor) (reader.Part, error) {
	d, err := drivers.Find(s.Driver)
	if err != nil {
		return reader.Part{}, err
	}
	part, err := d.Configure(drivers.Env{}, s.Keys)
	if err != nil {
		return reader.Part{}, err
	}
	return reader.Part{
		Name: s.Name, Driver: s.Driver, Reads: part.Reads, Every: part.Every, Timeout: part.Timeout, Open: part.Open,
	}, nil
}

// bookEvery is how often the file of the calibration is looked at.
const bookEvery = 5 * time.Second

// Run reads until ctx ends.
func (f *liveFeed) Run(ctx context.Context, take func(sensor.Sample)) error {
	looked := time.Now()
	return f.group.Run(ctx, func(s sensor.Sample) {
		if time.Since(looked) >= bookEvery {
			looked = time.Now()
			if err := f.readBook(); err != nil {
				f.log.Error("calibration not read; the one before holds", "error", err)
			}
		}
		take(s)
	})
}

// readBook reads the calibration when its file has changed.
func (f *liveFeed) readBook() error {
	var changed time.Time
	if info, err := os.Stat(f.path); err == nil {
		changed = info.ModTime()
	}
	if changed.Equal(f.changed) {
		return nil
	}
	f.changed = changed
	book, err := calibration.Load(f.path)
	if err != nil {
		return err
	}
	f.book.Store(&book)
	f.log.Info("calibration", "in_force", f.words())
	return nil
}

// Calibration says which corrections the readings have.
func (f *liveFeed) Calibration() string {
	if text := f.inForce.Load(); text != nil {
		return *text
	}
	return ""
}

// words says the book in words, and keeps them.
func (f *liveFeed) words() string {
	var parts []string
	for _, name := range f.names {
		if text := f.book.Load().For(f.press, name).String(); text != "" {
			parts = append(parts, name+": "+text)
		}
	}
	text := strings.Join(parts, "; ")
	f.inForce.Store(&text)
	return text
}

// Health tells how the parts are doing.
func (f *liveFeed) Health() []press.SensorStatus {
	health := f.group.Health()
	list := make([]press.SensorStatus, len(health))
	for i, h := range health {
		list[i] = press.SensorStatus{
			Name: h.Name, Driver: h.Driver, Healthy: h.Healthy, LastAt: h.LastAt, Errors: h.Errors,
		}
		for _, q := range h.Reads {
			list[i].Reads = append(list[i].Reads, string(q))
			list[i].Readings = append(list[i].Readings, press.SensorReading{Quantity: string(q), Value: press.Num(q.Of(h.Last))})
		}
		if h.Err != nil {
			list[i].Error = h.Err.Error()
		}
	}
	return list
}
