package record

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// LeastAge is how old a run must be before its samples are thinned further: by
// then the questions about it are answered or dropped, and its press record is
// written for good.
const LeastAge = 40 * 24 * time.Hour

// CoarseBucket is what a kept row stands for after that.
const CoarseBucket = time.Minute

// Pruning says which runs may be thinned. Runs, events, alerts, outcomes and the
// extremes of every quantity always stay.
type Pruning struct {
	Before   time.Time // only runs that ended before this
	Keep     int       // leave the newest so many alone
	MaxBytes int64     // stop once the record takes no more than this; 0: no such end
	DryRun   bool      // only say what would be done
}

// Pruned is what became of one run.
type Pruned struct {
	Run         string
	Rows, After int // before and after; After is an estimate in a dry run
}

// Prune thins the samples of runs that are over from ten seconds a row to a minute,
// oldest first. It may be called beside a daemon: see [OpenBeside]. The file keeps
// its size; what becomes free is used for the next runs. [Store.Compact] makes it
// smaller.
func (s *Store) Prune(ctx context.Context, p Pruning) ([]Pruned, error) {
	if err := s.writable(); err != nil {
		return nil, err
	}
	runs, err := s.selectRuns(ctx, `WHERE ended < ? AND NOT thinned ORDER BY ended`, p.Before.UnixNano())
	if err != nil {
		return nil, err
	}
	all, err := s.Runs(ctx, Filter{})
	if err != nil {
		return nil, err
	}
	newest := map[string]bool{}
	for _, run := range all[:min(p.Keep, len(all))] {
		newest[run.ID] = true
	}
	var list []Pruned
	for _, run := range runs {
		if newest[run.ID] {
			continue
		}
		if enough, err := s.small(ctx, p.MaxBytes); err != nil || enough {
			return list, err
		}
		done, err := s.thinOut(ctx, run.ID, p.DryRun)
		if err != nil {
			return list, explain(s.path, "thin run "+run.ID, err)
		}
		list = append(list, done)
	}
	return list, nil
}

func (s *Store) small(ctx context.Context, most int64) (bool, error) {
	if most <= 0 {
		return false, nil
	}
	used, err := s.Used(ctx)
	return used <= most, err
}

// Used is how many bytes of the file hold something.
func (s *Store) Used(ctx context.Context) (int64, error) {
	var pages, free, size int64
	for _, q := range []struct {
		name string
		into *int64
	}{{"page_count", &pages}, {"freelist_count", &free}, {"page_size", &size}} {
		if err := s.read.QueryRowContext(ctx, "PRAGMA "+q.name).Scan(q.into); err != nil {
			return 0, explain(s.path, "read the size", err)
		}
	}
	return (pages - free) * size, nil
}

// thinOut replaces the rows of one run, in one transaction.
func (s *Store) thinOut(ctx context.Context, id string, dry bool) (Pruned, error) {
	done := Pruned{Run: id}
	var coarse []Thin
	for row, err := range s.Thinned(ctx, id, time.Time{}, time.Time{}, 0) {
		if err != nil {
			return done, err
		}
		done.Rows++
		if n := len(coarse); n > 0 && belongTogether(coarse[n-1], row) {
			coarse[n-1] = coarse[n-1].join(row)
		} else {
			coarse = append(coarse, row)
		}
	}
	done.After = len(coarse)
	if dry {
		return done, nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.series, id) // it is over: what was in memory is in the rows
	return done, s.inWriteTx(ctx, func(tx querier) error {
		n, err := s.runNumber(ctx, tx, id)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM thin WHERE run = ?`, n); err != nil {
			return err
		}
		for seq, row := range coarse {
			if err := s.putThin(ctx, tx, n, int64(seq), row); err != nil {
				return fmt.Errorf("bucket %d: %w", seq+1, err)
			}
		}
		_, err = tx.ExecContext(ctx, `UPDATE run SET thinned = 1 WHERE n = ?`, n)
		return err
	})
}

// belongTogether reports whether a row belongs into the minute of the one before:
// of one boot, and nothing missing between them.
func belongTogether(sum, next Thin) bool {
	hole := next.First.Sub(sum.Last)
	return next.Boot == sum.Boot && hole >= 0 && hole < CoarseBucket/2 && next.Last.Sub(sum.First) < CoarseBucket
}

// errBusy keeps a compaction from waiting for a daemon that has the file open.
var errBusy = errors.New("another program has the record open: stop the daemon first")

// Compact gives free space back to the file system. Nobody else may have the
// record open.
func (s *Store) Compact(ctx context.Context) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, err := s.write.ExecContext(ctx, `VACUUM`); err != nil {
		return explain(s.path, "compact", errors.Join(errBusy, err))
	}
	_, err := s.write.ExecContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`)
	return explain(s.path, "compact", err)
}
