package record

import (
	"context"
	"database/sql"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// PutHour keeps how warm an hour was where a press stands. It is durable on
// return; the same hour again replaces the first.
func (s *Store) PutHour(ctx context.Context, pressName string, h press.HourMean) error {
	if err := s.writable(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return explain(s.path, "write", inTx(ctx, s.write, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO hour (press, at, air, glueline) VALUES (?,?,?,?)
			ON CONFLICT (press, at) DO UPDATE SET air=excluded.air, glueline=excluded.glueline`,
			pressName, h.Hour.Unix(), inMilli(h.AirC), inMilli(h.GluelineC))
		return err
	}))
}

// Hours returns the hours of a press that begin at from or later and end at to or
// before, in order.
func (s *Store) Hours(ctx context.Context, pressName string, from, to time.Time) (hours []press.HourMean, err error) {
	err = each(ctx, s.read, func(row scanner) error {
		var at int64
		var air, glue sql.NullInt64
		if err := row.Scan(&at, &air, &glue); err != nil {
			return err
		}
		hours = append(hours, press.HourMean{Hour: time.Unix(at, 0).UTC(), AirC: fromMilli(air), GluelineC: fromMilli(glue)})
		return nil
	}, `SELECT at, air, glueline FROM hour WHERE press = ? AND at >= ? AND at <= ? ORDER BY at`,
		pressName, from.Unix(), to.Add(-time.Hour).Unix())
	return hours, explain(s.path, "read hours of press "+pressName, err)
}

// inMilli makes NaN NULL.
func inMilli(c float64) sql.NullInt64 {
	if math.IsNaN(c) || math.IsInf(c, 0) {
		return sql.NullInt64{}
	}
	return sql.NullInt64{Int64: int64(math.Round(1000 * c)), Valid: true}
}

func fromMilli(v sql.NullInt64) float64 {
	if !v.Valid {
		return math.NaN()
	}
	return float64(v.Int64) / 1000
}
