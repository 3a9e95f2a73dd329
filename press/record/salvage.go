package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

// maxStumbles is how many unreadable places in a row end the copying of a table.
const maxStumbles = 2000

// carryOver copies table by table, row by row, stepping over what is unreadable.
func (s *Store) carryOver(ctx context.Context, from *sql.DB) {
	// A row may name another one that was lost; mended at the end.
	if _, err := s.write.ExecContext(ctx, `PRAGMA foreign_keys = 0`); err != nil {
		s.miss("everything", err)
		return
	}
	for _, table := range []string{"run", "boot", "event", "alert", "delivery"} {
		s.copyTable(ctx, from, table, "n", "true")
	}
	for run := int64(1); run <= s.highestRun(ctx, from); run++ {
		s.copyTable(ctx, from, "thin", "seq", fmt.Sprintf("run = %d", run))
	}
	if err := inTx(ctx, s.write, func(tx *sql.Tx) error { return mend(ctx, tx) }); err != nil {
		s.miss("links between rows", err)
	}
	if _, err := s.write.ExecContext(ctx, `PRAGMA foreign_keys = 1`); err != nil {
		s.miss("links between rows", err)
	}
}

// highestRun looks for the highest row of a run wherever one is named, because
// the row itself may be lost. Rows are numbered from 1 without holes.
func (s *Store) highestRun(ctx context.Context, from querier) int64 {
	var highest int64
	for _, look := range []struct {
		db    querier
		query string
	}{
		{s.write, `SELECT max(n) FROM run`},
		{s.write, `SELECT max(run) FROM event`},
		{from, `SELECT max(run) FROM thin`},
	} {
		var n sql.NullInt64
		if err := look.db.QueryRowContext(ctx, look.query).Scan(&n); err != nil {
			s.miss("highest run", err)
			continue
		}
		highest = max(highest, n.Int64)
	}
	return min(highest, 1e6) // a damaged number must not keep us for years
}

// mend puts a stand-in where a run was lost whose samples or events are there.
func mend(ctx context.Context, tx querier) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO run (n, id, site, press, work, glue, strained, plies, notes, started, ended, stage, verdict)
		SELECT lost.run, 'salvaged-' || lost.run, '', '', '', '', 0, 0, 'the entry of this run was lost with a damaged record',
			lost.first, lost.last, 'release', ''
		FROM (SELECT run, min(first) AS first, max(last) AS last FROM (
				SELECT run, min(time) AS first, max(time) AS last FROM event WHERE run IS NOT NULL GROUP BY run
				UNION ALL SELECT run, min(at) * 1000000, max(at + last_ms) * 1000000 FROM thin GROUP BY run
			) GROUP BY run) AS lost
		WHERE lost.run NOT IN (SELECT n FROM run)`)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE thin SET boot = NULL, mono_ms = NULL WHERE boot NOT IN (SELECT n FROM boot)`)
	return err
}

// copyTable copies the rows that match, in the order of the key. Where a row
// cannot be read it tries further and further on.
func (s *Store) copyTable(ctx context.Context, from querier, table, key, where string) {
	next, stumbles := int64(0), int64(0)
	for stumbles < maxStumbles {
		read, last, err := s.copyRows(ctx, from, table, key, where, next)
		s.aside.Salvaged[table] += read
		if err == nil {
			return
		}
		if !damaged(err) {
			s.miss(table, err)
			return
		}
		if read > 0 {
			next, stumbles = last, 0
		}
		if stumbles == 0 {
			s.miss(fmt.Sprintf("%s after %s %d where %s", table, key, next, where), err)
		}
		stumbles++
		next += stumbles
	}
}

// copyRows copies from the given key on to the end or to the first unreadable
// row, in one transaction. It returns how many rows it read, and the last key.
func (s *Store) copyRows(ctx context.Context, from querier, table, key, where string, next int64) (read int, last int64, err error) {
	var unreadable error
	err = inTx(ctx, s.write, func(tx *sql.Tx) error {
		last = next - 1
		unreadable = eachAny(ctx, from, func(columns []string, cells []any, keyAt int) error {
			at, ok := cells[keyAt].(int64)
			if !ok || at <= last {
				return ErrCorrupt
			}
			last = at
			holes := strings.TrimSuffix(strings.Repeat("?,", len(cells)), ",")
			insert := `INSERT OR IGNORE INTO ` + table + ` (` + strings.Join(columns, ",") + `) VALUES (` + holes + `)`
			if _, err := tx.ExecContext(ctx, insert, cells...); err != nil {
				s.miss(fmt.Sprintf("%s %d", table, at), err)
				return nil
			}
			read++
			return nil
		}, key, fmt.Sprintf(`SELECT * FROM %s WHERE %s AND %s >= ? ORDER BY %s`, table, where, key, key), next)
		return nil
	})
	return read, last + 1, errors.Join(err, unreadable)
}

// eachAny hands on rows whatever they are made of.
func eachAny(ctx context.Context, db querier, do func(columns []string, cells []any, keyAt int) error, key, query string, args ...any) error {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	columns, err := rows.Columns()
	if err != nil {
		return errors.Join(err, rows.Close())
	}
	keyAt := 0
	cells, into := make([]any, len(columns)), make([]any, len(columns))
	for i, name := range columns {
		into[i] = &cells[i]
		if name == key {
			keyAt = i
		}
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return errors.Join(err, rows.Close())
		}
		if err := do(columns, cells, keyAt); err != nil {
			return errors.Join(err, rows.Close())
		}
	}
	return errors.Join(rows.Err(), rows.Close())
}
