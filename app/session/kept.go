package session

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"time"

	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/strip"
)

// Kept is the Keeper over a book on disk.
type Kept struct{ book *store.Book }

// NewKept keeps records in an open book.
func NewKept(b *store.Book) *Kept { return &Kept{b} }

// draftKeys are where the store keeps what is unfinished, and whose page is open:
// not for undo, so that a test just begun never stands in the way of taking the
// last one back.
var draftKeys = map[string]string{household.SetDraft: store.DraftPrefix + "strip", household.SetSheets: store.DraftPrefix + "sheet", household.SetShown: store.DraftPrefix + "shown"}

// Load reads the live records.
func (k *Kept) Load(ctx context.Context) (household.Records, error) {
	book, extras, err := k.book.Load(ctx)
	if err != nil {
		return household.Records{}, told(err)
	}
	return RecordsOf(book, extras), nil
}

// RecordsOf are the records of what was read from a book. A strip kind this
// version cannot read stays in the book and is left out.
func RecordsOf(book model.Book, extras store.Extras) household.Records {
	r := household.Records{Book: book, Settings: extras.Settings, Twofold: Asked(extras.Twofold)}
	for ours, theirs := range draftKeys {
		if d, begun := r.Settings[theirs]; begun {
			delete(r.Settings, theirs)
			r.Settings[ours] = d
		}
	}
	for _, raw := range extras.Kinds {
		if kind, err := strip.ReadKind(strings.NewReader(raw.JSON)); err == nil {
			r.OwnKinds = append(r.OwnKinds, kind)
		}
	}
	return r
}

// Asked are the records somebody is asked to choose a form of. Of settings
// only the telephone numbers: of the others the newest stands.
func Asked(all []merge.Twofold) []merge.Twofold {
	return slices.DeleteFunc(all, func(t merge.Twofold) bool {
		_, _, number := household.NumberSort(t.Key)
		return t.What == merge.Setting && !number
	})
}

// Compare holds the book against another copy of it.
func (k *Kept) Compare(ctx context.Context, path string) (merge.Coming, error) {
	c, err := k.book.Compare(ctx, store.Another{Path: path, Own: household.OfComputer})
	c.Twofold = Asked(c.Twofold)
	return c, told(err)
}

// Merge takes the other copy in.
func (k *Kept) Merge(ctx context.Context, author, path string, same [][2]model.ID) (merge.Coming, error) {
	from := store.Another{Path: path, Own: household.OfComputer}
	for _, pair := range same {
		from.Same = append(from.Same, store.Pair(pair))
	}
	_, c, err := k.book.Merge(ctx, author, from)
	c.Twofold = Asked(c.Twofold)
	return c, told(err)
}

// Choose makes one form of a record the only one.
func (k *Kept) Choose(ctx context.Context, author string, of merge.Twofold, form int64) error {
	_, err := k.book.Choose(ctx, author, of.What, of.Key, form)
	return told(err)
}

// Removed lists who carries a deletion mark.
func (k *Kept) Removed(ctx context.Context) ([]model.Person, error) {
	out, err := k.book.Removed(ctx)
	return out, told(err)
}

// Knowing lists the safe copies that hold a person.
func (k *Kept) Knowing(ctx context.Context, person model.ID) ([]Copy, error) {
	out, err := k.book.Knowing(ctx, person)
	return out, told(err)
}

// Forget removes a person from the file, and the copies that know them.
func (k *Kept) Forget(ctx context.Context, person model.ID, copies bool) error {
	still, err := k.book.Forget(ctx, person)
	if err == nil && copies {
		err = k.book.DropSnapshots(ctx, still)
	}
	return told(err)
}

// Save puts all changes into one transaction.
func (k *Kept) Save(ctx context.Context, author string, c household.Changes) error {
	changes, err := list(c)
	if err != nil {
		return told(err)
	}
	_, err = k.book.Put(ctx, author, changes)
	return told(err)
}

func list(c household.Changes) ([]store.Change, error) {
	var out []store.Change
	for _, p := range c.Persons {
		out = append(out, store.SavePerson(p))
	}
	for _, kind := range c.Kinds {
		b, err := kind.Bytes()
		if err != nil {
			return nil, fmt.Errorf("writing strip kind %s: %w", kind.ID, err)
		}
		out = append(out, store.SaveKind(store.RawKind{ID: kind.ID, JSON: string(b)}))
	}
	for _, p := range c.Packs {
		out = append(out, store.SavePack(p))
	}
	for _, e := range c.Entries {
		out = append(out, store.SaveEntry(e))
	}
	for _, key := range slices.Sorted(maps.Keys(c.Settings)) {
		v := c.Settings[key]
		if theirs, draft := draftKeys[key]; draft {
			key = theirs
		}
		if v != "" {
			out = append(out, store.Set(key, v))
		} else {
			out = append(out, store.Unset(key))
		}
	}
	for _, id := range c.RemoveEntries {
		out = append(out, store.DeleteEntry(id))
	}
	for _, id := range c.RemovePacks {
		out = append(out, store.DeletePack(id))
	}
	for _, id := range c.RemoveKinds {
		out = append(out, store.DeleteKind(id))
	}
	for _, id := range c.RemovePersons {
		out = append(out, store.DeletePerson(id))
	}
	return out, nil
}

// Undo takes the newest change that still stands back.
func (k *Kept) Undo(ctx context.Context) (bool, error) {
	last, err := k.book.LastUndo(ctx)
	if err != nil || last.Token == 0 {
		return false, told(err)
	}
	_, err = k.book.Undo(ctx, last.Author, last.Token)
	return err == nil, told(err)
}

// Last tells what that change is.
func (k *Kept) Last(ctx context.Context) (household.Last, bool, error) {
	last, err := k.book.LastUndo(ctx)
	if err != nil || last.Token == 0 {
		return household.Last{}, false, told(err)
	}
	at, _ := time.Parse(time.RFC3339, last.At)
	out := household.Last{At: at, Author: last.Author, Records: last.Records, Entries: last.Entries}
	for _, n := range last.Named {
		told := household.Named{What: n.What, Name: n.Says, Gone: n.Gone}
		if n.What == "strip_kind" {
			kind, err := strip.ReadKind(strings.NewReader(n.Says))
			if err != nil { // of a later version: it is counted, and has no name here
				continue
			}
			told.What, told.Name = household.NamedKind, kind.Name
		}
		out.Named = append(out.Named, told)
	}
	return out, true, nil
}

// Path is where the book lies.
func (k *Kept) Path() string { return k.book.Path() }

// Snapshot copies the book beside itself.
func (k *Kept) Snapshot(ctx context.Context) (string, error) {
	s, err := k.book.Snapshot(ctx)
	return s.Path, told(err)
}

// KeepPicture keeps a picture with an entry.
func (k *Kept) KeepPicture(of PictureOf, content []byte) error {
	return told(k.book.KeepPicture(of, content))
}

// Picture gives it back.
func (k *Kept) Picture(of PictureOf) ([]byte, string, error) {
	content, path, err := k.book.Picture(of)
	return content, path, told(err)
}

// Close makes a last snapshot if anything changed and lets the book go.
func (k *Kept) Close(ctx context.Context) error { return told(k.book.Close(ctx)) }

// failure is a store error that speaks to the reader.
type failure struct {
	error
	say model.Msg
}

func (f failure) Tell() model.Msg { return f.say }
func (f failure) Unwrap() error   { return f.error }

// words lists what each error of the store means to a person, the more telling
// first.
var words = []struct {
	err error
	key string
}{
	{store.ErrDiskFull, "trouble.disk-full"},
	{store.ErrInUse, "trouble.in-use"},
	{store.ErrNewer, "trouble.newer"},
	{store.ErrMissing, "trouble.missing"},
	{store.ErrDamaged, "trouble.damaged"},
	{store.ErrNotABook, "trouble.not-a-book"},
	{store.ErrReadOnly, "trouble.read-only"},
	{store.ErrOverwritten, "trouble.overwritten"},
	{store.ErrNotFound, "trouble.not-found"},
	{store.ErrInvalid, "trouble.invalid"},
	{store.ErrExists, "trouble.exists"},
	{store.ErrNoSnapshot, "trouble.no-snapshot"},
	{store.ErrNotSaved, "trouble.not-saved"},
}

// otherWords lists what is said of another copy that cannot be taken in.
var otherWords = []struct {
	err error
	key string
}{
	{store.ErrItself, "merge.itself"},
	{store.ErrNewer, "merge.newer"},
	{store.ErrDamaged, "merge.damaged"},
	{store.ErrNotABook, "merge.not-a-book"},
	{fs.ErrNotExist, "merge.no-file"},
	{store.ErrDiskFull, "trouble.disk-full"},
}

// Tell says what an error of the store means to a person.
func Tell(err error) model.Msg {
	if errors.Is(err, store.ErrOther) {
		for _, w := range otherWords {
			if errors.Is(err, w.err) {
				return model.T(w.key)
			}
		}
		return model.T("merge.unreadable", "detail", err.Error())
	}
	for _, w := range words {
		if errors.Is(err, w.err) {
			return model.T(w.key)
		}
	}
	return model.T("trouble.other", "detail", err.Error())
}

func told(err error) error {
	if err == nil {
		return nil
	}
	return failure{err, Tell(err)}
}
