package logbook

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"slices"
)

//go:embed schema/*.sql
var schema embed.FS

// migrations returns the names of the migrations in order. Number n brings a database
// from version n-1 to n; one that has been released is never edited.
func migrations() []string {
	names, err := fs.Glob(schema, "schema/*.sql")
	if err != nil {
		panic("logbook: " + err.Error())
	}
	slices.Sort(names)
	for i, name := range names {
		var n int
		if _, err := fmt.Sscanf(name, "schema/%04d_", &n); err != nil || n != i+1 {
			panic("logbook: migrations are not numbered in order: " + name)
		}
	}
	return names
}

func lastMigration() int { return len(migrations()) }

// migrate brings the database from a version to the last, each step whole or not at all.
func migrate(ctx context.Context, db *sql.DB, version int) error {
	for i, name := range migrations()[version:] {
		text, err := schema.ReadFile(name)
		if err != nil {
			return err
		}
		if err := migrateStep(ctx, db, version+i+1, string(text)); err != nil {
			return fmt.Errorf("bringing it to format %d: %w", version+i+1, err)
		}
	}
	return nil
}

func migrateStep(ctx context.Context, db *sql.DB, to int, text string) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	// Another program may have done it while this one waited for its turn.
	var now int
	if err := tx.QueryRowContext(ctx, `pragma user_version`).Scan(&now); err != nil || now >= to {
		return err
	}
	if _, err := tx.ExecContext(ctx, text); err != nil {
		return err
	}
	if to == 1 {
		if _, err := tx.ExecContext(ctx, `insert into meta (key, value) values ('device', ?)`, deviceName()); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, fmt.Sprintf(`pragma application_id = %d`, applicationID)); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf(`pragma user_version = %d`, to)); err != nil {
		return err
	}
	return tx.Commit()
}

// projectionVersion is raised whenever package trip makes something else of the same
// events, or it is kept in another form: every trip is then worked out anew.
const projectionVersion = "3"

// outdate marks every trip as stale when another version worked them out.
func outdate(ctx context.Context, db *sql.DB) error {
	var have string
	err := db.QueryRowContext(ctx, `select value from meta where key = 'projection'`).Scan(&have)
	if err == nil && have == projectionVersion {
		return nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	for _, q := range []string{
		`insert or ignore into stale select distinct trip from event`,
		`insert or ignore into stale select trip from outing`,
	} {
		if _, err := tx.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, `insert or replace into meta (key, value) values ('projection', ?)`, projectionVersion); err != nil {
		return err
	}
	return tx.Commit()
}
