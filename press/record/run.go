package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/nightclamp/nightclamp/press"
)

// Run is one pressing as it is kept.
type Run struct {
	ID       string // unique for ever
	Site     string
	Press    string
	Work     string // what was pressed, in the builder's words
	Glue     string // the datasheet's name
	Sheet    []byte // the datasheet's TOML as it was then; nil: no glue chosen
	Layup    []byte // the lay-up's TOML; nil: none was given
	FloorPa  float64
	Strained bool
	Plies    int     // 0: not said
	AreaM2   float64 // 0: not said
	Notes    string
	Started  time.Time
	Ended    time.Time // zero: the run is open
	Stage    press.Stage
	Verdict  press.Verdict
	Final    []byte // the last press.Status as JSON
	Thinned  bool   // its samples were thinned further; see Store.Prune. A run that is put again keeps it
}

// Filter chooses among runs. The zero value chooses all.
type Filter struct {
	Press string // empty: any
	Open  bool   // only runs that have not ended
	Limit int    // at most so many; 0: all
}

const runColumns = `id, site, press, work, glue, sheet, floor_pa, strained, plies, area_m2, notes,
	started, ended, stage, verdict, final, layup, thinned`

// PutRun keeps a run, or what has become of it. It is durable on return.
func (s *Store) PutRun(ctx context.Context, run Run) error {
	return s.Commit(ctx, Batch{Run: &run})
}

func putRun(ctx context.Context, tx querier, r Run) (int64, error) {
	if r.ID == "" {
		return 0, errors.New("a run without an ID cannot be kept")
	}
	var n int64
	err := tx.QueryRowContext(ctx, `INSERT INTO run (`+runColumns+`)
		VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)
		ON CONFLICT (id) DO UPDATE SET site=excluded.site, press=excluded.press, work=excluded.work,
			glue=excluded.glue, sheet=excluded.sheet, floor_pa=excluded.floor_pa, strained=excluded.strained,
			plies=excluded.plies, area_m2=excluded.area_m2, notes=excluded.notes, started=excluded.started,
			ended=excluded.ended, stage=excluded.stage, verdict=excluded.verdict, final=excluded.final,
			layup=excluded.layup
		RETURNING n`,
		r.ID, r.Site, r.Press, r.Work, r.Glue, r.Sheet, number(r.FloorPa), r.Strained, r.Plies,
		number(r.AreaM2), r.Notes, nanos(r.Started), nanos(r.Ended), string(r.Stage), string(r.Verdict), r.Final, r.Layup, r.Thinned,
	).Scan(&n)
	return n, err
}

// Run returns the run with this ID, or whose ID begins so when only one does,
// or the newest one for "last". The error is [ErrNotFound] or [ErrAmbiguous].
func (s *Store) Run(ctx context.Context, id string) (Run, error) {
	runs, err := s.selectRuns(ctx, `WHERE id = ?`, id)
	if err != nil || len(runs) == 1 {
		return first(runs), err
	}
	if id == "last" {
		if runs, err = s.Runs(ctx, Filter{Limit: 1}); err != nil || len(runs) == 1 {
			return first(runs), err
		}
		return Run{}, fmt.Errorf("no run yet: %w", ErrNotFound)
	}
	if id != "" {
		runs, err = s.selectRuns(ctx, `WHERE substr(id, 1, length(?1)) = ?1 ORDER BY started DESC, n DESC LIMIT 5`, id)
	}
	switch {
	case err != nil:
		return Run{}, err
	case len(runs) == 1:
		return runs[0], nil
	case len(runs) == 0:
		return Run{}, fmt.Errorf("run %q: %w", id, ErrNotFound)
	}
	ids := make([]string, len(runs))
	for i, r := range runs {
		ids[i] = r.ID
	}
	return Run{}, fmt.Errorf("run %q: %w: %s: give more letters", id, ErrAmbiguous, strings.Join(ids, ", "))
}

func first(runs []Run) Run {
	if len(runs) == 0 {
		return Run{}
	}
	return runs[0]
}

// Runs returns the runs that the filter chooses, newest first.
func (s *Store) Runs(ctx context.Context, f Filter) ([]Run, error) {
	limit := f.Limit
	if limit <= 0 {
		limit = -1
	}
	return s.selectRuns(ctx, `WHERE (?1 = '' OR press = ?1) AND (NOT ?2 OR ended IS NULL)
		ORDER BY started DESC, n DESC LIMIT ?3`, f.Press, f.Open, limit)
}

func (s *Store) selectRuns(ctx context.Context, where string, args ...any) (runs []Run, err error) {
	err = each(ctx, s.read, func(row scanner) error {
		r, err := scanRun(row)
		runs = append(runs, r)
		return err
	}, `SELECT `+runColumns+` FROM run `+where, args...)
	return runs, explain(s.path, "read runs", err)
}

func scanRun(row scanner) (Run, error) {
	var r Run
	var floor, area sql.NullFloat64
	var started, ended sql.NullInt64
	var stage, verdict string
	err := row.Scan(&r.ID, &r.Site, &r.Press, &r.Work, &r.Glue, &r.Sheet, &floor, &r.Strained, &r.Plies,
		&area, &r.Notes, &started, &ended, &stage, &verdict, &r.Final, &r.Layup, &r.Thinned)
	r.FloorPa, r.AreaM2 = orNaN(floor), orNaN(area)
	r.Started, r.Ended = fromNanos(started), fromNanos(ended)
	r.Stage, r.Verdict = press.Stage(stage), press.Verdict(verdict)
	return r, err
}

// scanner is one row.
type scanner interface{ Scan(into ...any) error }

// each runs a query and hands every row to do.
func each(ctx context.Context, db querier, do func(scanner) error, query string, args ...any) (err error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := do(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// number makes NaN and the infinities NULL, which SQLite would do silently for
// NaN alone.
func number(v float64) sql.NullFloat64 {
	return sql.NullFloat64{Float64: v, Valid: !math.IsNaN(v) && !math.IsInf(v, 0)}
}

func orNaN(v sql.NullFloat64) float64 {
	if !v.Valid {
		return math.NaN()
	}
	return v.Float64
}

// nanos makes the zero time NULL.
func nanos(t time.Time) sql.NullInt64 {
	if t.IsZero() {
		return sql.NullInt64{}
	}
	return sql.NullInt64{Int64: t.UnixNano(), Valid: true}
}

func fromNanos(v sql.NullInt64) time.Time {
	if !v.Valid {
		return time.Time{}
	}
	return time.Unix(0, v.Int64).UTC()
}
