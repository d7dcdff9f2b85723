package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"quietwater/app/calendar"
	"quietwater/app/exchange"
	"quietwater/app/fhir"
	"quietwater/app/moveout"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/app/whole"
	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/todo"
)

type importJSON struct {
	Rows        int           `json:"rows"`
	Accepted    int           `json:"accepted"`
	Refused     []refusal     `json:"refused"`
	Unknown     []unknownJSON `json:"unknown,omitempty"` // codes and units a FHIR file holds and the book has no place for
	PassedOver  []passedJSON  `json:"passed-over,omitempty"`
	FileRefused *string       `json:"file-refused"`
}

type unknownJSON struct {
	System  string `json:"system"`
	Code    string `json:"code"`
	Display string `json:"display"`
	Unit    string `json:"unit,omitempty"`
	Why     string `json:"why"`
	Count   int    `json:"count"`
}

type passedJSON struct {
	Name  string `json:"name"`
	Count int    `json:"count"`
}

func importFile(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "import", "import --table|--fhir FILE [--book FILE] [--dry-run] [--accept-good]")
	table := c.String("table", "", "the plain table (CSV) to take in, a `FILE`")
	bundle := c.String("fhir", "", "the HL7 FHIR R4 file (JSON) to take in, a `FILE`")
	person := c.String("person", "", "FHIR: the results are of `NAME`, whatever the file calls them")
	path := c.String("book", w.DefaultBook, "book `FILE` to save into; without it the household's")
	dry := c.Bool("dry-run", false, "only say what would happen")
	good := c.Bool("accept-good", false, "save the good rows even when others are refused or unknown")
	lang := c.String("lang", "", "language `TAG` of the reasons, as es; of es,en the first")
	c.Bool("json", true, "answer in JSON, which it always does")
	if code, done := c.parse(args); done {
		return code
	}
	switch {
	case *table == "" && *bundle == "":
		return c.wrong("--table or --fhir is missing")
	case *table != "" && *bundle != "":
		return c.wrong("--table and --fhir are two files; take in one after the other")
	case *table != "" && *person != "":
		return c.wrong("--person goes with --fhir: a table names its persons")
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	f, code := c.open(*table + *bundle)
	if f == nil {
		return code
	}
	defer f.Close()
	book, existing, err := c.target(ctx, *path, *dry)
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	defer func() { c.letGo(ctx, book) }()
	var answer importJSON
	var got model.Book
	if *table != "" {
		answer, got = c.ofTable(words, exchange.Import(f, existing, w.Now().Location(), w.Now(), c.newID, knownRule))
	} else {
		answer, got = c.ofFHIR(words, fhir.Import(f, fhir.Target{Book: existing, Zone: w.Now().Location(), Now: w.Now(),
			Person: *person, NewID: c.newID, KnownAnswer: knownRule}))
	}
	code = OK
	if answer.FileRefused != nil || len(answer.Refused)+len(answer.Unknown) > 0 {
		code = Refused
	}
	switch {
	case *dry:
	case answer.FileRefused != nil, code == Refused && !*good:
		c.refuse("nothing was saved")
	case answer.Accepted > 0:
		if book, err = c.save(ctx, book, *path, got); err != nil {
			return c.refuse("%s", words.T(session.Tell(err)))
		}
	}
	return max(code, c.print(answer))
}

func (c *command) ofTable(words *i18n.Pair, got exchange.Result) (importJSON, model.Book) {
	return importJSON{Rows: got.Rows, Accepted: got.Accepted, Refused: refusals(words, got.Refused), FileRefused: said(words, got.FileRefused)}, got.Book
}

func (c *command) ofFHIR(words *i18n.Pair, got fhir.Result) (importJSON, model.Book) {
	a, book := c.ofTable(words, exchange.Result{Rows: got.Rows, Accepted: got.Accepted, Refused: got.Refused, FileRefused: got.FileRefused, Book: got.Book})
	for _, u := range got.Unknown {
		a.Unknown = append(a.Unknown, unknownJSON{u.System, u.Code, u.Display, u.Unit, words.T(u.Why), u.Count})
	}
	for _, p := range got.Passed {
		a.PassedOver = append(a.PassedOver, passedJSON(p))
	}
	return a, book
}

func said(words *i18n.Pair, why *model.Msg) *string {
	if why == nil {
		return nil
	}
	s := words.T(*why)
	return &s
}

// target opens the book to import into. One that is not there yet is nil and
// empty: only a table that is taken makes it.
func (c *command) target(ctx context.Context, path string, dry bool) (*store.Book, model.Book, error) {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		if snaps, _ := store.Snapshots(path); len(snaps) > 0 {
			return nil, model.Book{}, store.ErrMissing
		}
		return nil, model.Book{}, nil
	}
	b, err := store.Open(ctx, c.options(path, dry))
	if err != nil {
		return nil, model.Book{}, err
	}
	existing, _, err := b.Load(ctx)
	if err != nil {
		c.letGo(ctx, b)
		return nil, model.Book{}, err
	}
	return b, existing, nil
}

// save keeps all of what was read, and gives the book it made for it where
// there was none.
func (c *command) save(ctx context.Context, b *store.Book, path string, got model.Book) (*store.Book, error) {
	if b == nil {
		var err error
		if b, err = store.Open(ctx, c.options(path, false)); err != nil {
			return nil, err
		}
	}
	return b, session.NewKept(b).Save(ctx, "", household.Changes{Persons: got.Persons, Entries: got.Entries, Packs: got.Packs})
}

// letGo closes a book; what failed then is only a copy, never what was saved.
func (c *command) letGo(ctx context.Context, b *store.Book) {
	if b == nil {
		return
	}
	if err := b.Close(ctx); err != nil {
		c.refuse("what was saved is safe, but: %v", err)
	}
}

func (c *command) options(path string, readOnly bool) store.Options {
	return store.Options{Path: path, Now: c.w.Now, Rand: c.w.Rand, Zone: c.w.Now().Location(),
		ReadOnly: readOnly, Version: c.w.Version}
}

func export(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "export", "export --book FILE --as FORM [--person NAME] [--health] [--out FILE]")
	notices := c.Bool("notices", false, "only print the notices that LOINC, UCUM and FHIR ask for")
	path := c.String("book", w.DefaultBook, "book `FILE` to write out; without it the household's")
	as := c.String("as", "table", "`FORM` to write: table, fhir (FHIR R4), calendar (ics) or folder")
	person := c.String("person", "", "fhir, calendar: only what is of `NAME`")
	health := c.Bool("health", false, "calendar: say what is to be done; without it only for whom")
	lang := c.String("lang", "", "calendar, folder: language `TAG`, as es; folder: of es,en both")
	out := c.String("out", "", "a new `FILE` to write to; without it standard output")
	if code, done := c.parse(args); done {
		return code
	}
	if *notices {
		fmt.Fprint(w.Stdout, assets.CodeNotices)
		return OK
	}
	if !slices.Contains([]string{"table", "fhir", "calendar", "folder"}, *as) {
		return c.wrong("--as %s is not known; there are: table, fhir, calendar, folder", *as)
	}
	if (*as == "table" || *as == "folder") && *person != "" {
		return c.wrong("--person goes with --as fhir and --as calendar")
	}
	if *as != "calendar" && *health || *as != "calendar" && *as != "folder" && *lang != "" {
		return c.wrong("--health goes with --as calendar, --lang also with --as folder")
	}
	if *as == "folder" && *out == "" {
		return c.wrong("--as folder needs --out, a folder that is not there yet")
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	if _, err := os.Stat(*path); err != nil {
		return c.noBook(words, *path, err)
	}
	b, err := store.Open(ctx, c.options(*path, true))
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	defer c.letGo(ctx, b)
	records, err := session.NewKept(b).Load(ctx)
	if err != nil {
		return c.refuse("%s", words.T(session.Tell(err)))
	}
	if *as == "folder" {
		return c.moveOut(b, records, words, *out)
	}
	who := model.Person{}
	if *person != "" {
		i := slices.IndexFunc(records.Book.Persons, func(p model.Person) bool { return p.Name == *person })
		if i < 0 {
			return c.refuse("nobody in this book is called %q", *person)
		}
		who = records.Book.Persons[i]
	}
	write := func(to io.Writer) error { return exchange.WriteTable(to, records.Book.Rows()) }
	switch *as {
	case "fhir":
		book := records.Book
		if who.ID != "" {
			book = of(book, who)
		}
		write = func(to io.Writer) error { return c.writeFHIR(to, book) }
	case "calendar":
		state := household.Derive(records, w.Now())
		items := todo.Of(state)
		if who.ID != "" {
			items = slices.DeleteFunc(items, func(it todo.Item) bool { return it.Person != who.ID })
		}
		write = func(to io.Writer) error { return calendar.Write(to, words, items, *health, w.Now()) }
	}
	if *out == "" {
		if err := write(w.Stdout); err != nil {
			return c.refuse("%v", err)
		}
		return OK
	}
	return c.writeFile(*out, write)
}

// moveOut writes the folder to leave with.
func (c *command) moveOut(b *store.Book, records household.Records, words *i18n.Pair, folder string) int {
	state := household.Derive(records, c.w.Now())
	done, err := moveout.Write(folder, moveout.Source{State: &state, Words: words, Picture: func(e model.Entry, whole bool) ([]byte, error) {
		content, _, err := b.Picture(store.PictureKey{Person: e.Person, Entry: e.ID, Whole: whole})
		if errors.Is(err, store.ErrNotFound) {
			return nil, nil
		}
		return content, err
	}})
	switch {
	case errors.Is(err, moveout.ErrThere):
		return c.refuse("%s is there already, and nothing is ever overwritten", folder)
	case errors.Is(err, fs.ErrNotExist):
		return c.refuse("there is no folder %s", filepath.Dir(folder))
	case err != nil:
		return c.refuse("%v", err)
	}
	return c.print(done)
}

// of is one person's part of a book, with the packs of the whole household.
func of(b model.Book, p model.Person) model.Book {
	return model.Book{Persons: []model.Person{p},
		Entries: slices.DeleteFunc(slices.Clone(b.Entries), func(e model.Entry) bool { return e.Person != p.ID }),
		Packs:   slices.DeleteFunc(slices.Clone(b.Packs), func(k model.Pack) bool { return k.Person != "" && k.Person != p.ID })}
}

// counter counts what is written.
type counter struct {
	io.Writer
	n int
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.Writer.Write(p)
	c.n += n
	return n, err
}

// writeFHIR says so when what it wrote is more than import takes at once.
func (c *command) writeFHIR(to io.Writer, b model.Book) error {
	count := &counter{Writer: to}
	err := fhir.Write(count, b, c.w.Now())
	if err == nil && count.n > fhir.MaxBytes {
		c.wrong("more than %d MiB, which import does not take; --person writes one person at a time", fhir.MaxBytes>>20)
	}
	return err
}

// noBook says that a book is not there, and whether its copies are.
func (c *command) noBook(words *i18n.Pair, path string, err error) int {
	if snaps, _ := store.Snapshots(path); errors.Is(err, fs.ErrNotExist) && len(snaps) > 0 {
		return c.refuse("%s", words.T(session.Tell(store.ErrMissing)))
	}
	return c.noFile(path, err)
}

// writeFile never overwrites: a table written over yesterday's would be lost.
func (c *command) writeFile(path string, write func(io.Writer) error) int {
	err := whole.New(path, write)
	switch {
	case err == nil:
		return OK
	case errors.Is(err, fs.ErrExist):
		return c.refuse("%s is there already, and nothing is ever overwritten", path)
	case errors.Is(err, fs.ErrNotExist):
		return c.refuse("there is no folder %s", filepath.Dir(path))
	case errors.Is(err, fs.ErrPermission):
		return c.noFile(path, err)
	}
	return c.refuse("%v", err)
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
	path := c.String("book", w.DefaultBook, "book `FILE` to look at; without it the household's")
	if code, done := c.parse(args); done {
		return code
	}
	words, err := c.words("")
	if err != nil {
		return c.refuse("%v", err)
	}
	if _, err := os.Stat(*path); err != nil {
		return c.noBook(words, *path, err)
	}
	rep, err := store.CheckFile(ctx, *path)
	if err != nil {
		c.refuse("%s", words.T(session.Tell(err)))
	}
	j := checkJSON{Book: rep.Path, OK: err == nil && rep.OK(), SchemaVersion: rep.Version, Newer: rep.Newer,
		Persons: rep.Persons, Packs: rep.Packs, StripKinds: rep.StripKinds, Settings: rep.Settings,
		Deleted: rep.Deleted, Changes: rep.Changes, Entries: rep.Entries, Flaws: []string{}, Snapshots: []snapshotJSON{}}
	if j.Entries == nil {
		j.Entries = map[model.Kind]int{}
	}
	if err != nil {
		j.Flaws = append(j.Flaws, err.Error())
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
