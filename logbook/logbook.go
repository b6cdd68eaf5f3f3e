// Package logbook keeps a log in an SQLite database: the events as they are, and beside
// them what package trip works out from them, so that a season's effort can be read at
// once. What is worked out is thrown away and made again whenever events say otherwise.
//
// An event is on the disk when [Log.Append] returns: the database is in write-ahead mode
// with full synchronization.
package logbook

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"sternfan/event"

	"sternfan/trip"

	_ "modernc.org/sqlite" // the driver
)

// Log is an open log. It may be used by many goroutines at once, and several programs may
// have the same log open.
type Log struct {
	path     string
	readOnly bool
	write    *sql.DB // one connection: SQLite has one writer
	read     *sql.DB

	mu     sync.Mutex // of what follows
	ids    trip.IDs
	setups *setupCache
}

// Options of opening.
type Options struct {
	ReadOnly bool // the file must be there, and nothing is written
	MaxPages int  // of 4096 bytes that the database may have; 0: as many as the disk holds
}

const (
	applicationID = 0x5374666e // "Stfn"
	readers       = 4
)

// dsn returns the name by which the driver opens the file: every connection gets the
// pragmas.
func dsn(path string, opt Options, writer bool) string {
	pragmas := []string{"busy_timeout(10000)", "journal_mode(WAL)", "synchronous(FULL)", "temp_store(MEMORY)", "cache_size(-16000)"}
	if !writer || opt.ReadOnly {
		// The journal mode is the file's; a reader does not set it.
		pragmas = []string{"busy_timeout(10000)", "query_only(1)", "temp_store(MEMORY)", "cache_size(-8000)"}
	}
	if opt.MaxPages > 0 && writer && !opt.ReadOnly {
		pragmas = append(pragmas, fmt.Sprintf("max_page_count(%d)", opt.MaxPages))
	}
	q := url.Values{"_pragma": pragmas, "_txlock": {"deferred"}}
	if writer && !opt.ReadOnly {
		q.Set("_txlock", "immediate")
	}
	if opt.ReadOnly {
		q.Set("mode", "ro")
	}
	return "file:" + (&url.URL{Path: filepath.ToSlash(path)}).EscapedPath() + "?" + q.Encode()
}

// Open opens the log in a file and brings it up to this version. A file that is not there
// is made, with its folder.
func Open(ctx context.Context, path string, opt Options) (*Log, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	switch info, err := os.Stat(abs); {
	case errors.Is(err, fs.ErrNotExist) && opt.ReadOnly:
		return nil, fmt.Errorf("there is no log at %s: %w", path, fs.ErrNotExist)
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(filepath.Dir(abs), 0o777); err != nil {
			return nil, fmt.Errorf("no folder can be made for the log: %w", err)
		}
	case err != nil:
		return nil, fmt.Errorf("the log cannot be opened: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder, not a log", path)
	}
	l := &Log{path: path, readOnly: opt.ReadOnly}
	if l.write, err = sql.Open("sqlite", dsn(abs, opt, true)); err != nil {
		return nil, err
	}
	l.write.SetMaxOpenConns(1)
	l.write.SetMaxIdleConns(1)
	if l.read, err = sql.Open("sqlite", dsn(abs, opt, false)); err != nil {
		return nil, errors.Join(err, l.write.Close())
	}
	l.read.SetMaxOpenConns(readers)
	l.read.SetMaxIdleConns(readers)
	if err := l.start(ctx, opt); err != nil {
		return nil, errors.Join(l.explain(err), l.write.Close(), l.read.Close())
	}
	return l, nil
}

// start checks whose file it is, migrates it, and takes up the ids where they stood.
func (l *Log) start(ctx context.Context, opt Options) error {
	var app, version, tables int
	if err := l.write.QueryRowContext(ctx, `pragma application_id`).Scan(&app); err != nil {
		return err
	}
	if err := l.write.QueryRowContext(ctx, `pragma user_version`).Scan(&version); err != nil {
		return err
	}
	if err := l.write.QueryRowContext(ctx, `select count(*) from sqlite_schema`).Scan(&tables); err != nil {
		return err
	}
	if app != applicationID && (tables > 0 || opt.ReadOnly) {
		return ErrNotLog
	}
	switch last := lastMigration(); {
	case version > last:
		return fmt.Errorf("it was written by a newer version of this program (format %d, this one knows %d); install that version", version, last)
	case version < formatGrown-1 && opt.ReadOnly:
		return fmt.Errorf("it is of an older version (format %d); open it for writing once to bring it up to date", version)
	case version < formatGrown-1:
		if err := migrate(ctx, l.write, version, formatGrown-1); err != nil {
			return err
		}
	}
	if !opt.ReadOnly {
		if err := outdate(ctx, l.write); err != nil {
			return err
		}
	}
	var last []byte
	switch err := l.write.QueryRowContext(ctx, `select id from event order by id desc limit 1`).Scan(&last); {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	default:
		l.ids.Saw(event.ID(last))
	}
	return nil
}

// Close closes the log. Projections that events have left behind are brought up first
// when that is quick, so that the next opening finds them.
func (l *Log) Close() error {
	var err error
	if !l.readOnly {
		err = l.refreshFew()
	}
	return errors.Join(l.explain(err), l.read.Close(), l.write.Close())
}

// Path returns the file that was opened.
func (l *Log) Path() string { return l.path }

// NewID returns an id for an event of a moment in milliseconds since 1970: later than
// every id in the log.
func (l *Log) NewID(milli int64) event.ID {
	var chance [10]byte
	if _, err := rand.Read(chance[:]); err != nil {
		panic("logbook: no random numbers: " + err.Error())
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.ids.Next(milli, chance)
}

// Device returns the name by which this log's own events are known: made when the log is.
func (l *Log) Device(ctx context.Context) (string, error) {
	var name string
	err := l.read.QueryRowContext(ctx, `select value from meta where key = 'device'`).Scan(&name)
	return name, l.explain(err)
}

// deviceName returns a new name for a log: short, and unlikely to be another's.
func deviceName() string {
	text := strings.ToLower(rand.Text())
	return "log-" + text[:4]
}
