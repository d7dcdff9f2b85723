package cli

import (
	"context"
	"fmt"
	"os"
	"time"

	"quietwater/app/exchange"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
)

type importJSON struct {
	Rows        int       `json:"rows"`
	Accepted    int       `json:"accepted"`
	Refused     []refusal `json:"refused"`
	FileRefused *string   `json:"file-refused"`
}

func importTable(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "import", "import --table FILE [--book FILE] [--dry-run] [--accept-good] --json")
	table := c.String("table", "", "plain table to take in")
	path := c.String("book", w.DefaultBook, "book to save into")
	dry := c.Bool("dry-run", false, "only say what would happen")
	good := c.Bool("accept-good", false, "save the good rows even when others are refused")
	lang := c.String("lang", "", "language of the reasons")
	c.Bool("json", true, "answer in JSON (always so)")
	if code, done := c.parse(args); done {
		return code
	}
	if *table == "" {
		return c.wrong("--table is missing")
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	book, existing, err := c.target(ctx, *path, *dry)
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	if book != nil {
		defer book.Close(ctx)
	}
	f, err := os.Open(*table)
	if err != nil {
		return c.refuse("%v", err)
	}
	defer f.Close()
	now := w.Now()
	got := exchange.Import(f, existing, now.Location(), now, c.newID, knownRule)
	answer := importJSON{Rows: got.Rows, Accepted: got.Accepted, Refused: refusals(words, got.Refused)}
	if got.FileRefused != nil {
		why := words.T(*got.FileRefused)
		answer.FileRefused = &why
	}
	code := OK
	if got.FileRefused != nil || len(got.Refused) > 0 {
		code = Refused
	}
	save := !*dry && got.FileRefused == nil && (code == OK || *good) && got.Accepted > 0
	if save {
		changes := household.Changes{Persons: got.Book.Persons, Entries: got.Book.Entries, Packs: got.Book.Packs}
		if err := session.NewKept(book).Save(ctx, "", changes); err != nil {
			return c.refuse("%s", words.T(session.Tell(err)))
		}
	}
	return max(code, c.print(answer))
}

// target opens the book to import into. A dry run never makes or changes one:
// a book that is not there is an empty one.
func (c *command) target(ctx context.Context, path string, dry bool) (*store.Book, model.Book, error) {
	if dry {
		if _, err := os.Stat(path); err != nil {
			return nil, model.Book{}, nil
		}
	}
	b, err := store.Open(ctx, c.options(path, dry))
	if err != nil {
		return nil, model.Book{}, err
	}
	existing, _, err := b.Load(ctx)
	if err != nil {
		b.Close(ctx)
		return nil, model.Book{}, err
	}
	return b, existing, nil
}

func (c *command) options(path string, readOnly bool) store.Options {
	return store.Options{Path: path, Now: c.w.Now, Rand: c.w.Rand, Zone: c.w.Now().Location(),
		ReadOnly: readOnly, Version: c.w.Version}
}

func export(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "export", "export --book FILE --as table [--out FILE]")
	path := c.String("book", w.DefaultBook, "book to write out")
	as := c.String("as", "table", "form: table")
	out := c.String("out", "", "file to write; standard output without it")
	if code, done := c.parse(args); done {
		return code
	}
	if *as != "table" {
		return c.wrong("--as %s is not known; there is: table", *as)
	}
	if _, err := os.Stat(*path); err != nil {
		return c.refuse("%v", err)
	}
	words, err := c.words("")
	if err != nil {
		return c.wrong("%v", err)
	}
	b, err := store.Open(ctx, c.options(*path, true))
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	defer b.Close(ctx)
	book, _, err := b.Load(ctx)
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	if *out == "" {
		if err := exchange.WriteTable(w.Stdout, book.Rows()); err != nil {
			return c.refuse("%v", err)
		}
		return OK
	}
	return c.writeFile(*out, book.Rows())
}

// writeFile never overwrites: a table written over yesterday's would be lost.
func (c *command) writeFile(path string, rows []model.Row) int {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return c.refuse("%v", err)
	}
	err = exchange.WriteTable(f, rows)
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		os.Remove(path)
		return c.refuse("%v", err)
	}
	return OK
}

type checkJSON struct {
	Book          string             `json:"book"`
	OK            bool               `json:"ok"`
	SchemaVersion int                `json:"schema-version"`
	Newer         bool               `json:"newer"`
	Flaws         []string           `json:"flaws"`
	Persons       int                `json:"persons"`
	Packs         int                `json:"packs"`
	StripKinds    int                `json:"strip-kinds"`
	Settings      int                `json:"settings"`
	Deleted       int                `json:"deleted"`
	Changes       int                `json:"changes"`
	Entries       map[model.Kind]int `json:"entries"`
	Snapshots     []snapshotJSON     `json:"snapshots"`
}

type snapshotJSON struct {
	Path    string `json:"path"`
	When    string `json:"when"`
	Persons int    `json:"persons"`
	Entries int    `json:"entries"`
	Error   string `json:"error,omitempty"`
}

func check(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "check", "check --book FILE")
	path := c.String("book", w.DefaultBook, "book to look at")
	if code, done := c.parse(args); done {
		return code
	}
	if _, err := os.Stat(*path); err != nil {
		return c.refuse("%v", err)
	}
	rep, err := store.CheckFile(ctx, *path)
	if err != nil {
		fmt.Fprintf(w.Stderr, "quietwater check: %v\n", err)
	}
	j := checkJSON{Book: rep.Path, OK: err == nil && rep.OK(), SchemaVersion: rep.Version, Newer: rep.Newer,
		Persons: rep.Persons, Packs: rep.Packs, StripKinds: rep.StripKinds, Settings: rep.Settings,
		Deleted: rep.Deleted, Changes: rep.Changes, Entries: rep.Entries, Flaws: []string{}, Snapshots: []snapshotJSON{}}
	if err != nil {
		j.Book, j.Flaws = *path, append(j.Flaws, err.Error())
	}
	for _, f := range rep.Flaws {
		j.Flaws = append(j.Flaws, f.String())
	}
	for _, s := range rep.Snapshots {
		sj := snapshotJSON{Path: s.Path, When: s.Time.Format(time.RFC3339), Persons: s.Persons, Entries: s.Entries}
		if s.Err != nil {
			sj.Error = s.Err.Error()
		}
		j.Snapshots = append(j.Snapshots, sj)
	}
	c.print(j)
	if !j.OK {
		return Refused
	}
	return OK
}
