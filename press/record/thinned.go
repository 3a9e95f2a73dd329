package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// Thinned yields the buckets of a run that overlap from..to, in the order in
// which they were taken. A zero time is no bound. With maxPoints above zero
// buckets that fall into the same of maxPoints equal stretches of time are
// joined; a hole in the record stays a hole. What is still in memory is
// included. An error is yielded once, as the last.
//
// A reading transaction is open while the loop runs: don't tarry in it.
func (s *Store) Thinned(ctx context.Context, run string, from, to time.Time, maxPoints int) iter.Seq2[Thin, error] {
	return func(yield func(Thin, error) bool) {
		var err error
		rows := s.buckets(ctx, window(run, from, to), &err)
		if maxPoints > 0 {
			var start time.Time
			var width time.Duration
			start, width, err = s.stretches(ctx, window(run, from, to), maxPoints)
			rows = joined(rows, start, width)
		}
		if err == nil {
			for t := range rows {
				if !yield(t, nil) {
					return
				}
			}
		}
		if err != nil {
			yield(Thin{}, explain(s.path, "read samples of run "+run, err))
		}
	}
}

// Samples yields the means of a run's buckets, for an engine that is to pick the
// run up again. The function that comes with it tells, after the loop, whether
// all could be read.
func (s *Store) Samples(ctx context.Context, run string) (iter.Seq[sensor.Sample], func() error) {
	var failed error
	samples := func(yield func(sensor.Sample) bool) {
		for t, err := range s.Thinned(ctx, run, time.Time{}, time.Time{}, 0) {
			if failed = err; err != nil || !yield(t.Sample()) {
				return
			}
		}
	}
	return samples, func() error { return failed }
}

// part is a stretch of a run, in milliseconds.
type part struct {
	run       string
	low, high int64
}

func window(run string, from, to time.Time) part {
	p := part{run: run, low: math.MinInt64, high: math.MaxInt64}
	if !from.IsZero() {
		p.low = from.UnixMilli()
	}
	if !to.IsZero() {
		p.high = to.UnixMilli()
	}
	return p
}

func (p part) holds(t Thin) bool { return t.Last.UnixMilli() >= p.low && t.First.UnixMilli() <= p.high }

// stretches divides the time that the part covers. The width is zero when it
// has few enough buckets already.
func (s *Store) stretches(ctx context.Context, p part, most int) (time.Time, time.Duration, error) {
	before, waiting := s.snapshot(p.run)
	var count int
	var first, last sql.NullInt64
	err := s.read.QueryRowContext(ctx, `SELECT count(*), min(at), max(at + last_ms) FROM thin `+whereThin,
		p.run, before, p.low, p.high).Scan(&count, &first, &last)
	if err != nil {
		return time.Time{}, 0, err
	}
	start, end := milli(first.Int64), milli(last.Int64)
	for _, t := range waiting {
		if p.holds(t) {
			if count == 0 {
				start, end = t.First, t.Last
			}
			start, end = earlier(start, t.First), later(end, t.Last)
			count++
		}
	}
	if count <= most {
		return start, 0, nil
	}
	return start, end.Sub(start)/time.Duration(most) + 1, nil
}

// Newest returns the newest bucket of a run: when recording stopped, and by
// which clock. The error is [ErrNotFound] when there is none.
func (s *Store) Newest(ctx context.Context, run string) (Thin, error) {
	if _, rows := s.snapshot(run); len(rows) > 0 {
		return rows[len(rows)-1], nil
	}
	t, err := scanThin(s.read.QueryRowContext(ctx, selectThin+` ORDER BY seq DESC LIMIT 1`, run, int64(math.MaxInt64), int64(math.MinInt64), int64(math.MaxInt64)))
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("samples of run %q: %w", run, ErrNotFound)
	}
	return t, explain(s.path, "read the newest sample", err)
}

const (
	selectThin = `SELECT at, mean_ms, last_ms, thin.n, quality, boot.id, mono_ms,
		bag, bag_lo, bag_hi, ambient, ambient_lo, ambient_hi, glueline, glueline_lo, glueline_hi,
		air, air_lo, air_hi, vacuum, vacuum_lo, vacuum_hi,
		humidity, humidity_lo, humidity_hi
		FROM thin LEFT JOIN boot ON boot.n = thin.boot ` + whereThin
	whereThin = `WHERE run = (SELECT n FROM run WHERE id = ?) AND seq < ? AND at + last_ms >= ? AND at <= ?`
)

// buckets yields what is in the file and then what is in memory.
func (s *Store) buckets(ctx context.Context, p part, failed *error) iter.Seq[Thin] {
	return func(yield func(Thin) bool) {
		before, waiting := s.snapshot(p.run)
		stopped := errors.New("stopped")
		err := each(ctx, s.read, func(row scanner) error {
			t, err := scanThin(row)
			if err == nil && !yield(t) {
				err = stopped
			}
			return err
		}, selectThin+` ORDER BY seq`, p.run, before, p.low, p.high)
		if errors.Is(err, stopped) {
			return
		}
		if err != nil {
			*failed = err
			return
		}
		for _, t := range waiting {
			if p.holds(t) && !yield(t) {
				return
			}
		}
	}
}

// joined makes one of all neighbours that lie in the same stretch of time.
func joined(rows iter.Seq[Thin], start time.Time, width time.Duration) iter.Seq[Thin] {
	if width <= 0 {
		return rows
	}
	return func(yield func(Thin) bool) {
		var sum Thin
		var in time.Duration
		for t := range rows {
			stretch := t.Mean.Sub(start) / width
			switch {
			case sum.Count == 0:
				sum = t
			case stretch == in:
				sum = sum.join(t)
			case !yield(sum):
				return
			default:
				sum = t
			}
			in = stretch
		}
		if sum.Count > 0 {
			yield(sum)
		}
	}
}
