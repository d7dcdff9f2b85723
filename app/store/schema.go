package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// applicationID marks our files in SQLite's header: "Qwtr".
const applicationID = 0x51777472

// steps bring a book from one version of the schema to the next; step i makes
// version i+1. A step that was ever released is never edited. Older columns
// stay, so that an older program can still read a newer book.
var steps = []string{schema1, schema2}

// Rows carry who and when, a deletion mark and a checksum. References are
// checked at the commit, so that one save may hold its records in any order.
// Entries have a short number of their own only so that their values can
// point at it; their identity is id.
const schema1 = `
CREATE TABLE meta(
	one    INTEGER PRIMARY KEY CHECK(one = 1),
	book   TEXT NOT NULL,
	writes INTEGER NOT NULL, -- transactions so far
	total  INTEGER NOT NULL  -- sum of all row checksums, modulo 2^64
) STRICT;
CREATE TABLE migration(
	version INTEGER PRIMARY KEY,
	at      TEXT NOT NULL,
	program TEXT NOT NULL
) STRICT;
CREATE TABLE person(
	id   TEXT NOT NULL PRIMARY KEY CHECK(id <> ''),
	name TEXT NOT NULL,
	mark INTEGER NOT NULL,
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
CREATE TABLE strip_kind(
	id   TEXT NOT NULL PRIMARY KEY CHECK(id <> ''),
	json TEXT NOT NULL,
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
CREATE TABLE pack(
	id          TEXT NOT NULL PRIMARY KEY CHECK(id <> ''),
	label       TEXT NOT NULL,
	person      TEXT REFERENCES person(id) DEFERRABLE INITIALLY DEFERRED,
	strip_kind  TEXT NOT NULL,
	lot         TEXT NOT NULL,
	use_by      TEXT NOT NULL,
	use_by_text TEXT NOT NULL,
	opened_on   TEXT NOT NULL,
	days_open   INTEGER NOT NULL,
	strips      INTEGER NOT NULL,
	price       TEXT NOT NULL,
	currency    TEXT NOT NULL,
	sealed      TEXT NOT NULL,
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
CREATE TABLE entry(
	n      INTEGER PRIMARY KEY,
	id     TEXT NOT NULL UNIQUE CHECK(id <> ''),
	person TEXT NOT NULL REFERENCES person(id) DEFERRABLE INITIALLY DEFERRED,
	kind   TEXT NOT NULL CHECK(kind <> ''),
	at     TEXT NOT NULL, -- RFC 3339 with offset, a plain day, or '' when undated
	author TEXT NOT NULL,
	origin TEXT NOT NULL,
	pack   TEXT REFERENCES pack(id) DEFERRABLE INITIALLY DEFERRED,
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
CREATE TABLE value(
	entry INTEGER NOT NULL REFERENCES entry(n) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
	pos   INTEGER NOT NULL,
	code  TEXT NOT NULL CHECK(code <> ''),
	num   REAL,
	grade TEXT CHECK(grade <> ''),
	word  TEXT CHECK(word <> ''),
	typed TEXT NOT NULL, -- the number as it was written
	unit  TEXT NOT NULL,
	confidence REAL NOT NULL,
	note  TEXT NOT NULL,
	PRIMARY KEY(entry, pos),
	CHECK((num IS NOT NULL) + (grade IS NOT NULL) + (word IS NOT NULL) = 1)
) STRICT, WITHOUT ROWID;
CREATE TABLE setting(
	key   TEXT NOT NULL PRIMARY KEY CHECK(key <> ''),
	value TEXT NOT NULL,
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
CREATE TABLE change(
	id     INTEGER PRIMARY KEY AUTOINCREMENT,
	at     TEXT NOT NULL,
	author TEXT NOT NULL,
	undoes INTEGER, -- the change this one took back
	state  INTEGER NOT NULL CHECK(state IN (0, 1, 2)) -- stands, undone, partly forgotten
) STRICT;
CREATE TABLE change_row(
	change  INTEGER NOT NULL REFERENCES change(id) ON DELETE CASCADE,
	pos     INTEGER NOT NULL,
	what    TEXT NOT NULL, -- the table
	key     TEXT NOT NULL,
	owner   TEXT NOT NULL, -- the person it belongs to, '' for the household
	old     TEXT,          -- JSON of the row before; NULL when there was none
	old_sum INTEGER,
	new_sum INTEGER,       -- NULL when the row was removed
	PRIMARY KEY(change, pos),
	CHECK((old IS NULL) = (old_sum IS NULL))
) STRICT, WITHOUT ROWID;
`

// A merge with another copy of the book keeps what nobody has chosen between
// yet, and which two persons are one. What it learns of older versions stands
// in the history, as rows of "past".
const schema2 = `
ALTER TABLE change ADD COLUMN merged INTEGER NOT NULL DEFAULT 0 CHECK(merged IN (0, 1));
CREATE TABLE version(
	id    TEXT NOT NULL PRIMARY KEY CHECK(id <> ''), -- table, key and checksum
	what  TEXT NOT NULL, -- the table
	key   TEXT NOT NULL,
	owner TEXT NOT NULL, -- the person it belongs to, '' for the household
	json  TEXT NOT NULL, -- the row
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
CREATE TABLE same_person(
	id     TEXT NOT NULL PRIMARY KEY REFERENCES person(id) DEFERRABLE INITIALLY DEFERRED,
	person TEXT NOT NULL REFERENCES person(id) DEFERRABLE INITIALLY DEFERRED, -- who they are
	created TEXT NOT NULL, changed TEXT NOT NULL, deleted_at TEXT, sum INTEGER NOT NULL
) STRICT;
`

// step runs one migration in one transaction, so that a book is whole at the
// old version or whole at the new one.
func (b *Book) step(ctx context.Context, version int) error {
	return inTx(ctx, b.db, func(tx *sql.Tx) error {
		if _, err := tx.Exec(b.opts.steps[version-1]); err != nil {
			return err
		}
		if version == 1 {
			if err := b.found(tx); err != nil {
				return err
			}
		}
		if _, err := tx.Exec(`INSERT INTO migration VALUES(?, ?, ?)`, version, b.now(), b.opts.Version); err != nil {
			return err
		}
		_, err := tx.Exec(fmt.Sprintf(`PRAGMA user_version = %d`, version))
		return err
	})
}

// found makes the file ours and gives the book its identity.
func (b *Book) found(tx *sql.Tx) error {
	id, err := newBookID(b.opts.Rand)
	if err != nil {
		return err
	}
	if _, err := tx.Exec(`INSERT INTO meta VALUES(1, ?, 0, 0)`, id); err != nil {
		return err
	}
	_, err = tx.Exec(fmt.Sprintf(`PRAGMA application_id = %d`, applicationID))
	return err
}

// schemaOf is the text of every table and index, as SQLite keeps it.
func schemaOf(q querier) (map[string]string, error) {
	out := map[string]string{}
	err := each(q, `SELECT name, coalesce(sql, '') FROM sqlite_schema`, func(scan scanner) error {
		var name, text string
		err := scan(&name, &text)
		out[name] = text
		return err
	})
	return out, err
}

// buildSchema runs steps in memory to learn what the text must be.
func buildSchema(steps []string) (map[string]string, error) {
	db := sql.OpenDB(connector{dsn: ":memory:"})
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, s := range steps {
		if _, err := db.Exec(s); err != nil {
			return nil, err
		}
	}
	return schemaOf(db)
}

// compareSchema names what differs from the tables that steps make. A foreign
// trigger or a CHECK changed by a flipped bit shows here.
func compareSchema(q querier, steps []string) ([]Flaw, error) {
	want, err1 := buildSchema(steps)
	have, err2 := schemaOf(q)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	var out []Flaw
	for name, text := range want {
		if have[name] != text {
			out = append(out, Flaw{InSchema, name})
		}
	}
	for name := range have {
		if _, ours := want[name]; !ours {
			out = append(out, Flaw{InSchema, name})
		}
	}
	return out, nil
}
