package record

import (
	"context"
	"database/sql"
	"math"
	"time"

	"github.com/nightclamp/nightclamp/sensor"
)

const thinColumns = `run, seq, at, mean_ms, last_ms, n, quality, boot, mono_ms,
	bag, bag_lo, bag_hi, ambient, ambient_lo, ambient_hi, glueline, glueline_lo, glueline_hi,
	air, air_lo, air_hi, vacuum, vacuum_lo, vacuum_hi,
	humidity, humidity_lo, humidity_hi`

// steps is how many of the table's units there are to one of ours, in the order
// of Thin.extents.
func steps() [6]float64 { return [6]float64{10, 10, 1000, 1000, 10, 10} }

// putThin writes a bucket, or writes it anew now that it is fuller.
func (s *Store) putThin(ctx context.Context, tx querier, run, seq int64, t Thin) error {
	boot, err := s.bootNumber(ctx, tx, t.Boot)
	if err != nil {
		return err
	}
	at := t.First.UnixMilli()
	args := make([]any, 0, 27)
	args = append(args, run, seq, at, t.Mean.UnixMilli()-at, t.Last.UnixMilli()-at, t.Count, int64(t.Quality),
		boot, sql.NullInt64{Int64: t.Mono.Milliseconds(), Valid: boot.Valid})
	scale := steps()
	for i, e := range t.extents() {
		args = append(args, e.encode(scale[i])...)
	}
	_, err = tx.ExecContext(ctx, `INSERT OR REPLACE INTO thin (`+thinColumns+`)
		VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)`, args...)
	return err
}

// encode turns an extent into mean, distance below and distance above, in steps.
func (e Extent) encode(steps float64) []any {
	if math.IsNaN(e.Mean) {
		return []any{nil, nil, nil}
	}
	mean := whole(e.Mean * steps)
	return []any{mean, mean - whole(e.Min*steps), whole(e.Max*steps) - mean}
}

// whole rounds into a range in which the difference of two is still exact.
func whole(v float64) int64 {
	const most = 1 << 50
	return int64(math.Round(math.Max(-most, math.Min(most, v))))
}

func scanThin(row scanner) (Thin, error) {
	var at, mean, last, quality int64
	var boot sql.NullString
	var mono sql.NullInt64
	var cells [18]sql.NullInt64
	var t Thin
	into := [25]any{&at, &mean, &last, &t.Count, &quality, &boot, &mono}
	for i := range cells {
		into[7+i] = &cells[i]
	}
	if err := row.Scan(into[:]...); err != nil {
		return Thin{}, err
	}
	t.First, t.Mean, t.Last = milli(at), milli(at+mean), milli(at+last)
	t.Boot, t.Mono = boot.String, time.Duration(mono.Int64)*time.Millisecond
	t.Quality = sensor.Quality(quality) //nolint:gosec // it was one when it was written
	scale := steps()
	for i, e := range t.extents() {
		*e = decode([3]sql.NullInt64(cells[3*i:3*i+3]), scale[i])
	}
	return t, nil
}

func decode(cells [3]sql.NullInt64, steps float64) Extent {
	if !cells[0].Valid {
		return nothing()
	}
	mean := cells[0].Int64
	return Extent{
		Min:  float64(mean-cells[1].Int64) / steps,
		Mean: float64(mean) / steps,
		Max:  float64(mean+cells[2].Int64) / steps,
	}
}

func milli(ms int64) time.Time { return time.UnixMilli(ms).UTC() }
