package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"quietwater/model"
)

// DraftPrefix begins the key of a setting that holds something half typed.
// Drafts are saved like the rest but not kept for undo. A setting that belongs
// to one person carries the person's ID between slashes ("draft/strip/ID"), so
// that [Book.Forget] finds it.
const DraftPrefix = "draft/"

// Change is one thing to save or delete; see SaveEntry and its sisters.
type Change struct {
	table *table
	key   string
	new   row // nil deletes
}

// SavePerson adds a person or replaces the one of that ID.
func SavePerson(p model.Person) Change { return save(fromPerson(p)) }

// SaveEntry adds an entry or replaces the one of that ID. Of a value's number,
// grade and word only the one that speaks is kept.
func SaveEntry(e model.Entry) Change { return save(fromEntry(e)) }

// SavePack adds a pack or replaces the one of that ID.
func SavePack(p model.Pack) Change { return save(fromPack(p)) }

// SaveKind adds a strip kind or replaces the one of that ID.
func SaveKind(k RawKind) Change { return save(&kindRow{ID: k.ID, JSON: k.JSON}) }

// Set keeps a setting.
func Set(key, value string) Change { return save(&settingRow{Key: key, Value: value}) }

// DeletePerson marks a person as deleted, and so hides what belongs to them.
func DeletePerson(id model.ID) Change { return Change{table: persons, key: string(id)} }

// DeleteEntry marks an entry as deleted.
func DeleteEntry(id model.ID) Change { return Change{table: entries, key: string(id)} }

// DeletePack marks a pack as deleted. Entries keep naming it.
func DeletePack(id model.ID) Change { return Change{table: packs, key: string(id)} }

// DeleteKind marks a strip kind as deleted.
func DeleteKind(id string) Change { return Change{table: kinds, key: id} }

// Unset removes a setting; it is no error when there is none.
func Unset(key string) Change { return Change{table: settings, key: key} }

func save(r row) Change { return Change{table: r.table(), key: r.key(), new: r} }

// Token names a saved change, to take it back; 0 is nothing to take back.
type Token int64

// Put saves all changes or none, and returns when they are on the disk.
// author is who did it. The token takes them back; it is 0 when only drafts
// were saved. An error is always an ErrNotSaved.
func (b *Book) Put(ctx context.Context, author string, changes []Change) (Token, error) {
	if len(changes) == 0 {
		return 0, nil
	}
	return b.write(ctx, author, 0, func(t *tx) error {
		for i, c := range changes {
			if i%1024 == 0 {
				if err := ctx.Err(); err != nil {
					return err
				}
			}
			if err := t.change(c); err != nil {
				return err
			}
		}
		return nil
	})
}

// tx is one save in the making.
type tx struct {
	*sql.Tx
	at, author string
	undoes     Token
	merged     bool  // it brings in another copy of the book, or takes that back
	id         Token // of the change, 0 until something is recorded
	pos        int
	total      int64 // by how much the total of checksums moves
	prepared   map[string]*sql.Stmt
}

// write runs f in one transaction and counts it.
func (b *Book) write(ctx context.Context, author string, undoes Token, f func(*tx) error) (Token, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return 0, notSaved(err)
	}
	if b.ReadOnlyReason != nil {
		return 0, notSaved(fmt.Errorf("%w: %w", ErrReadOnly, b.ReadOnlyReason))
	}
	t := &tx{at: b.now(), author: author, undoes: undoes, prepared: map[string]*sql.Stmt{}}
	err := inTx(ctx, b.db, func(s *sql.Tx) error {
		t.Tx = s
		if err := f(t); err != nil {
			return err
		}
		return t.exec(`UPDATE meta SET writes = writes + 1, total = ?`, t.newTotal())
	})
	if err != nil {
		return 0, notSaved(err)
	}
	b.first = nil
	return t.id, nil
}

// newTotal wraps around where SQL would refuse.
func (t *tx) newTotal() (total int64) {
	if err := t.QueryRow(`SELECT total FROM meta`).Scan(&total); err != nil {
		return 0 // the UPDATE that follows fails the same way
	}
	return total + t.total
}

// stmt prepares each statement once; they end with the transaction.
func (t *tx) stmt(query string) (*sql.Stmt, error) {
	if s, ok := t.prepared[query]; ok {
		return s, nil
	}
	s, err := t.Prepare(query)
	if err == nil {
		t.prepared[query] = s
	}
	return s, err
}

func (t *tx) exec(query string, args ...any) error {
	s, err := t.stmt(query)
	if err != nil {
		return err
	}
	_, err = s.Exec(args...)
	return err
}

func (t *tx) each(query string, f func(scanner) error, args ...any) error {
	s, err := t.stmt(query)
	if err != nil {
		return err
	}
	return each(prepared{s}, query, f, args...)
}

// prepared is a querier of one statement.
type prepared struct{ *sql.Stmt }

func (p prepared) Query(_ string, args ...any) (*sql.Rows, error) { return p.Stmt.Query(args...) }
func (p prepared) QueryRow(_ string, args ...any) *sql.Row        { return p.Stmt.QueryRow(args...) }

// change works out the row that a Change leaves behind.
func (t *tx) change(c Change) error {
	old, err := t.fetch(c.table, c.key)
	if err != nil {
		return err
	}
	if c.new == nil {
		return t.delete(c, old)
	}
	r := c.new
	if r.key() == "" {
		return fmt.Errorf("%w: %s without identity", ErrInvalid, c.table.name)
	}
	if err := fits(r); err != nil {
		return err
	}
	s := r.stamps()
	*s = stamp{Created: t.at, Changed: t.at}
	if old != nil {
		s.Created = old.stamps().Created
	}
	return t.replace(c.table, c.key, old, r)
}

func (t *tx) delete(c Change, old row) error {
	if c.table == settings {
		if old != nil && old.stamps().Deleted != "" {
			return nil
		}
		return t.replace(c.table, c.key, old, nil)
	}
	if old == nil || old.stamps().Deleted != "" {
		return fmt.Errorf("%w: %s %q", ErrNotFound, c.table.name, c.key)
	}
	marked := copyOf(old)
	marked.stamps().Changed, marked.stamps().Deleted = t.at, nullable(t.at)
	return t.replace(c.table, c.key, old, marked)
}

// fetch reads one row, nil when there is none.
func (t *tx) fetch(of *table, key string) (found row, err error) {
	err = t.each(of.selectOne, func(scan scanner) error {
		found = of.blank()
		var sum int64
		return scan(append(found.fields(), &sum)...)
	}, key)
	if e, ok := found.(*entryRow); ok && err == nil {
		err = t.each(`SELECT `+valueColumns+` FROM value WHERE entry = (SELECT n FROM entry WHERE id = ?) ORDER BY pos`,
			func(scan scanner) error {
				e.Values = append(e.Values, valueRow{})
				return scan(e.Values[len(e.Values)-1].fields()...)
			}, key)
	}
	return found, err
}

// replace puts new in the place of old, either of which may be nil, and
// records it.
func (t *tx) replace(of *table, key string, old, new row) error {
	if old == nil && new == nil {
		return nil
	}
	if new == nil {
		if err := t.exec(of.remove, key); err != nil {
			return err
		}
	} else if err := t.insert(of, old == nil, new); err != nil {
		return err
	}
	t.total += sumOrZero(new) - sumOrZero(old)
	return t.record(of, key, old, new)
}

func sumOrZero(r row) int64 {
	if r == nil {
		return 0
	}
	return sumOf(r)
}

func (t *tx) insert(of *table, isNew bool, r row) error {
	s, err := t.stmt(of.upsert)
	if err != nil {
		return err
	}
	done, err := s.Exec(append(r.fields(), sumOf(r))...)
	if err != nil {
		return err
	}
	if e, ok := r.(*entryRow); ok {
		n, err := done.LastInsertId()
		if err != nil {
			return err
		}
		return t.insertValues(e, isNew, n)
	}
	return nil
}

func (t *tx) insertValues(e *entryRow, isNew bool, n int64) error {
	if !isNew {
		if err := t.each(`SELECT n FROM entry WHERE id = ?`, func(scan scanner) error { return scan(&n) }, e.ID); err != nil {
			return err
		}
		if err := t.exec(`DELETE FROM value WHERE entry = ?`, n); err != nil {
			return err
		}
	}
	for i := range e.Values {
		args := append([]any{n, i}, e.Values[i].fields()...)
		if err := t.exec(`INSERT INTO value(entry, pos, `+valueColumns+`) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, args...); err != nil {
			return err
		}
	}
	return nil
}

// record keeps what was there before, for undo and for the history.
func (t *tx) record(of *table, key string, old, new row) error {
	if of == settings && strings.HasPrefix(key, DraftPrefix) {
		return nil
	}
	if t.id == 0 {
		if err := t.begin(); err != nil {
			return err
		}
	}
	var before sql.NullString
	var oldSum, newSum sql.NullInt64
	owner := ""
	if new != nil {
		newSum = sql.NullInt64{Int64: sumOf(new), Valid: true}
		owner = new.owner()
	}
	if old != nil {
		text, err := toJSON(old)
		if err != nil {
			return err
		}
		before = sql.NullString{String: text, Valid: true}
		oldSum = sql.NullInt64{Int64: sumOf(old), Valid: true}
		owner = old.owner()
	}
	t.pos++
	return t.exec(`INSERT INTO change_row VALUES(?, ?, ?, ?, ?, ?, ?, ?)`, t.id, t.pos, of.name, key, owner, before, oldSum, newSum)
}

func (t *tx) begin() error {
	undoes := sql.NullInt64{Int64: int64(t.undoes), Valid: t.undoes != 0}
	done, err := t.Exec(`INSERT INTO change(at, author, undoes, state, merged) VALUES(?, ?, ?, 0, ?)`, t.at, t.author, undoes, t.merged)
	if err != nil {
		return err
	}
	id, err := done.LastInsertId()
	t.id = Token(id)
	return err
}

func copyOf(r row) row {
	switch r := r.(type) {
	case *personRow:
		c := *r
		return &c
	case *kindRow:
		c := *r
		return &c
	case *settingRow:
		c := *r
		return &c
	case *packRow:
		c := *r
		return &c
	case *versionRow:
		c := *r
		return &c
	case *sameRow:
		c := *r
		return &c
	case *entryRow:
		c := *r
		c.Values = slices.Clone(r.Values)
		return &c
	}
	panic("a row of no table") // a programmer's error
}
