package record

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
)

//go:embed migrations/*.sql
var migrations embed.FS

const applicationID = 0x6e74636c // "ntcl", in the header of the file

// errForeign and errNewer are not damage: the file is left alone.
var (
	errForeign = errors.New("this database belongs to another program: choose another file for the record")
	errNewer   = errors.New("this record was written by a newer nightclamp: update this one")
	errOlder   = errors.New("this record is of an older nightclamp: start the daemon once to bring it up to date")
)

// version is the form of the record that this build writes: the number of
// migration files.
func version() (int, []string, error) {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	return len(names), names, err
}

// formOf reads which form the file has, and refuses what is not ours.
func formOf(ctx context.Context, db querier) (int, error) {
	var form, app, tables int
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&form); err != nil {
		return 0, err
	}
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&app); err != nil {
		return 0, err
	}
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return 0, err
	}
	if tables > 0 && app != applicationID {
		return 0, errForeign
	}
	return form, nil
}

// migrate brings the file to the present form, one transaction a step, so that
// a power cut in the middle leaves it at a whole step.
func migrate(ctx context.Context, db *sql.DB) error {
	form, err := formOf(ctx, db)
	if err != nil {
		return err
	}
	want, names, err := version()
	if err != nil {
		return err
	}
	if form > want {
		return fmt.Errorf("form %d, this build knows %d: %w", form, want, errNewer)
	}
	for ; form < want; form++ {
		text, err := migrations.ReadFile(names[form])
		if err != nil {
			return err
		}
		if err := inTx(ctx, db, func(tx *sql.Tx) error {
			if _, err := tx.ExecContext(ctx, string(text)); err != nil {
				return err
			}
			_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", form+1))
			return err
		}); err != nil {
			return fmt.Errorf("migration %s: %w", names[form], err)
		}
	}
	return nil
}

// querier is what a database, a connection and a transaction have in common.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
}

func inTx(ctx context.Context, db *sql.DB, do func(*sql.Tx) error) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := do(tx); err != nil {
		if undo := tx.Rollback(); undo != nil && !errors.Is(undo, sql.ErrTxDone) {
			return errors.Join(err, undo)
		}
		return err
	}
	return tx.Commit()
}
