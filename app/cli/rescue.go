package cli

import (
	"context"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/i18n"
	"quietwater/model"
)

// rescueJSON is what can be done about a book: what of it can still be read, and
// which safe copies are whole, the newest first.
type rescueJSON struct {
	Book     string         `json:"book"`
	Whole    bool           `json:"whole"`
	Readable *readableJSON  `json:"readable"` // null when nothing of it can be read
	Copies   []safeCopyJSON `json:"copies"`
	// Done, what was asked for:
	WentOnFrom string `json:"went-on-from,omitempty"` // the copy that is the book now
	KeptAs     string `json:"kept-as,omitempty"`      // the damaged book
	Salvaged   string `json:"salvaged,omitempty"`     // the new book
	StandIns   int    `json:"stand-ins,omitempty"`    // persons in it who had to be given a name
}

type readableJSON struct {
	Persons int `json:"persons"`
	Entries int `json:"entries"`
}

type safeCopyJSON struct {
	Path    string `json:"path"`
	When    string `json:"when"`
	Whole   bool   `json:"whole"`
	Persons int    `json:"persons"`
	Entries int    `json:"entries"`
	// Lacks is how many entries can still be read in the book and are not in this
	// copy.
	Lacks int `json:"lacks"`
}

// rescue is for a helper beside somebody whose book does not open, or on the
// telephone with them. Without a flag it only looks.
func rescue(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "rescue", "rescue --book FILE [--go-on] [--salvage NEW]")
	path := c.String("book", w.DefaultBook, "book `FILE` that does not open; without it the household's")
	goOn := c.Bool("go-on", false, "let the newest whole safe copy take its place; both are kept")
	to := c.String("salvage", "", "write what can still be read into a book `NEW`, to merge")
	lang := c.String("lang", "", "language `TAG` of the reasons, as es")
	if code, done := c.parse(args); done {
		return code
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	abs, err := filepath.Abs(*path)
	if err != nil {
		return c.refuse("%v", err)
	}
	r := &rescued{command: c, words: words, answer: rescueJSON{Book: abs, Copies: []safeCopyJSON{}}}
	if err := r.look(ctx); err != nil {
		return c.noBook(words, *path, err)
	}
	if *to != "" { // before the copy takes its place
		if err := r.salvage(ctx, *to); err != nil {
			return c.refuse("%s", words.T(session.Tell(err)))
		}
	}
	if *goOn {
		if code := r.goOn(ctx); code != OK {
			return code
		}
	}
	return max(r.code(), c.print(r.answer))
}

type rescued struct {
	*command
	words  *i18n.Pair
	answer rescueJSON
	read   model.Book // what can still be read
	extras store.Extras
	best   model.Book // of the newest whole copy
}

// look reads what can be read of the book and of its copies. An error says that
// there is neither.
func (r *rescued) look(ctx context.Context) error {
	book, extras, rep, err := store.Salvage(ctx, r.options(r.answer.Book, true))
	r.read, r.extras, r.answer.Whole = book, extras, err == nil && rep.OK()
	if len(book.Persons)+len(book.Entries) > 0 || r.answer.Whole {
		r.answer.Readable = &readableJSON{len(book.Persons), len(book.Entries)}
	}
	copies := store.StandIns(r.answer.Book, r.w.Now())
	if errors.Is(err, fs.ErrNotExist) && len(copies) == 0 {
		return err
	}
	for _, s := range copies {
		r.answer.Copies = append(r.answer.Copies, r.copied(ctx, s))
	}
	return nil
}

func (r *rescued) copied(ctx context.Context, s store.Snapshot) safeCopyJSON {
	j := safeCopyJSON{Path: s.Path, When: s.Time.Format(time.RFC3339), Persons: s.Persons, Entries: s.Entries}
	has, _, rep, err := store.Salvage(ctx, r.options(s.Path, true))
	if j.Whole = err == nil && rep.OK(); j.Whole && r.best.Persons == nil {
		r.best = has
	}
	known := map[model.ID]bool{}
	for _, e := range has.Entries {
		known[e.ID] = true
	}
	for _, e := range r.read.Entries {
		if !known[e.ID] {
			j.Lacks++
		}
	}
	return j
}

// newest is the newest whole copy, nil for none.
func (r *rescued) newest() *safeCopyJSON {
	if i := slices.IndexFunc(r.answer.Copies, func(c safeCopyJSON) bool { return c.Whole }); i >= 0 {
		return &r.answer.Copies[i]
	}
	return nil
}

func (r *rescued) goOn(ctx context.Context) int {
	if r.answer.Whole {
		return r.refuse("the book is whole; nothing was changed")
	}
	from := r.newest()
	if from == nil {
		return r.refuse("no safe copy is whole; nothing was changed")
	}
	was, err := store.GoOnFrom(ctx, from.Path, r.answer.Book)
	if err != nil {
		return r.refuse("%s", r.words.T(session.Tell(err)))
	}
	r.answer.WentOnFrom, r.answer.KeptAs = from.Path, was
	return OK
}

// salvage writes what can still be read into a new book. A person whose own
// record is lost keeps their entries: the name comes from the newest whole copy,
// or is a question mark.
func (r *rescued) salvage(ctx context.Context, to string) error {
	if _, err := os.Lstat(to); err == nil {
		return store.ErrExists
	}
	if r.answer.Readable == nil {
		return store.ErrDamaged
	}
	b, err := store.Open(ctx, r.options(to, false))
	if err != nil {
		return err
	}
	if _, err = b.Put(ctx, "", r.changes()); err != nil {
		return errors.Join(err, b.Close(ctx))
	}
	r.answer.Salvaged, err = filepath.Abs(to)
	return errors.Join(err, b.Close(ctx))
}

func (r *rescued) changes() (out []store.Change) {
	persons, packs := map[model.ID]bool{"": true}, map[model.ID]bool{"": true}
	for _, p := range r.read.Persons {
		persons[p.ID] = true
		out = append(out, store.SavePerson(p))
	}
	person := func(id model.ID) {
		if persons[id] {
			return
		}
		persons[id] = true
		p := model.Person{ID: id, Name: "?"}
		if i := slices.IndexFunc(r.best.Persons, func(p model.Person) bool { return p.ID == id }); i >= 0 {
			p = r.best.Persons[i]
		}
		r.answer.StandIns++
		out = append(out, store.SavePerson(p))
	}
	for _, p := range r.read.Packs {
		packs[p.ID] = true
		person(p.Person)
		out = append(out, store.SavePack(p))
	}
	for _, e := range r.read.Entries {
		person(e.Person)
		if !packs[e.Pack] {
			if i := slices.IndexFunc(r.best.Packs, func(p model.Pack) bool { return p.ID == e.Pack }); i >= 0 {
				packs[e.Pack] = true
				person(r.best.Packs[i].Person)
				out = append(out, store.SavePack(r.best.Packs[i]))
			} else {
				e.Pack = ""
			}
		}
		out = append(out, store.SaveEntry(e))
	}
	for _, k := range r.extras.Kinds {
		out = append(out, store.SaveKind(k))
	}
	for _, key := range slices.Sorted(maps.Keys(r.extras.Settings)) {
		out = append(out, store.Set(key, r.extras.Settings[key]))
	}
	return out
}

// code says what a helper may do next.
func (r *rescued) code() int {
	a := r.answer
	switch from := r.newest(); {
	case a.Whole || a.WentOnFrom != "" || a.Salvaged != "":
		return OK
	case from != nil && from.Lacks > 0:
		r.wrong("The newest whole safe copy is of %s and lacks %d entries that can still be read in the book. --salvage NEW --go-on saves both; then quietwater merge --from NEW.", from.When, from.Lacks)
	case from != nil:
		r.wrong("The newest whole safe copy is of %s and lacks nothing that can still be read. --go-on puts it in the book's place.", from.When)
	case a.Readable != nil:
		r.wrong("No safe copy is whole, but %d entries of the book can be read. --salvage NEW writes them into a new book.", a.Readable.Entries)
	default:
		return r.refuse("nothing of the book can be read and no safe copy is whole; look for a backup, and restore it")
	}
	return OK
}
