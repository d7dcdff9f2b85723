package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"quietwater/model"
)

// The states of a change.
const (
	stands = iota
	undone
	forgotten // some of its rows are gone for good
)

// Undo takes one change back exactly, as one more change by author; its token
// takes that back in turn. ErrOverwritten: what it changed was changed again
// since, or it is undone already, or a person in it was forgotten.
func (b *Book) Undo(ctx context.Context, author string, token Token) (Token, error) {
	return b.write(ctx, author, token, func(t *tx) error {
		state, undoes, err := t.stateOf(token)
		if err != nil {
			return err
		}
		if t.merged, err = t.isMerge(token); err != nil {
			return err
		}
		if state != stands {
			return fmt.Errorf("change %d: %w", token, ErrOverwritten)
		}
		past, err := t.rowsOf(token)
		if err != nil {
			return err
		}
		for _, p := range slices.Backward(past) {
			if err := t.revert(p); err != nil {
				return err
			}
		}
		if err := t.exec(`UPDATE change SET state = ? WHERE id = ?`, undone, token); err != nil {
			return err
		}
		return t.exec(`UPDATE change SET state = ? WHERE id = ? AND state = ?`, stands, undoes, undone)
	})
}

func (t *tx) stateOf(token Token) (state int, undoes Token, err error) {
	var of sql.NullInt64
	err = t.QueryRow(`SELECT state, undoes FROM change WHERE id = ?`, token).Scan(&state, &of)
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("change %d: %w", token, ErrNotFound)
	}
	return state, Token(of.Int64), err
}

// isMerge tells whether a change brought in another copy of the book, or took
// that back: to a later merge it is then as though it had never been.
func (t *tx) isMerge(token Token) (merged bool, err error) {
	err = t.QueryRow(`SELECT merged FROM change WHERE id = ?`, token).Scan(&merged)
	return merged, err
}

// past is one row as it was before a change.
type past struct {
	table  *table
	key    string
	old    row           // nil when there was none
	newSum sql.NullInt64 // of what the change left; NULL when it removed the row
}

func (t *tx) rowsOf(token Token) ([]past, error) {
	var out []past
	err := t.each(`SELECT what, key, old, old_sum, new_sum FROM change_row WHERE change = ? AND what <> 'past' ORDER BY pos`, func(scan scanner) error {
		var p past
		var name string
		var text sql.NullString
		var oldSum sql.NullInt64
		if err := scan(&name, &p.key, &text, &oldSum, &p.newSum); err != nil {
			return err
		}
		var err error
		p.table, p.old, err = fromHistory(name, text, oldSum)
		out = append(out, p)
		return err
	}, token)
	return out, err
}

// fromHistory decodes a row that was kept, and checks that it is still what
// was kept.
func fromHistory(name string, text sql.NullString, sum sql.NullInt64) (*table, row, error) {
	of, ok := tableNamed(name)
	if !ok {
		return nil, nil, fmt.Errorf("%w: history of %q", ErrDamaged, name)
	}
	if !text.Valid {
		return of, nil, nil
	}
	r := of.blank()
	if err := json.Unmarshal([]byte(text.String), r); err != nil || sumOf(r) != sum.Int64 {
		return of, nil, fmt.Errorf("%w: history of %s", ErrDamaged, name)
	}
	return of, r, nil
}

func (t *tx) revert(p past) error {
	now, err := t.fetch(p.table, p.key)
	if err != nil {
		return err
	}
	if (now != nil) != p.newSum.Valid || now != nil && sumOf(now) != p.newSum.Int64 {
		return fmt.Errorf("%s %q: %w", p.table.name, p.key, ErrOverwritten)
	}
	return t.replace(p.table, p.key, now, p.old)
}

// LastChange is what an "undo" button would take back.
type LastChange struct {
	Token   Token // 0: nothing to undo
	At      string
	Author  string
	Records int // how many records it touched
	Entries []model.ID
	Named   []Named // the persons, packs and strip kinds among them that are still there
}

// Named is a record that has a name.
type Named struct {
	What string // "person", "pack" or "strip_kind"
	Says string // its name; of a strip kind the whole of it
	Gone bool   // it carries a deletion mark
}

// LastUndo finds the newest change that still stands, also after a restart.
// Changes of settings alone do not count, unless another copy brought them.
func (b *Book) LastUndo(ctx context.Context) (LastChange, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return LastChange{}, err
	}
	var c LastChange
	err := b.db.QueryRow(`SELECT id, at, author,
			(SELECT count(*) FROM change_row WHERE change = c.id AND what <> 'setting')
		FROM change c WHERE state = 0 AND undoes IS NULL
			AND (merged OR EXISTS (SELECT 1 FROM change_row WHERE change = c.id AND what <> 'setting'))
		ORDER BY id DESC LIMIT 1`).Scan(&c.Token, &c.At, &c.Author, &c.Records)
	if errors.Is(err, sql.ErrNoRows) {
		return LastChange{}, nil
	}
	if err != nil {
		return LastChange{}, classify(err)
	}
	if c.Entries, err = b.entriesOf(ctx, c.Token); err == nil {
		c.Named, err = b.namedOf(ctx, c.Token)
	}
	return c, classify(err)
}

// namedOf are the records with a name that a change touched, as they are now.
func (b *Book) namedOf(ctx context.Context, of Token) (out []Named, err error) {
	rows, err := b.db.QueryContext(ctx, `SELECT r.what, coalesce(p.name, k.label, s.json), coalesce(p.deleted_at, k.deleted_at, s.deleted_at) IS NOT NULL
		FROM change_row r
			LEFT JOIN person p ON r.what = 'person' AND p.id = r.key
			LEFT JOIN pack k ON r.what = 'pack' AND k.id = r.key
			LEFT JOIN strip_kind s ON r.what = 'strip_kind' AND s.id = r.key
		WHERE r.change = ? AND coalesce(p.id, k.id, s.id) IS NOT NULL ORDER BY r.pos`, of)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var n Named
		if err := rows.Scan(&n.What, &n.Says, &n.Gone); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, rows.Err()
}

// entriesOf are the entries a change touched.
func (b *Book) entriesOf(ctx context.Context, of Token) (ids []model.ID, err error) {
	rows, err := b.db.QueryContext(ctx, `SELECT key FROM change_row WHERE change = ? AND what = 'entry' ORDER BY pos`, of)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id model.ID
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	return ids, rows.Err()
}

// Past is an entry as it was before somebody changed or deleted it.
type Past struct {
	Entry   model.Entry
	At      string // when it was changed, RFC 3339 in UTC
	By      string // who changed it
	Existed bool   // false: At and By are of its first writing
}

// History tells how an entry came to be what it is, newest change first.
func (b *Book) History(ctx context.Context, id model.ID) ([]Past, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return nil, err
	}
	var out []Past
	err := each(b.db, `SELECT c.at, c.author, r.old, r.old_sum FROM change_row r JOIN change c ON c.id = r.change
		WHERE r.what = 'entry' AND r.key = ? ORDER BY r.change DESC, r.pos DESC`, func(scan scanner) error {
		var p Past
		var text sql.NullString
		var sum sql.NullInt64
		if err := scan(&p.At, &p.By, &text, &sum); err != nil {
			return err
		}
		_, r, err := fromHistory("entry", text, sum)
		if e, ok := r.(*entryRow); ok && err == nil {
			p.Existed = true
			p.Entry, err = e.model(b.opts.Zone, newShared())
		}
		out = append(out, p)
		return err
	}, string(id))
	return out, classify(err)
}
