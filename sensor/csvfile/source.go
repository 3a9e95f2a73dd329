package csvfile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Source plays a file as if it were a part: at any moment it reads what the
// file says for that moment after the first reading.
type Source struct {
	file   io.Closer
	reader *Reader
	now    func() time.Time
	speed  float64

	begun   bool
	began   time.Time
	first   time.Time
	current sensor.Sample
	next    sensor.Sample
	ended   bool
}

// Config is what the source needs to know.
type Config struct {
	Path      string  `toml:"path" doc:"the file"`
	Speed     float64 `toml:"speed" doc:"how many times faster than it was recorded"`
	StationPa float64 `toml:"station_pa" doc:"pressure of the room for a file without ambient_pa, Pa"`
}

// Defaults is a file played as fast as it was recorded.
func Defaults() Config { return Config{Speed: 1, StationPa: sensor.StandardAtmosphere} }

// Check refuses what cannot be played.
func (c Config) Check() error {
	switch {
	case c.Path == "":
		return errors.New("path is missing: give the file to play")
	case !(c.Speed > 0):
		return fmt.Errorf("speed is %g: give a number above 0", c.Speed)
	case !(c.StationPa > 0):
		return fmt.Errorf("station_pa is %g: give the pressure of the room in pascal", c.StationPa)
	}
	return nil
}

// Open opens the file at cfg.Path and reads its header. The times of the
// samples are those that now gives.
func Open(cfg Config, now func() time.Time) (*Source, error) {
	if err := cfg.Check(); err != nil {
		return nil, fmt.Errorf("playing %q: %w", cfg.Path, err)
	}
	f, err := os.Open(cfg.Path)
	if err != nil {
		return nil, fmt.Errorf("playing a recorded series: %w", err)
	}
	r, err := NewReader(f, cfg.Path, Station(cfg.StationPa))
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return &Source{file: f, reader: r, now: now, speed: cfg.Speed}, nil
}

// Read returns the newest row that is due, stamped with the present time, and
// [io.EOF] once the row after the last is due.
func (s *Source) Read(ctx context.Context) (sensor.Sample, error) {
	if err := ctx.Err(); err != nil {
		return sensor.Sample{}, err
	}
	now := s.now()
	if !s.begun {
		if err := s.begin(now); err != nil {
			return sensor.Sample{}, err
		}
	}
	due := s.first.Add(time.Duration(float64(now.Sub(s.began)) * s.speed))
	for !s.ended && !s.next.Time.After(due) {
		if err := s.advance(); err != nil {
			return sensor.Sample{}, err
		}
	}
	if s.ended && due.After(s.current.Time) {
		return sensor.Sample{}, io.EOF
	}
	out := s.current
	out.Time = now
	return out, nil
}

func (s *Source) begin(now time.Time) error {
	var err error
	if s.current, err = s.reader.Next(); err != nil {
		return err
	}
	s.begun, s.began, s.first = true, now, s.current.Time
	s.next = s.current
	return nil
}

func (s *Source) advance() error {
	s.current = s.next
	next, err := s.reader.Next()
	if errors.Is(err, io.EOF) {
		s.ended = true
		return nil
	}
	s.next = next
	return err
}

// Reads is what the file has columns for.
func (s *Source) Reads() []sensor.Quantity {
	reads := []sensor.Quantity{sensor.Bag, sensor.Ambient}
	if slices.Contains(s.reader.layout, colGlueline) {
		reads = append(reads, sensor.GlueLine)
	}
	if slices.Contains(s.reader.layout, colAir) {
		reads = append(reads, sensor.Air)
	}
	if slices.Contains(s.reader.layout, colHumidity) {
		reads = append(reads, sensor.Humidity)
	}
	return reads
}

// Close closes the file.
func (s *Source) Close() error { return s.file.Close() }
