package logbook

import (
	"errors"
	"fmt"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What may be wrong with the file or the disk, for errors.Is.
var (
	ErrNotLog  = errors.New("this file is not a sternfan log")
	ErrFull    = errors.New("there is no room left on the disk")
	ErrDamaged = errors.New("the file is damaged")
	ErrBusy    = errors.New("another program holds the log")
	ErrNoEvent = errors.New("there is no such event in the log")
)

// explain says what an error of the database means for the log, and what to do.
func (l *Log) explain(err error) error {
	if err == nil {
		return nil
	}
	var failed *sqlite.Error
	if !errors.As(err, &failed) {
		if errors.Is(err, ErrNotLog) {
			return fmt.Errorf("%s: %w; name another file", l.path, ErrNotLog)
		}
		return err
	}
	because := func(sentinel error, hint string) error {
		return &Error{Path: l.path, Hint: hint, Err: sentinel, Cause: err}
	}
	switch failed.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		return because(ErrFull, "nothing of this was written and what was there stands; make room and do it again")
	case sqlite3.SQLITE_IOERR:
		if strings.Contains(failed.Error(), "space") || failed.Code() == sqlite3.SQLITE_IOERR_WRITE || failed.Code() == sqlite3.SQLITE_IOERR_SHMSIZE {
			return because(ErrFull, "nothing of this was written and what was there stands; make room and do it again")
		}
	case sqlite3.SQLITE_NOTADB:
		return because(ErrNotLog, "name another file")
	case sqlite3.SQLITE_CORRUPT:
		return because(ErrDamaged, "leave it as it is and go on with a backup; sternfan log verify says more")
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return because(ErrBusy, "close it there, or try again")
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return because(errors.New("the log cannot be opened for writing"), "look at the rights of the file and its folder")
	}
	return fmt.Errorf("%s: %w", l.path, err)
}

// Error is a fault of the file or the disk.
type Error struct {
	Path, Hint string
	Err        error // one of this package's
	Cause      error // the database's own words
}

// Error returns file, fault and next step in one line.
func (e *Error) Error() string {
	return fmt.Sprintf("%s: %s; %s", e.Path, e.Err, e.Hint)
}

// Unwrap returns the fault and its cause.
func (e *Error) Unwrap() []error { return []error{e.Err, e.Cause} }
