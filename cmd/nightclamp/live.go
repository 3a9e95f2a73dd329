package main

import (
	"context"
	"fmt"
	"log/slog"

	"github.com/nightclamp/nightclamp/cmd/nightclamp/internal/config"
	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
	"github.com/nightclamp/nightclamp/sensor/drivers"
	"github.com/nightclamp/nightclamp/sensor/reader"
)

// liveFeed reads the configured parts of one press.
type liveFeed struct{ group *reader.Group }

func newLiveFeed(p config.Press, cfg *config.Config, log *slog.Logger) (*liveFeed, error) {
	var parts []reader.Part
	for _, s := range p.Sensors {
		part, err := configurePart(s)
		if err != nil {
			return nil, fmt.Errorf("%s: press %s: sensor %s: %w", s.Where, p.Name, s.Name, err)
		}
		parts = append(parts, part)
	}
	group, err := reader.New(parts, reader.Config{
		Interval: p.Interval.Std(), StationPa: cfg.StationPressure.Pa(), Log: log.With("press", p.Name),
	})
	if err != nil {
		return nil, fmt.Errorf("press %s: %w", p.Name, err)
	}
	return &liveFeed{group: group}, nil
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

// Run reads until ctx ends.
func (f *liveFeed) Run(ctx context.Context, take func(sensor.Sample)) error {
	return f.group.Run(ctx, take)
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
