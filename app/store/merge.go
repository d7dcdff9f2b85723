package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/merge"
)

// Another is another copy of the book to take in: a file, and the folder of
// its pictures. Neither is changed, and no file is made beside them.
type Another struct {
	Path string
	// Pictures is the folder of its pictures; "" takes the one beside it.
	Pictures string
	// Own reports the settings that belong to a computer and stay its own;
	// drafts always do.
	Own func(setting string) bool
	// Same are persons who were entered under two identities.
	Same []Pair
}

// Pair is one person under two identities.
type Pair [2]model.ID

// What can be wrong with another copy, besides what can be wrong with any
// file; for errors.Is.
var (
	// ErrOther: the trouble is with the other copy. This book is as it was.
	ErrOther = errors.New("the other copy cannot be taken in")
	// ErrItself: it is this very file.
	ErrItself = errors.New("it is the book that is open")
)

// Compare tells what [Book.Merge] would bring, and changes nothing.
func (b *Book) Compare(ctx context.Context, from Another) (merge.Coming, error) {
	other, err := b.readOther(ctx, from)
	if err != nil {
		return merge.Coming{}, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return merge.Coming{}, err
	}
	tx, err := b.db.Begin()
	if err != nil {
		return merge.Coming{}, classify(err)
	}
	defer tx.Rollback()
	p, err := b.plan(tx, other, from)
	if err != nil {
		return merge.Coming{}, err
	}
	p.coming.Pictures, p.coming.Unsound, err = b.picturesFrom(ctx, from, other.recs, false)
	return p.coming, err
}

// errNothing ends a merge that has nothing to save.
var errNothing = errors.New("nothing to merge")

// Merge takes another copy of the book into this one: every record that one of
// the two knows, each as package merge decides, in one change that [Book.Undo]
// takes back. Merging twice is merging once, and the order of copies does not
// matter. Of a record that was changed in both, the later version stands; the
// other is kept until [Book.Choose]. The token is 0 when nothing was new.
//
// An error that is ErrOther speaks of the other copy; any other one is an
// ErrNotSaved. Pictures are copied first: should the program die in between,
// some lie there whose entries come with the next try.
func (b *Book) Merge(ctx context.Context, author string, from Another) (Token, merge.Coming, error) {
	other, err := b.readOther(ctx, from)
	if err != nil {
		return 0, merge.Coming{}, err
	}
	if b.ReadOnlyReason != nil {
		return 0, merge.Coming{}, notSaved(fmt.Errorf("%w: %w", ErrReadOnly, b.ReadOnlyReason))
	}
	copied, unsound, err := b.picturesFrom(ctx, from, other.recs, true)
	if err != nil {
		return 0, merge.Coming{}, notSaved(err)
	}
	var coming merge.Coming
	token, err := b.write(ctx, author, 0, func(t *tx) error {
		t.merged = true
		p, err := b.plan(t, other, from)
		if err != nil {
			return err
		}
		coming = p.coming
		if err := t.carryOut(p.steps); err != nil {
			return err
		}
		for _, pair := range from.Same {
			if err := t.makeSame(pair); err != nil {
				return err
			}
		}
		if t.id == 0 {
			return errNothing
		}
		return nil
	})
	coming.Pictures, coming.Unsound = copied, unsound
	if errors.Is(err, errNothing) {
		return 0, coming, nil
	}
	return token, coming, err
}

// readOther reads and checks another copy, all of it, from a private copy of
// the file: it may lie on a stick that is pulled out, and what SQLite makes of
// a file nobody knows happens away from it.
func (b *Book) readOther(ctx context.Context, from Another) (*side, error) {
	s, err := b.readPrivately(ctx, from)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrOther, classify(err))
	}
	return s, nil
}

func (b *Book) readPrivately(ctx context.Context, from Another) (*side, error) {
	path, err := filepath.Abs(from.Path)
	if err != nil {
		return nil, err
	}
	st, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if ours, err := os.Stat(b.opts.Path); err == nil && os.SameFile(ours, st) {
		return nil, ErrItself
	}
	if !st.Mode().IsRegular() {
		return nil, ErrNotABook
	}
	o := b.opts
	if b.ReadOnlyReason == nil {
		o.copiesFor = o.Path
	}
	outer := &Book{opts: o}
	outer.opts.Path = path
	defer outer.release()
	copied, err := outer.privateCopy()
	if err != nil {
		return nil, err
	}
	inner := &Book{opts: o}
	inner.opts.Path = copied
	defer inner.release()
	if version, err := inner.connectForReading(ctx); err != nil {
		return nil, err
	} else if version > len(b.opts.steps) {
		return nil, ErrNewer
	}
	rep, recs, err := examine(ctx, inner.db, b.opts.steps)
	if err != nil {
		return nil, err
	}
	if !rep.OK() {
		return nil, &Trouble{Path: path, Err: ErrDamaged, Flaws: rep.Flaws}
	}
	s, err := readSide(inner.db, recs, from.Own)
	if err != nil {
		return nil, err
	}
	return s, s.sound(b.opts.Zone)
}

// stampForm is how times are written in a book; they are compared as text.
const stampForm = "2006-01-02T15:04:05.000Z"

// sound refuses rows that this book could not give back. Checksums tell that a
// row is as somebody wrote it, not that a book can hold it.
func (s *side) sound(zone *time.Location) error {
	for at, h := range s.held {
		for _, r := range h.heads {
			err := fits(r)
			for _, text := range []string{r.stamps().Created, r.stamps().Changed, string(r.stamps().Deleted)} {
				if _, bad := time.Parse(stampForm, text); bad != nil && (text != "" || r.stamps().Changed == "") {
					err = errors.Join(err, bad)
				}
			}
			switch r := r.(type) {
			case *entryRow:
				_, bad := r.model(zone, newShared())
				err = errors.Join(err, bad)
			case *packRow:
				_, bad := r.model(zone)
				err = errors.Join(err, bad)
			}
			if err != nil {
				return fmt.Errorf("%w: %s %q: %w", ErrDamaged, at.table.name, at.key, err)
			}
		}
	}
	return nil
}

// step is what a merge does to one record.
type mergeStep struct {
	ref
	old, new   row // new is nil where the row stays as it is
	keep, drop []row
	learn      []int64
}

func (m mergeStep) nothing() bool { return m.new == nil && len(m.keep)+len(m.drop)+len(m.learn) == 0 }

// mergePlan is all that a merge does, and what it brings in words.
type mergePlan struct {
	steps  []mergeStep
	coming merge.Coming
}

// plan holds the two copies against each other.
func (b *Book) plan(q querier, other *side, from Another) (*mergePlan, error) {
	rep, recs, err := rowsIn(q, nil)
	if err != nil {
		return nil, classify(err)
	}
	if !rep.OK() {
		return nil, &Trouble{Path: b.opts.Path, Err: ErrDamaged, Flaws: rep.Flaws}
	}
	ours, err := readSide(q, recs, from.Own)
	if err != nil {
		return nil, err
	}
	p := &mergePlan{}
	for _, at := range other.refs() {
		if s := stepFor(at, ours.at(at), other.at(at)); !s.nothing() {
			p.steps = append(p.steps, s)
		}
	}
	after := recs.after(p.steps)
	for _, pair := range from.Same {
		after.sames = append(after.sames, sameAs(after, pair)...)
	}
	return p, p.tell(recs, after, b.opts)
}

// sameAs is what makeSame will write, as far as it counts for what is told.
func sameAs(r *records, p Pair) (out []*sameRow) {
	var who []*personRow
	for _, x := range r.persons {
		if x.ID == string(p[0]) || x.ID == string(p[1]) {
			who = append(who, x)
		}
	}
	if len(who) == 2 {
		first, second := inOrder(who[0], who[1])
		out = append(out, &sameRow{ID: second.ID, Person: first.ID})
	}
	return out
}

// stepFor is what becomes of one record.
func stepFor(at ref, a, b *holding) mergeStep {
	s := mergeStep{ref: at, old: a.row}
	if len(a.heads) == 1 && len(b.heads) == 1 && len(b.past) == 0 && sumOf(a.heads[0]) == sumOf(b.heads[0]) && a.row != nil {
		return s // nearly always
	}
	rows := map[int64]row{}
	for _, r := range slices.Concat(b.heads, a.heads) {
		rows[sumOf(r)] = r
	}
	known, joined := a.record(), merge.Join(a.record(), b.record())
	stands, _ := joined.Stands()
	if a.row == nil || stands.Sum != a.standing() {
		s.new = copyOf(rows[stands.Sum])
	}
	kept := map[int64]bool{}
	for _, v := range joined.Heads[1:] {
		if kept[v.Sum] = true; a.versions[v.Sum] == nil {
			s.keep = append(s.keep, newVersion(rows[v.Sum]))
		}
	}
	for sum, v := range a.versions {
		if !kept[sum] {
			s.drop = append(s.drop, v)
		}
	}
	slices.SortFunc(s.drop, byKey)
	for sum := range joined.Past {
		if !known.Past[sum] {
			s.learn = append(s.learn, sum)
		}
	}
	slices.Sort(s.learn)
	return s
}

func (t *tx) carryOut(steps []mergeStep) error {
	for _, s := range steps {
		if s.new != nil {
			if err := t.replace(s.table, s.key, s.old, s.new); err != nil {
				return err
			}
		}
		for _, v := range s.keep {
			if err := t.replace(versions, v.key(), nil, v); err != nil {
				return err
			}
		}
		for _, v := range s.drop {
			if err := t.replace(versions, v.key(), v, nil); err != nil {
				return err
			}
		}
		owner := ""
		if r := s.standing(); r != nil {
			owner = r.owner()
		}
		for _, sum := range s.learn {
			if err := t.learn(s.ref, owner, sum); err != nil {
				return err
			}
		}
	}
	return nil
}

// standing is the row as it is afterwards.
func (m mergeStep) standing() row {
	if m.new != nil {
		return m.new
	}
	return m.old
}

// learn keeps in the history that a version of a record is older than what
// stands.
func (t *tx) learn(at ref, owner string, sum int64) error {
	if t.id == 0 {
		if err := t.begin(); err != nil {
			return err
		}
	}
	t.pos++
	return t.exec(`INSERT INTO change_row VALUES(?, ?, ?, ?, ?, NULL, NULL, ?)`, t.id, t.pos, pastRows, at.String(), owner, sum)
}

// makeSame puts all of one person's two identities under the one that was
// entered first, whichever copy is merged into which.
func (t *tx) makeSame(p Pair) error {
	var who [2]*personRow
	for i, id := range p {
		found, err := t.fetch(persons, string(id))
		if err != nil {
			return err
		}
		r, ok := found.(*personRow)
		if !ok {
			return fmt.Errorf("%w: person %q", ErrNotFound, id)
		}
		who[i] = r
	}
	first, second := inOrder(who[0], who[1])
	if first.ID == second.ID {
		return nil
	}
	old, err := t.fetch(sames, second.ID)
	if err != nil {
		return err
	}
	new := &sameRow{ID: second.ID, Person: first.ID, stamp: stamp{Created: t.at, Changed: t.at}}
	if o, ok := old.(*sameRow); ok {
		if o.Person == first.ID && o.Deleted == "" {
			return nil
		}
		new.Created = o.Created
		if err := t.learn(ref{sames, second.ID}, second.ID, sumOf(o)); err != nil {
			return err
		}
	}
	return t.replace(sames, second.ID, old, new)
}

// inOrder puts the identity that was entered first first.
func inOrder(a, b *personRow) (first, second *personRow) {
	if a.Created > b.Created || a.Created == b.Created && a.ID > b.ID {
		return b, a
	}
	return a, b
}

// Choose makes one form of a record that stands in two the only one; Undo
// takes it back. Form is the sum of what is chosen. ErrNotFound: nothing is to
// be chosen there any more.
func (b *Book) Choose(ctx context.Context, author string, what merge.What, key string, form int64) (Token, error) {
	return b.write(ctx, author, 0, func(t *tx) error {
		of, ok := tableNamed(string(what))
		if !ok {
			return fmt.Errorf("%w: %q", ErrNotFound, what)
		}
		now, err := t.fetch(of, key)
		if err != nil {
			return err
		}
		ids, err := t.keys(`SELECT id FROM version WHERE what = ? AND key = ?`, of.name, key)
		if err != nil {
			return err
		}
		if now == nil || len(ids) == 0 {
			return fmt.Errorf("%w: two forms of %s %q", ErrNotFound, what, key)
		}
		chosen := sumOf(now) == form
		for _, id := range ids {
			kept, err := t.fetch(versions, id)
			if err != nil {
				return err
			}
			v := kept.(*versionRow)
			r, err := v.decode()
			if err != nil {
				return err
			}
			if sumOf(r) == form {
				chosen = true
				if err := t.stand(of, key, now, copyOf(r)); err != nil {
					return err
				}
			}
			if err := t.replace(versions, id, v, nil); err != nil {
				return err
			}
			if err := t.learn(ref{of, key}, v.Owner, sumOf(r)); err != nil {
				return err
			}
		}
		if !chosen {
			return fmt.Errorf("%w: that form of %s %q", ErrNotFound, what, key)
		}
		return nil
	})
}

// stand writes a form of a record as the newest.
func (t *tx) stand(of *table, key string, now, r row) error {
	r.stamps().Changed, r.stamps().Deleted = t.at, ""
	return t.replace(of, key, now, r)
}
