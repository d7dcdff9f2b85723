package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"net/url"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/mattn/go-sqlite3"
)

// durability is how SQLite is told to keep its promises. Only tests that must
// see it fail ask for anything but [safe].
type durability struct {
	journal, synchronous string
}

// safe: an acknowledged save survives a power cut, and a plain copy of the
// file while the program idles is whole (the faster write-ahead log fails the
// second, the library's default the first).
var safe = durability{"TRUNCATE", "FULL"}

// connector opens connections without touching the global list of drivers.
// All settings are made here, for every connection there ever is: a PRAGMA
// run on the pool reaches only one of them.
type connector struct{ dsn string }

func (c connector) Driver() driver.Driver {
	return &sqlite3.SQLiteDriver{ConnectHook: func(conn *sqlite3.SQLiteConn) error {
		// fullfsync: on macOS a plain fsync stays in the drive's cache.
		// cell_size_check: damaged pages are met as errors, not as nonsense.
		// temp_store: what is sorted or rewritten stays in memory, and out of the
		// system's folder for temporary files.
		_, err := conn.Exec(`PRAGMA fullfsync = 1; PRAGMA checkpoint_fullfsync = 1; PRAGMA trusted_schema = 0; PRAGMA cell_size_check = 1;
			PRAGMA temp_store = MEMORY`, nil)
		return err
	}}
}

func (c connector) Connect(context.Context) (driver.Conn, error) { return c.Driver().Open(c.dsn) }

// openDB gives the one connection to a file that must exist. It is without
// SQLite's own locks, which are taken anew for each piece of a row: the pool lets
// one goroutine at a time use a connection.
func openDB(path string, readOnly bool, d durability) *sql.DB {
	opts := "mode=rw&_txlock=immediate&_secure_delete=1&_journal_mode=" + d.journal + "&_synchronous=" + d.synchronous
	if readOnly {
		opts = "mode=ro&_query_only=1"
	}
	db := sql.OpenDB(connector{dsn: fileURI(path) + "?_busy_timeout=5000&_foreign_keys=1&_mutex=no&" + opts})
	db.SetMaxOpenConns(1)
	return db
}

func fileURI(path string) string {
	p := filepath.ToSlash(path)
	if runtime.GOOS == "windows" && !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	return "file://" + (&url.URL{Path: p}).EscapedPath()
}

// readBack asks the live connection whether it is as asked: SQLite and the
// library ignore a misspelt setting in silence.
func readBack(db querier, d durability) error {
	synchronous := map[string]string{"OFF": "0", "NORMAL": "1", "FULL": "2", "EXTRA": "3"}
	for _, want := range [][2]string{
		{"journal_mode", strings.ToLower(d.journal)},
		{"synchronous", synchronous[d.synchronous]},
		{"foreign_keys", "1"},
		{"secure_delete", "1"},
		{"fullfsync", "1"},
		{"temp_store", "2"},
	} {
		var have string
		if err := db.QueryRow(`PRAGMA ` + want[0]).Scan(&have); err != nil {
			return err
		}
		if have != want[1] {
			return fmt.Errorf("SQLite runs with %s = %s instead of %s", want[0], have, want[1])
		}
	}
	return nil
}

// querier is a database or a transaction.
type querier interface {
	Query(query string, args ...any) (*sql.Rows, error)
	QueryRow(query string, args ...any) *sql.Row
}

// onConn asks one connection.
type onConn struct{ *sql.Conn }

func (c onConn) Query(query string, args ...any) (*sql.Rows, error) {
	return c.QueryContext(context.Background(), query, args...)
}

func (c onConn) QueryRow(query string, args ...any) *sql.Row {
	return c.QueryRowContext(context.Background(), query, args...)
}

type scanner func(dest ...any) error

// each runs f for every row of a query.
func each(q querier, query string, f func(scanner) error, args ...any) error {
	rows, err := q.Query(query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := f(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

// inTx runs f in one transaction. The context is looked at before the start
// and before the commit, never inside: the answer is always a clear yes or no.
func inTx(ctx context.Context, db *sql.DB, f func(*sql.Tx) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := f(tx); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return tx.Commit()
}
