package store

import (
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"quietwater/model"
)

// Removed lists the persons who carry a deletion mark: hidden, brought back by
// Undo, and still in the file until [Book.Forget].
func (b *Book) Removed(ctx context.Context) (out []model.Person, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return nil, err
	}
	err = each(b.db, `SELECT id, name, mark FROM person WHERE deleted_at IS NOT NULL
		AND id NOT IN (SELECT id FROM same_person WHERE deleted_at IS NULL) ORDER BY deleted_at`, func(scan scanner) error {
		var p model.Person
		err := scan(&p.ID, &p.Name, &p.Mark)
		out = append(out, p)
		return err
	})
	return out, classify(err)
}

// Forget removes a person for good: entries, packs, settings that name them,
// all history of them, and their pictures. Then the whole file is written anew:
// SQLite zeroes what is deleted (secure_delete), but not what it moved from one
// page to another before, and of that something would stay. It cannot be
// undone. Packs of theirs that others used become the household's. Somebody who
// was entered twice is forgotten under both identities.
//
// Not reached: their name where they typed for others (an entry's author), what
// is written of them in others' notes, and whatever lies elsewhere. Snapshots
// keep what they hold: those that still know the person are returned, for the
// caller to say so and offer [Book.DropSnapshots].
func (b *Book) Forget(ctx context.Context, person model.ID) (still []Snapshot, err error) {
	var all, pictures []string
	_, err = b.write(ctx, "", 0, func(t *tx) error {
		if all, err = t.identities(string(person)); err != nil {
			return err
		}
		for _, id := range all {
			if err := t.forget(id); err != nil {
				return err
			}
		}
		// Last: from here on a program that dies leaves them to the next start to
		// sweep away.
		pictures, err = b.hidePictures(all)
		return err
	})
	if err != nil {
		return nil, errors.Join(err, b.showPictures(all, pictures))
	}
	for _, dir := range pictures {
		err = errors.Join(err, classify(os.RemoveAll(dir)))
	}
	return b.knowing(all), errors.Join(err, b.rewrite(ctx))
}

// rewrite writes every page of the book anew, through the journal as any save.
func (b *Book) rewrite(ctx context.Context) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return err
	}
	_, err := b.db.Exec(`VACUUM`)
	return classify(err)
}

// identities are a person's own and all that were said to be the same.
func (t *tx) identities(person string) ([]string, error) {
	out := []string{person}
	for i := 0; i < len(out); i++ {
		more, err := t.keys(`SELECT id FROM same_person WHERE person = ? AND deleted_at IS NULL`, out[i])
		if err != nil {
			return nil, err
		}
		for _, id := range more {
			if !slices.Contains(out, id) {
				out = append(out, id)
			}
		}
	}
	return out, nil
}

func (t *tx) forget(id string) error {
	who, err := t.fetch(persons, id)
	if err != nil {
		return err
	}
	if who == nil {
		return fmt.Errorf("%w: person %q", ErrNotFound, id)
	}
	for _, f := range []func(string) error{t.forgetEntries, t.forgetPacks, t.forgetSettings, t.forgetMerged} {
		if err := f(id); err != nil {
			return err
		}
	}
	t.total -= sumOf(who)
	if err := t.exec(persons.remove, id); err != nil {
		return err
	}
	return t.forgetHistory(`owner = ?`, id)
}

// forgetMerged removes what a merge keeps of a person besides the entries.
func (t *tx) forgetMerged(person string) error {
	if err := t.removeAll(versions, `SELECT id FROM version WHERE owner = ?`, person); err != nil {
		return err
	}
	return t.removeAll(sames, `SELECT id FROM same_person WHERE id = ?1 OR person = ?1`, person)
}

func (t *tx) forgetEntries(person string) error {
	return t.removeAll(entries, `SELECT id FROM entry WHERE person = ?`, person)
}

// removeAll removes the rows whose keys a query gives, without recording it.
func (t *tx) removeAll(of *table, query string, args ...any) error {
	keys, err := t.keys(query, args...)
	if err != nil {
		return err
	}
	for _, k := range keys {
		r, err := t.fetch(of, k)
		if err != nil {
			return err
		}
		t.total -= sumOrZero(r)
		if err := t.exec(of.remove, k); err != nil {
			return err
		}
	}
	return nil
}

func (t *tx) keys(query string, args ...any) (out []string, err error) {
	err = t.each(query, func(scan scanner) error {
		var k string
		err := scan(&k)
		out = append(out, k)
		return err
	}, args...)
	return out, err
}

func (t *tx) forgetPacks(person string) error {
	if err := t.removeAll(packs, `SELECT id FROM pack WHERE person = ? AND id NOT IN
		(SELECT pack FROM entry WHERE pack IS NOT NULL)`, person); err != nil {
		return err
	}
	shared, err := t.keys(`SELECT id FROM pack WHERE person = ?`, person)
	if err != nil {
		return err
	}
	for _, k := range shared {
		old, err := t.fetch(packs, k)
		if err != nil {
			return err
		}
		new := copyOf(old).(*packRow)
		new.Person = ""
		if err := t.insert(packs, false, new); err != nil {
			return err
		}
		t.total += sumOf(new) - sumOf(old)
	}
	return nil
}

// forgetSettings removes the settings that carry a person's ID in their key, and
// the person's part of those that carry it in their value.
func (t *tx) forgetSettings(person string) error {
	keys, err := t.keys(`SELECT key FROM setting UNION SELECT key FROM change_row WHERE what = 'setting'`)
	if err != nil {
		return err
	}
	for _, k := range keys {
		if !slices.Contains(strings.Split(k, "/"), person) {
			if err := t.forgetIn(k, person); err != nil {
				return err
			}
			continue
		}
		if err := t.removeAll(settings, `SELECT key FROM setting WHERE key = ?`, k); err != nil {
			return err
		}
		if err := t.forgetHistory(`what = 'setting' AND key = ?`, k); err != nil {
			return err
		}
	}
	quoted := `\"` + person + `\"` // a text in a text, as the history keeps it
	if err := t.forgetHistory(`what = 'setting' AND instr(old, ?)`, quoted); err != nil {
		return err
	}
	return t.removeAll(versions, `SELECT id FROM version WHERE what = 'setting' AND (key LIKE '%/' || ?1 OR instr(json, ?2))`, person, quoted)
}

// forgetIn takes a person's part out of one setting.
func (t *tx) forgetIn(key, person string) error {
	r, err := t.fetch(settings, key)
	if err != nil || r == nil {
		return err
	}
	old := r.(*settingRow)
	value, changed := without(old.Value, person)
	switch {
	case !changed:
		return nil
	case value == "":
		return t.removeAll(settings, `SELECT key FROM setting WHERE key = ?`, key)
	}
	new := copyOf(old).(*settingRow)
	new.Value, new.Changed = value, t.at
	t.total += sumOf(new) - sumOf(old)
	return t.insert(settings, false, new)
}

// without is a setting's value without the parts that are of one person: what
// stands under their ID, and what says that it is theirs. Of a value that is not
// JSON nothing can be kept.
func without(value, person string) (left string, changed bool) {
	if !strings.Contains(value, `"`+person+`"`) {
		return value, false
	}
	var v any
	d := json.NewDecoder(strings.NewReader(value))
	d.UseNumber()
	if d.Decode(&v) != nil {
		return "", true
	}
	if v = prune(v, person); v == nil {
		return "", true
	}
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	if e.Encode(v) != nil {
		return "", true
	}
	return strings.TrimSpace(out.String()), true
}

// prune gives nil for a value that is a person's, or holds one that says so
// outside of any list.
func prune(v any, person string) any {
	switch v := v.(type) {
	case string:
		if v == person {
			return nil
		}
	case map[string]any:
		delete(v, person)
		for k, of := range v {
			if of == nil {
				continue
			}
			if v[k] = prune(of, person); v[k] == nil {
				return nil
			}
		}
	case []any:
		return slices.DeleteFunc(v, func(of any) bool { return of != nil && prune(of, person) == nil })
	}
	return v
}

// forgetHistory removes change rows; a change that lost some can no longer be
// undone as a whole, so not at all.
func (t *tx) forgetHistory(which, arg string) error {
	if err := t.exec(`UPDATE change SET state = ? WHERE id IN (SELECT change FROM change_row WHERE `+which+`)`, forgotten, arg); err != nil {
		return err
	}
	if err := t.exec(`DELETE FROM change_row WHERE `+which, arg); err != nil {
		return err
	}
	return t.exec(`DELETE FROM change WHERE id NOT IN (SELECT change FROM change_row)`)
}

// Knowing lists the snapshots, and the books set aside beside this one, that
// hold a person, newest first; one that cannot be read is among them (Err), since
// nobody can tell.
func (b *Book) Knowing(ctx context.Context, person model.ID) (out []Snapshot, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return nil, err
	}
	err = inTx(ctx, b.db, func(s *sql.Tx) error {
		t := &tx{Tx: s, prepared: map[string]*sql.Stmt{}}
		ids, err := t.identities(string(person))
		out = b.knowing(ids)
		return err
	})
	return out, classify(err)
}

func (b *Book) knowing(ids []string) (out []Snapshot) {
	all, _ := Snapshots(b.opts.Path)
	for _, s := range append(all, setAside(b.opts.Path)...) {
		if s.Err != nil || s.knows(ids) {
			out = append(out, s)
		}
	}
	return out
}

// knows reports one of some people.
func (s *Snapshot) knows(ids []string) (one bool) {
	db := openDB(s.Path, true, safe)
	defer db.Close()
	s.Err = classify(each(db, `SELECT id FROM person`, func(scan scanner) error {
		var id string
		err := scan(&id)
		one = one || slices.Contains(ids, id)
		return err
	}))
	return one || s.Err != nil
}

// setAside lists the books that a repair or a restored backup put aside.
func setAside(path string) (out []Snapshot) {
	ext := filepath.Ext(path)
	for _, why := range []string{asDamaged, asReplaced} {
		all, _ := filepath.Glob(globQuote(strings.TrimSuffix(path, ext)) + "-" + why + "-[0-9]*" + globQuote(ext))
		for _, f := range all {
			if st, err := os.Stat(f); err == nil && st.Mode().IsRegular() {
				s := Snapshot{Path: f, Time: st.ModTime().UTC()}
				s.look()
				out = append(out, s)
			}
		}
	}
	slices.SortFunc(out, func(a, b Snapshot) int { return cmp.Or(b.Time.Compare(a.Time), cmp.Compare(a.Path, b.Path)) })
	return out
}

// DropSnapshots deletes snapshots and books that were set aside, for a household
// that wants a person forgotten there too. Before, it makes a snapshot of now:
// nobody is left without any. It goes on after an error and returns the first.
func (b *Book) DropSnapshots(ctx context.Context, list []Snapshot) error {
	if len(list) == 0 {
		return nil
	}
	if _, err := b.Snapshot(ctx); err != nil {
		return err
	}
	var first error
	for _, s := range list {
		for _, f := range append(companions(s.Path), s.Path) {
			if err := os.Remove(f); err != nil && exists(f) && first == nil {
				first = classify(err)
			}
		}
	}
	return first
}
