package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/nightclamp/nightclamp/press"
)

// Batch is what one sample, or one order of the builder, changed.
type Batch struct {
	Run        *Run // put first, so that events may name it
	Events     []press.Event
	Alerts     []press.Alert
	Deliveries []press.Delivery
	Due        bool // Run is to be written into the build log
}

// Commit keeps a batch, and every sample handed in before it, in one
// transaction. When it returns without error all of it is on the disk; with an
// error none of it is, and samples stay in memory for the next time.
func (s *Store) Commit(ctx context.Context, b Batch) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.commit(ctx, b, true)
}

// commit runs under s.mu. With partial it also writes buckets that are still
// being filled; they are written again, in place, once they are full.
func (s *Store) commit(ctx context.Context, b Batch, partial bool) error {
	var written []*series
	err := inTx(ctx, s.write, func(tx *sql.Tx) (err error) {
		if err := s.put(ctx, tx, b); err != nil {
			return err
		}
		written, err = s.writeSeries(ctx, tx, partial)
		return err
	})
	if err != nil {
		// What was looked up inside the transaction may have been undone.
		clear(s.runs)
		clear(s.boots)
		return explain(s.path, "write", err)
	}
	for _, w := range written {
		w.written()
	}
	s.carriedOver()
	if b.Run != nil && !b.Run.Ended.IsZero() {
		delete(s.series, b.Run.ID)
	}
	return nil
}

func (s *Store) put(ctx context.Context, tx querier, b Batch) error {
	if b.Run != nil {
		n, err := putRun(ctx, tx, *b.Run)
		if err != nil {
			return fmt.Errorf("run %s: %w", b.Run.ID, err)
		}
		s.runs[b.Run.ID] = n
		if b.Due {
			if err := markDue(ctx, tx, n); err != nil {
				return err
			}
		}
	}
	for _, e := range b.Events {
		if err := s.addEvent(ctx, tx, e); err != nil {
			return err
		}
	}
	for _, a := range b.Alerts {
		if err := putAlert(ctx, tx, a); err != nil {
			return err
		}
	}
	for _, d := range b.Deliveries {
		if err := enqueue(ctx, tx, d); err != nil {
			return err
		}
	}
	return nil
}

// runNumber finds the row of a run.
func (s *Store) runNumber(ctx context.Context, db querier, id string) (int64, error) {
	if n, ok := s.runs[id]; ok {
		return n, nil
	}
	var n int64
	err := db.QueryRowContext(ctx, `SELECT n FROM run WHERE id = ?`, id).Scan(&n)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("run %q: %w: put it first", id, ErrNotFound)
	}
	if err == nil {
		s.runs[id] = n
	}
	return n, err
}

// bootNumber finds the row of a boot, or makes it.
func (s *Store) bootNumber(ctx context.Context, tx querier, id string) (sql.NullInt64, error) {
	if id == "" {
		return sql.NullInt64{}, nil
	}
	if n, ok := s.boots[id]; ok {
		return sql.NullInt64{Int64: n, Valid: true}, nil
	}
	var n int64
	err := tx.QueryRowContext(ctx, `INSERT INTO boot (id) VALUES (?)
		ON CONFLICT (id) DO UPDATE SET id = id RETURNING n`, id).Scan(&n)
	if err == nil {
		s.boots[id] = n
	}
	return sql.NullInt64{Int64: n, Valid: true}, err
}
