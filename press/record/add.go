package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"time"

	"github.com/nightclamp/nightclamp/press"
	"github.com/nightclamp/nightclamp/sensor"
)

// ErrExists says that the record has a run of this ID.
var ErrExists = errors.New("the run is in the record already")

// Whole is a run with everything that belongs to it.
type Whole struct {
	Run      Run
	Events   []press.Event
	Alerts   []press.Alert
	Outcomes []Outcome
	Rows     iter.Seq2[Thin, error]
}

// Add keeps a whole run that was recorded elsewhere, or nothing of it: an error
// that Rows yields undoes all. A run that is there already is [ErrExists].
func (s *Store) Add(ctx context.Context, w Whole) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := inTx(ctx, s.write, func(tx *sql.Tx) error { return s.addWhole(ctx, tx, w) })
	if err != nil {
		clear(s.runs)
		clear(s.boots)
		return explain(s.path, "add run "+w.Run.ID, err)
	}
	return nil
}

func (s *Store) addWhole(ctx context.Context, tx querier, w Whole) error {
	switch _, err := s.runNumber(ctx, tx, w.Run.ID); {
	case err == nil:
		return ErrExists
	case !errors.Is(err, ErrNotFound):
		return err
	}
	if err := s.put(ctx, tx, Batch{Run: &w.Run, Events: w.Events, Alerts: w.Alerts}); err != nil {
		return err
	}
	for _, o := range w.Outcomes {
		if err := putOutcome(ctx, tx, s.runs[w.Run.ID], o); err != nil {
			return err
		}
	}
	seq := int64(0)
	for row, err := range w.Rows {
		if err != nil {
			return err
		}
		if err := s.putThin(ctx, tx, s.runs[w.Run.ID], seq, row); err != nil {
			return fmt.Errorf("bucket %d: %w", seq+1, err)
		}
		seq++
	}
	return nil
}

// Thinner makes buckets of samples as the record does, without a record.
type Thinner struct {
	bucket time.Duration
	g      gathering
}

// NewThinner makes buckets of the given length; 10 s when zero.
func NewThinner(bucket time.Duration) *Thinner {
	return &Thinner{bucket: Options{Bucket: bucket}.withDefaults().Bucket}
}

// Add takes the next sample. When it belongs to a new bucket, the full one
// before it is returned.
func (t *Thinner) Add(s sensor.Sample) (full Thin, ok bool) {
	if t.g.count > 0 && t.g.endsBefore(s, t.bucket) {
		full, ok = t.Rest()
	}
	if t.g.count == 0 {
		t.g.begin(s, t.bucket)
	}
	t.g.add(s)
	return full, ok
}

// Rest returns the bucket that is being filled, and begins anew.
func (t *Thinner) Rest() (Thin, bool) {
	if t.g.count == 0 {
		return Thin{}, false
	}
	row := t.g.thin()
	t.g = gathering{}
	return row, true
}
