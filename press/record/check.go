package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Check reads through the whole record, beside a daemon that may be writing it,
// and reports damage as [ErrCorrupt].
func (s *Store) Check(ctx context.Context) error {
	if err := check(ctx, s.read); err != nil {
		return explain(s.path, "read through the record", err)
	}
	return nil
}

// check has SQLite read through the whole file.
func check(ctx context.Context, db querier) error {
	var found []string
	err := each(ctx, db, func(row scanner) error {
		var line string
		err := row.Scan(&line)
		if err == nil && line != "ok" {
			found = append(found, strings.ReplaceAll(line, "\n", "; "))
		}
		return err
	}, "PRAGMA quick_check(3)")
	if err == nil && len(found) > 0 {
		err = &damage{found: found}
	}
	return err
}

// damage is what reading through the file found.
type damage struct{ found []string }

func (d *damage) Error() string { return "damaged: " + strings.Join(d.found, "; ") }

// checkColumns compares the tables with those that the migrations make. A bit
// that flipped in the description of a table passes quick_check, and would fail
// every write of the night.
func checkColumns(ctx context.Context, db querier) (err error) {
	model, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return err
	}
	model.SetMaxOpenConns(1) // each connection would have a memory of its own
	defer func() { err = errors.Join(err, model.Close()) }()
	if err := migrate(ctx, model); err != nil {
		return err
	}
	want, err := allColumns(ctx, model)
	if err != nil {
		return err
	}
	have, err := allColumns(ctx, db)
	if err != nil {
		return err
	}
	for _, column := range want {
		if !slices.Contains(have, column) {
			return &damage{found: []string{fmt.Sprintf("there is no column %s", column)}}
		}
	}
	return nil
}

func allColumns(ctx context.Context, db querier) (columns []string, err error) {
	err = each(ctx, db, func(row scanner) error {
		var name string
		err := row.Scan(&name)
		columns = append(columns, name)
		return err
	}, `SELECT lower(t.name || '.' || c.name) FROM sqlite_schema AS t, pragma_table_info(t.name) AS c WHERE t.type = 'table'`)
	return columns, err
}
