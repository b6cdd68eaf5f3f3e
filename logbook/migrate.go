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

// formatGrown is that of a log with an event in it that programs of the format before do
// not read. Nothing else is new in it, so a log is brought to it when it needs it, and
// until then they read it.
const formatGrown = 3

// migrate brings the database from a version to another, each step whole or not at all.
func migrate(ctx context.Context, db *sql.DB, version, to int) error {
	for i, name := range migrations()[version:to] {
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

// raiseFormat marks a log that programs of the format before do not read.
func raiseFormat(ctx context.Context, tx *sql.Tx) error {
	var now int
	if err := tx.QueryRowContext(ctx, `pragma user_version`).Scan(&now); err != nil || now >= formatGrown {
		return err
	}
	_, err := tx.ExecContext(ctx, fmt.Sprintf(`pragma user_version = %d`, formatGrown))
	return err
}

// derivedVersion is raised whenever another version of the program reads more in an event,
// package trip makes something else of the same events, or that is kept in another form:
// everything that is worked out is then worked out anew.
const derivedVersion = "4"

// outdate files every event anew and marks every trip as stale when another version of
// the program derived what is kept of them.
func outdate(ctx context.Context, db *sql.DB) error {
	current := func(q interface {
		QueryRowContext(context.Context, string, ...any) *sql.Row
	}) (bool, error) {
		var have string
		err := q.QueryRowContext(ctx, `select value from meta where key = 'projection'`).Scan(&have)
		if errors.Is(err, sql.ErrNoRows) {
			err = nil
		}
		return have == derivedVersion, err
	}
	if is, err := current(db); is || err != nil {
		return err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if is, err := current(tx); is || err != nil { // another program did it meanwhile
		return err
	}
	if err := derive(ctx, tx); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `insert or replace into meta (key, value) values ('projection', ?)`, derivedVersion); err != nil {
		return err
	}
	return tx.Commit()
}
