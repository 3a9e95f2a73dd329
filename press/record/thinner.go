package record

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

// maxWaiting bounds the buckets held in memory while the disk takes none: two
// days of one press at ten seconds.
const maxWaiting = 17280

// step is how far wall and monotonic clock may drift apart between two samples
// before it counts as a step of the wall clock.
const step = time.Second

// series thins the samples of one run.
type series struct {
	seq     int64 // of the bucket that is being filled
	bucket  gathering
	waiting []Thin    // full buckets before it, oldest first, not yet written
	flushed time.Time // sample time up to which all was written
}

// gathering is the bucket that is being filled.
type gathering struct {
	start time.Time // of the stretch of time it stands for
	first sensor.Sample
	last  sensor.Sample
	count int
	since float64 // sum of the times after the first sample, s
	sums  [6]sum
	marks sensor.Quality
}

// sum gathers one quantity. The mean is taken of differences to the first
// value, so that no digit is lost on a long bucket.
type sum struct {
	count           int
	first, sum      float64
	lowest, highest float64
}

// AddSample hands one sample of a run to the thinner. Samples of a run are
// handed in in the order in which they were taken. Most calls only add in
// memory; one writes when Options.Flush of sample time has gone by. An error
// then means that the disk took nothing: the buckets stay in memory and are
// tried again, the newest two days of them.
func (s *Store) AddSample(ctx context.Context, run string, sample sensor.Sample) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	r, err := s.seriesOf(ctx, run)
	if err != nil {
		return explain(s.path, "add a sample of run "+run, err)
	}
	if r.bucket.count > 0 && r.bucket.endsBefore(sample, s.options.Bucket) {
		r.close()
		s.keep(run, r)
	}
	if r.bucket.count == 0 {
		r.bucket.begin(sample, s.options.Bucket)
		if r.flushed.IsZero() {
			r.flushed = r.bucket.start
		}
	}
	r.bucket.add(sample)
	if len(r.waiting) == 0 || absolute(r.bucket.start.Sub(r.flushed)) < s.options.Flush {
		return nil
	}
	// Also when it fails: the next try is due after another interval.
	for _, other := range s.series {
		other.flushed = other.bucket.start
	}
	if err := s.commit(ctx, Batch{}, false); err != nil {
		return errors.Join(err, r.drop())
	}
	return nil
}

// Flush writes what is still in memory. It is durable on return.
func (s *Store) Flush(ctx context.Context) error { return s.Commit(ctx, Batch{}) }

func (s *Store) seriesOf(ctx context.Context, run string) (*series, error) {
	if r, ok := s.series[run]; ok {
		return r, nil
	}
	n, err := s.runNumber(ctx, s.read, run)
	if err != nil {
		return nil, err
	}
	r := &series{}
	err = s.read.QueryRowContext(ctx, `SELECT coalesce(max(seq) + 1, 0) FROM thin WHERE run = ?`, n).Scan(&r.seq)
	if err == nil {
		s.series[run] = r
	}
	return r, err
}

// writeSeries writes the waiting buckets of every run.
func (s *Store) writeSeries(ctx context.Context, tx querier, partial bool) ([]*series, error) {
	var written []*series
	for run, r := range s.series {
		rows := r.waiting
		if partial && r.bucket.count > 0 {
			rows = append(rows[:len(rows):len(rows)], r.bucket.thin())
		}
		if len(rows) == 0 {
			continue
		}
		n, err := s.runNumber(ctx, tx, run)
		if err != nil {
			return nil, err
		}
		for i, row := range rows {
			if err := s.putThin(ctx, tx, n, r.seq-int64(len(r.waiting))+int64(i), row); err != nil {
				return nil, fmt.Errorf("samples of run %s: %w", run, err)
			}
		}
		written = append(written, r)
	}
	return written, nil
}

// snapshot is what of a run is in memory alone: the sequence number of the
// first bucket, and the buckets.
func (s *Store) snapshot(run string) (int64, []Thin) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r, ok := s.series[run]
	if !ok {
		return math.MaxInt64, nil
	}
	rows := append([]Thin(nil), r.waiting...)
	if r.bucket.count > 0 {
		rows = append(rows, r.bucket.thin())
	}
	return r.seq - int64(len(r.waiting)), rows
}

func (r *series) close() {
	r.waiting = append(r.waiting, r.bucket.thin())
	r.bucket = gathering{}
	r.seq++
}

func (r *series) written() { r.waiting = nil }

// drop forgets the oldest buckets when the disk has refused them for too long.
func (r *series) drop() error {
	surplus := len(r.waiting) - maxWaiting
	if surplus <= 0 {
		return nil
	}
	r.waiting = append([]Thin(nil), r.waiting[surplus:]...)
	return fmt.Errorf("%d buckets of samples are lost: memory holds no more", surplus)
}

func (g *gathering) begin(s sensor.Sample, bucket time.Duration) {
	*g = gathering{start: s.Time.Truncate(bucket), first: s, last: s}
}

// endsBefore reports whether the sample belongs to another bucket.
func (g *gathering) endsBefore(s sensor.Sample, bucket time.Duration) bool {
	if s.Boot != g.last.Boot || s.Quality.Has(sensor.ClockSet) || !s.Time.Truncate(bucket).Equal(g.start) {
		return true
	}
	if s.Boot == "" {
		return false
	}
	return absolute(s.Time.Sub(g.last.Time)-(s.Mono-g.last.Mono)) > step
}

func (g *gathering) add(s sensor.Sample) {
	g.count++
	g.last = s
	g.since += s.Time.Sub(g.first.Time).Seconds()
	g.marks |= s.Quality
	for i, v := range [6]float64{s.Bag, s.Ambient, s.GlueLine, s.Air, s.Vacuum(), s.RelativeHumidity()} {
		g.sums[i].add(v)
	}
}

func (q *sum) add(v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return
	}
	if q.count == 0 {
		*q = sum{first: v, lowest: v, highest: v}
	}
	q.count++
	q.sum += v - q.first
	q.lowest = math.Min(q.lowest, v)
	q.highest = math.Max(q.highest, v)
}

func (q *sum) extent() Extent {
	if q.count == 0 {
		return nothing()
	}
	return Extent{Min: q.lowest, Mean: q.first + q.sum/float64(q.count), Max: q.highest}
}

func (g *gathering) thin() Thin {
	mean := time.Duration(g.since / float64(g.count) * float64(time.Second))
	t := Thin{
		First: g.first.Time, Mean: g.first.Time.Add(mean), Last: g.last.Time,
		Boot: g.last.Boot, Count: g.count, Quality: g.marks,
	}
	if t.Boot != "" {
		t.Mono = g.last.Mono
	}
	for i, e := range t.extents() {
		*e = g.sums[i].extent()
	}
	return t
}

func absolute(d time.Duration) time.Duration {
	if d < 0 {
		return -d
	}
	return d
}
