package record

import (
	"context"
	"database/sql"
)

// Unlogged is a run that waits to be written into the build log.
type Unlogged struct {
	Run   string
	Tries int
	Error string // what the last try said; empty: none was made
}

func markDue(ctx context.Context, tx querier, run int64) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO due (n, tries, error) VALUES (?, 0, '') ON CONFLICT DO NOTHING`, run)
	return err
}

// Unlogged returns the runs that wait for the build log, oldest first.
func (s *Store) Unlogged(ctx context.Context) (list []Unlogged, err error) {
	err = each(ctx, s.read, func(row scanner) error {
		var d Unlogged
		err := row.Scan(&d.Run, &d.Tries, &d.Error)
		list = append(list, d)
		return err
	}, `SELECT id, tries, error FROM due JOIN run USING (n) ORDER BY n`)
	return list, explain(s.path, "read what waits for the build log", err)
}

// Logged says how writing a run into the build log went: with an error it stays
// due.
func (s *Store) Logged(ctx context.Context, run string, failed error) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.inWriteTx(ctx, func(tx querier) error {
		if failed == nil {
			_, err := tx.ExecContext(ctx, `DELETE FROM due WHERE n = (SELECT n FROM run WHERE id = ?)`, run)
			return err
		}
		_, err := tx.ExecContext(ctx, `UPDATE due SET tries = tries + 1, error = ? WHERE n = (SELECT n FROM run WHERE id = ?)`,
			failed.Error(), run)
		return err
	})
	return explain(s.path, "write what became of the build log", err)
}

// inWriteTx is a transaction of our own; what was looked up in it is forgotten
// when it fails.
func (s *Store) inWriteTx(ctx context.Context, do func(querier) error) error {
	err := inTx(ctx, s.write, func(tx *sql.Tx) error { return do(tx) })
	if err != nil {
		clear(s.runs)
		clear(s.boots)
	}
	return err
}
