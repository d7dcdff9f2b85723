package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"quietwater/model"
)

// Forget removes a person for good: entries, packs, settings that carry their
// ID, all history of them, and their pictures; the freed space in the file is overwritten.
// It cannot be undone. Packs of theirs that others used become the
// household's. Somebody who was entered twice is forgotten under both identities.
// Snapshots keep what they hold: those that still know the
// person are returned, for the caller to say so and offer [DropSnapshots].
func (b *Book) Forget(ctx context.Context, person model.ID) (still []Snapshot, err error) {
	var all []string
	_, err = b.write(ctx, "", 0, func(t *tx) error {
		if all, err = t.identities(string(person)); err != nil {
			return err
		}
		for _, id := range all {
			if err := t.forget(id); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, id := range all {
		still = append(still, b.knowing(id)...)
		err = errors.Join(err, b.forgetPictures(model.ID(id)))
	}
	slices.SortFunc(still, func(a, b Snapshot) int { return cmp.Or(b.Time.Compare(a.Time), cmp.Compare(a.Path, b.Path)) })
	return slices.CompactFunc(still, func(a, b Snapshot) bool { return a.Path == b.Path }), err
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

func (t *tx) forgetSettings(person string) error {
	keys, err := t.keys(`SELECT key FROM setting UNION SELECT key FROM change_row WHERE what = 'setting'`)
	if err != nil {
		return err
	}
	for _, k := range keys {
		if !slices.Contains(strings.Split(k, "/"), person) {
			continue
		}
		if err := t.removeAll(settings, `SELECT key FROM setting WHERE key = ?`, k); err != nil {
			return err
		}
		if err := t.forgetHistory(`what = 'setting' AND key = ?`, k); err != nil {
			return err
		}
	}
	return nil
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

// knowing lists the snapshots that hold a person; one that cannot be read is
// among them, since nobody can tell.
func (b *Book) knowing(person string) (out []Snapshot) {
	all, _ := Snapshots(b.opts.Path)
	for _, s := range all {
		db := openDB(s.Path, true, safe)
		var n int
		err := db.QueryRow(`SELECT count(*) FROM person WHERE id = ?`, person).Scan(&n)
		db.Close()
		if err != nil || n > 0 {
			out = append(out, s)
		}
	}
	return out
}

// DropSnapshots deletes snapshots, for a household that wants a person
// forgotten there too. It goes on after an error and returns the first.
func DropSnapshots(list []Snapshot) error {
	var first error
	for _, s := range list {
		if err := os.Remove(s.Path); err != nil && first == nil {
			first = classify(err)
		}
	}
	return first
}
