package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
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
	for _, table := range []string{"run", "boot", "event", "alert", "delivery", "outcome", "asked", "due", "hour"} {
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
				UNION ALL SELECT run, NULL, NULL FROM outcome
				UNION ALL SELECT run, min(at) * 1000000, max(at + last_ms) * 1000000 FROM thin GROUP BY run
			) GROUP BY run) AS lost
		WHERE lost.run NOT IN (SELECT n FROM run)`)
	if err != nil {
		return err
	}
	for _, table := range []string{"asked", "due"} {
		column := map[string]string{"asked": "run", "due": "n"}[table]
		if _, err := tx.ExecContext(ctx, `DELETE FROM `+table+` WHERE `+column+` NOT IN (SELECT n FROM run)`); err != nil {
			return err
		}
	}
	_, err = tx.ExecContext(ctx, `UPDATE thin SET boot = NULL, mono_ms = NULL WHERE boot NOT IN (SELECT n FROM boot)`)
	return err
}

// copyTable copies the rows that match, in the order of the key. Where a row
// cannot be read it tries further and further on.
func (s *Store) copyTable(ctx context.Context, from querier, table, key, where string) {
	c, err := s.copying(ctx, from, table, key, where)
	if err != nil {
		s.miss(table, err)
		return
	}
	switch {
	case c.columns == 0:
		s.miss(table, errors.New("the damaged file has none: it is of an older form, or lost it"))
		return
	case c.keyAt < 0:
		s.miss(table, fmt.Errorf("the damaged file has no column %s in it, by which it would be read", key))
		return
	}
	next, stumbles := int64(0), int64(0)
	for stumbles < maxStumbles {
		read, last, err := s.copyRows(ctx, from, c, next)
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

// copying is how one table is copied. The columns are those of the new file that
// the old one has too, as far as that can be read.
type copying struct {
	table          string
	read, insert   string
	columns, keyAt int
}

func (s *Store) copying(ctx context.Context, from querier, table, key, where string) (copying, error) {
	columns, err := columnsOf(ctx, s.write, table)
	if old, unread := columnsOf(ctx, from, table); unread == nil {
		columns = slices.DeleteFunc(columns, func(name string) bool { return !slices.Contains(old, name) })
	}
	list := strings.Join(columns, ", ")
	holes := strings.TrimSuffix(strings.Repeat("?,", len(columns)), ",")
	return copying{
		table: table, columns: len(columns), keyAt: slices.Index(columns, key),
		read:   fmt.Sprintf("SELECT %s FROM %s WHERE %s AND %s >= ? ORDER BY %s", list, table, where, key, key),
		insert: fmt.Sprintf("INSERT OR IGNORE INTO %s (%s) VALUES (%s)", table, list, holes),
	}, err
}

// columnsOf names the columns of a table in small letters, as all of ours are: to
// SQLite a column whose name lost one bit to become a capital is the same one.
func columnsOf(ctx context.Context, db querier, table string) (columns []string, err error) {
	err = each(ctx, db, func(row scanner) error {
		var name string
		err := row.Scan(&name)
		columns = append(columns, name)
		return err
	}, `SELECT lower(name) FROM pragma_table_info(?) ORDER BY cid`, table)
	return columns, err
}

// copyRows copies from the given key on to the end or to the first unreadable
// row, in one transaction. It returns how many rows it read, and the key after
// the last.
func (s *Store) copyRows(ctx context.Context, from querier, c copying, next int64) (read int, after int64, err error) {
	cells, into := make([]any, c.columns), make([]any, c.columns)
	for i := range cells {
		into[i] = &cells[i]
	}
	var unreadable error
	err = inTx(ctx, s.write, func(tx *sql.Tx) error {
		last := next - 1
		unreadable = each(ctx, from, func(row scanner) error {
			if err := row.Scan(into...); err != nil {
				return err
			}
			at, ok := cells[c.keyAt].(int64)
			if !ok || at <= last {
				return ErrCorrupt
			}
			last = at
			if _, err := tx.ExecContext(ctx, c.insert, cells...); err != nil {
				s.miss(fmt.Sprintf("%s %d", c.table, at), err)
				return nil
			}
			read++
			return nil
		}, c.read, next)
		after = last + 1
		return nil
	})
	return read, after, errors.Join(err, unreadable)
}
