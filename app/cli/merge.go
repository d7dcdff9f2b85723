package cli

import (
	"context"
	"os"
	"slices"
	"time"

	"quietwater/app/backup"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
)

type mergeJSON struct {
	Saved        bool           `json:"saved"`
	Added        int            `json:"added"`
	Changed      int            `json:"changed"`
	Deleted      int            `json:"deleted"`
	Kept         int            `json:"kept"`
	Settings     int            `json:"settings"`
	Pictures     int            `json:"pictures"`
	Unsound      int            `json:"pictures-unsound"`
	NewConflicts int            `json:"new-conflicts"`
	Persons      []broughtJSON  `json:"persons"`
	Conflicts    []conflictJSON `json:"conflicts"`
	Same         []sameJSON     `json:"same"`
	Refused      *string        `json:"refused"`
}

type broughtJSON struct {
	Person  string `json:"person"`
	New     bool   `json:"new"`
	Added   int    `json:"added"`
	Changed int    `json:"changed"`
	Deleted int    `json:"deleted"`
}

// conflictJSON is a record in all its forms, as rows of the plain table; the
// first stands.
type conflictJSON struct {
	What  string     `json:"what"`
	ID    string     `json:"id"`
	Forms []formJSON `json:"forms"`
}

type formJSON struct {
	Changed string    `json:"changed"`
	Author  string    `json:"author,omitempty"`
	Rows    []formRow `json:"rows,omitempty"`
	Text    string    `json:"text,omitempty"`
}

type formRow struct {
	When  string `json:"when"`
	Kind  string `json:"kind"`
	What  string `json:"what"`
	Value string `json:"value"`
	Unit  string `json:"unit"`
	Note  string `json:"note"`
}

// sameJSON are two persons who may be one; the first was entered first.
type sameJSON struct {
	Person     string    `json:"person"`
	IDs        [2]string `json:"ids"`
	BirthDates [2]string `json:"birth-dates"`
	Taken      bool      `json:"taken-as-one"`
}

func mergeCopy(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "merge", "merge --from OTHER --book FILE [--same NAME] [--dry-run] --json")
	from := c.String("from", "", "the other copy, a `FILE` or a backup; it is not changed")
	pass := c.String("passphrase-file", "", "of a backup: "+passphraseUse)
	pictures := c.String("pictures", "", "the folder `DIR` of its pictures; without it the one beside it")
	path := c.String("book", w.DefaultBook, "book `FILE` to take it into; without it the household's")
	dry := c.Bool("dry-run", false, "only say what would happen")
	var same []string
	c.Func("same", "`NAME` of somebody entered in both; may be given again", func(name string) error {
		same = append(same, name)
		return nil
	})
	lang := c.String("lang", "", "language `TAG` of the reasons, as es")
	c.Bool("json", true, "answer in JSON, which it always does")
	if code, done := c.parse(args); done {
		return code
	}
	if *from == "" {
		return c.wrong("--from is missing")
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	if _, err := os.Stat(*path); err != nil {
		return c.noBook(words, *path, err)
	}
	b, err := store.Open(ctx, c.options(*path, *dry))
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	defer func() { c.letGo(ctx, b) }()
	another := store.Another{Path: *from, Pictures: *pictures, Own: household.OfComputer}
	if backup.Begins(*from) {
		ready, err := c.prepared(ctx, *from, *path, *pass)
		if err != nil {
			return c.refuse("%s", c.say(words, err))
		}
		defer ready.Drop()
		another.Path = ready.Book()
	}
	coming, err := b.Compare(ctx, another)
	if err != nil {
		return c.refusedMerge(words, err)
	}
	for _, name := range same {
		n := len(another.Same)
		for _, a := range coming.Alike {
			if a.First.Name == name {
				another.Same = append(another.Same, store.Pair{a.First.ID, a.Second.ID})
			}
		}
		if len(another.Same) == n {
			return c.refuse("nobody called %q looks like the same person in both copies; nothing was saved", name)
		}
	}
	alike, saved := coming.Alike, false
	if !*dry {
		var token store.Token
		if token, coming, err = b.Merge(ctx, "", another); err != nil {
			return c.refusedMerge(words, err)
		}
		saved = token != 0
	}
	coming.Twofold = session.Asked(coming.Twofold)
	return c.print(mergeAnswer(coming, alike, another.Same, saved))
}

// prepared takes a backup out of its file, beside the book at path.
func (c *command) prepared(ctx context.Context, from, path, passFile string) (*backup.Ready, error) {
	o := backup.Options{Now: c.w.Now(), Version: c.w.Version}
	locked, err := backup.Encrypted(from)
	if err == nil && locked {
		o.Passphrase, err = c.passphrase(passFile)
	}
	if err != nil {
		return nil, err
	}
	return backup.Prepare(ctx, from, path, o)
}

// refusedMerge says why nothing was taken in.
func (c *command) refusedMerge(words *i18n.Pair, err error) int {
	why := words.T(session.Tell(err))
	c.refuse("%s", why)
	a := mergeAnswer(merge.Coming{}, nil, nil, false)
	a.Refused = &why
	c.print(a)
	return Refused
}

func mergeAnswer(m merge.Coming, alike []merge.Alike, same []store.Pair, saved bool) mergeJSON {
	a := mergeJSON{Saved: saved, Added: m.Added, Changed: m.Changed, Deleted: m.Deleted, Kept: m.Kept, Settings: m.Settings,
		Pictures: m.Pictures, Unsound: m.Unsound, NewConflicts: m.Conflicts(),
		Persons: []broughtJSON{}, Conflicts: []conflictJSON{}, Same: []sameJSON{}}
	for _, p := range m.People {
		a.Persons = append(a.Persons, broughtJSON{p.Person.Name, p.New, p.Added, p.Changed, p.Deleted})
	}
	for _, t := range m.Twofold {
		c := conflictJSON{What: string(t.What), ID: t.Key}
		for _, f := range t.Forms {
			c.Forms = append(c.Forms, formOf(f))
		}
		a.Conflicts = append(a.Conflicts, c)
	}
	for _, p := range alike {
		a.Same = append(a.Same, sameJSON{p.First.Name, [2]string{string(p.First.ID), string(p.Second.ID)},
			[2]string{p.FirstBirth.String(), p.SecondBirth.String()}, slices.Contains(same, store.Pair{p.First.ID, p.Second.ID})})
	}
	return a
}

func formOf(f merge.Form) formJSON {
	j := formJSON{Changed: f.Changed.Format(time.RFC3339), Text: f.Text}
	var b model.Book
	switch {
	case f.Entry != nil:
		j.Author = f.Entry.Author
		b.Entries = []model.Entry{*f.Entry}
	case f.Pack != nil:
		b.Packs = []model.Pack{*f.Pack}
	case f.Person != nil:
		j.Text = f.Person.Name
	}
	for _, r := range b.Rows() {
		j.Rows = append(j.Rows, formRow{r.When, r.Kind, r.What, r.Value, r.Unit, r.Note})
	}
	return j
}
