package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"

	"quietwater/model"
	"quietwater/model/merge"
)

// RawKind is a household's own strip kind as the text it was written in.
type RawKind struct {
	ID   string
	JSON string
}

// Extras is what the book holds besides persons, entries and packs.
type Extras struct {
	Kinds    []RawKind
	Settings map[string]string
	// Twofold are the records somebody has to choose a form of: see
	// [Book.Choose].
	Twofold []merge.Twofold
}

// Part of a book that a check found at fault.
type Part string

// The parts. InStructure is SQLite's own check, InReading what could not be
// read at all, InTotal a row that is missing or there twice.
const (
	InStructure Part = "structure"
	InReading   Part = "reading"
	InLinks     Part = "links"
	InSchema    Part = "schema"
	InVersion   Part = "version"
	InRow       Part = "row"
	InTotal     Part = "total"
)

// Flaw is one thing found wrong: where, and which row or what SQLite said.
type Flaw struct {
	Part Part
	What string
}

func (f Flaw) String() string { return string(f.Part) + ": " + f.What }

// Report is what a check of a whole book found. Counts are of live records;
// Deleted counts those that carry a deletion mark.
type Report struct {
	Path    string
	Book    model.ID // the book's own identity, kept by its snapshots
	Version int      // of the schema
	Newer   bool     // than this program: row checksums were not checked
	Flaws   []Flaw

	Persons, Packs, StripKinds, Settings, Deleted, Changes int
	Entries                                                map[model.Kind]int
	Writes                                                 int64 // transactions since the book was made

	Journal, Synchronous string // on this connection
	ForeignKeys          bool
	Snapshots            []Snapshot
}

// OK reports that nothing was found wrong.
func (r Report) OK() bool { return len(r.Flaws) == 0 }

// records are the rows of a book whose checksums hold.
type records struct {
	persons  []*personRow
	packs    []*packRow
	kinds    []*kindRow
	settings []*settingRow
	entries  []*entryRow
	versions []*versionRow
	sames    []*sameRow
}

// Load gives all live records, entries in time order.
func (b *Book) Load(ctx context.Context) (model.Book, Extras, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return model.Book{}, Extras{}, err
	}
	recs := b.first
	b.first = nil
	if recs == nil {
		rep, fresh, err := examineRows(b.db)
		if err != nil && unreadable(err) {
			rep.Flaws = append(rep.Flaws, Flaw{InReading, err.Error()})
		} else if err != nil {
			return model.Book{}, Extras{}, classify(err)
		}
		if len(rep.Flaws) > 0 && b.ReadOnlyReason != ErrNewer {
			return model.Book{}, Extras{}, &Trouble{Path: b.opts.Path, Err: ErrDamaged, Flaws: rep.Flaws}
		}
		recs = fresh
	}
	b.remember(recs)
	return recs.live(b.opts)
}

// live leaves out what is deleted, and what belongs to a deleted person. Of
// persons who are one, all belongs to the one.
func (r *records) live(o Options) (model.Book, Extras, error) {
	var out model.Book
	extras := Extras{Settings: map[string]string{}}
	gone, who := map[string]bool{}, r.who()
	for _, p := range r.persons {
		if gone[p.ID] = p.Deleted != ""; !gone[p.ID] && who(p.ID) == p.ID {
			out.Persons = append(out.Persons, p.model())
		}
	}
	for _, k := range r.kinds {
		if k.Deleted == "" {
			extras.Kinds = append(extras.Kinds, RawKind{k.ID, k.JSON})
		}
	}
	for _, s := range r.settings {
		if s.Deleted == "" {
			extras.Settings[s.Key] = s.Value
		}
	}
	for _, p := range r.packs {
		if p.Deleted != "" || gone[string(p.Person)] || gone[who(string(p.Person))] {
			continue
		}
		m, err := p.model(o.Zone)
		if err != nil {
			return out, extras, fmt.Errorf("pack %q: %w", p.ID, err)
		}
		m.Person = model.ID(who(string(p.Person)))
		out.Packs = append(out.Packs, m)
	}
	out.Entries = make([]model.Entry, 0, len(r.entries))
	same := newShared()
	same.ids.Grow(len(r.entries) * 32)
	for _, e := range r.entries {
		if e.Deleted != "" || gone[e.Person] || gone[who(e.Person)] {
			continue
		}
		m, err := e.model(o.Zone, same)
		if err != nil {
			return out, extras, fmt.Errorf("entry %q: %w", e.ID, err)
		}
		m.Person = model.ID(same.word(who(e.Person)))
		out.Entries = append(out.Entries, m)
	}
	model.SortEntries(out.Entries)
	extras.Twofold = r.twofold(o.Zone, func(person string) bool { return gone[person] || gone[who(person)] }, who)
	return out, extras, nil
}

// who tells which identity a person's records stand under.
func (r *records) who() func(string) string {
	same := map[string]string{}
	for _, s := range r.sames {
		if s.Deleted == "" {
			same[s.ID] = s.Person
		}
	}
	if len(same) == 0 {
		return func(id string) string { return id }
	}
	return func(id string) string {
		for range len(same) { // never round and round, whatever a file says
			to, is := same[id]
			if !is {
				break
			}
			id = to
		}
		return id
	}
}

// usable refuses a closed book or a finished context.
func (b *Book) usable(ctx context.Context) error {
	if b.db == nil {
		return fmt.Errorf("%s: the book is closed", b.opts.Path)
	}
	return ctx.Err()
}

// Check examines the open book as a start does.
func (b *Book) Check(ctx context.Context) (Report, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return Report{}, err
	}
	rep, _, err := examine(ctx, b.db, b.opts.steps)
	rep.Path = b.opts.Path
	rep.Snapshots, _ = Snapshots(b.opts.Path)
	return rep, classify(err)
}

// CheckFile examines any file without changing it or making files beside it,
// and reports damage instead of refusing it. An error means that nothing
// could be examined at all: no such file, or not a book.
func CheckFile(ctx context.Context, path string) (Report, error) {
	rep, _, err := examinePath(ctx, Options{Path: path})
	return rep, err
}

// Salvage reads from a damaged book every record whose checksum still holds,
// to be shown beside a snapshot. The file is not changed.
func Salvage(ctx context.Context, opts Options) (model.Book, Extras, Report, error) {
	rep, recs, err := examinePath(ctx, opts)
	if err != nil || recs == nil {
		return model.Book{}, Extras{}, rep, err
	}
	o, _ := opts.whole()
	book, extras, err := recs.live(o)
	return book, extras, rep, err
}

func examinePath(ctx context.Context, opts Options) (Report, *records, error) {
	o, err := opts.whole()
	if err != nil {
		return Report{}, nil, err
	}
	b := &Book{opts: o}
	defer b.release()
	if _, err := os.Stat(o.Path); err != nil {
		return Report{Path: o.Path}, nil, classify(err)
	}
	version, err := b.connectForReading(ctx)
	if trouble := (*Trouble)(nil); errors.As(err, &trouble) && len(trouble.Flaws) > 0 {
		return Report{Path: o.Path, Version: version, Flaws: trouble.Flaws, Snapshots: trouble.Snapshots}, nil, nil
	}
	if err != nil {
		return Report{Path: o.Path}, nil, b.trouble(err)
	}
	rep, recs, err := examine(ctx, b.db, o.steps)
	rep.Path, rep.Version = o.Path, version
	rep.Snapshots, _ = Snapshots(o.Path)
	return rep, recs, classify(err)
}

// examine checks structure, links, schema, version and every row. What cannot
// be read is a flaw; an error says that nothing is known of the file.
func examine(ctx context.Context, db *sql.DB, steps []string) (Report, *records, error) {
	if err := ctx.Err(); err != nil {
		return Report{}, nil, err
	}
	flaws, err, rep, recs, err2 := bothChecks(ctx, db)
	if err == nil {
		err = ctx.Err()
	}
	if err != nil && !unreadable(err) {
		return Report{}, nil, err
	}
	if rep.Newer = rep.Version > len(steps); rep.Newer {
		// The rules of its rows are not known here.
		rep.Flaws = slices.DeleteFunc(rep.Flaws, func(f Flaw) bool { return f.Part != InVersion })
	} else {
		differs, err3 := compareSchema(db, steps)
		flaws, err2 = append(flaws, differs...), errors.Join(err2, err3)
	}
	rep.Flaws = append(flaws, rep.Flaws...)
	for _, err := range []error{err, err2} {
		if err != nil && !unreadable(err) {
			return rep, recs, err
		}
		if err != nil {
			rep.Flaws = append(rep.Flaws, Flaw{InReading, err.Error()})
		}
	}
	return rep, recs, nil
}

// bothChecks lets SQLite check the file beside our reading of all rows, on a
// second connection: each takes half of a start, and nobody writes meanwhile.
func bothChecks(ctx context.Context, db *sql.DB) (flaws []Flaw, err error, rep Report, recs *records, err2 error) {
	one, err := db.Conn(ctx) // whose settings were read back: it stays
	if err != nil {
		return nil, err, rep, nil, err
	}
	defer one.Close()
	db.SetMaxIdleConns(0) // the second goes when it is done
	db.SetMaxOpenConns(2)
	defer db.SetMaxIdleConns(1)
	defer db.SetMaxOpenConns(1)
	checked := make(chan struct{})
	go func() {
		defer close(checked)
		flaws, err = checkOn(ctx, db)
	}()
	rep, recs, err2 = examineRowsOn(one)
	<-checked
	one.ExecContext(ctx, `PRAGMA shrink_memory`) // the pages it went through are not asked for again
	return flaws, err, rep, recs, err2
}

// checkOn checks the file on a connection of its own, with room for the pages
// that are looked at again and again.
func checkOn(ctx context.Context, db *sql.DB) ([]Flaw, error) {
	two, err := db.Conn(ctx)
	if err != nil {
		return nil, err
	}
	defer two.Close()
	if _, err := two.ExecContext(ctx, `PRAGMA cache_size = -16000`); err != nil { // kB
		return nil, err
	}
	return checkFile(onConn{two})
}

// unreadable tells an error that speaks against the file from one that speaks
// of the moment: a lock, a full disk, a caller who gave up.
func unreadable(err error) bool {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return false
	}
	kind := kindOf(err)
	return kind == nil || kind == ErrDamaged
}

// checkFile is what SQLite can check itself: pages, indexes, references.
func checkFile(q querier) ([]Flaw, error) {
	var out []Flaw
	err := each(q, `PRAGMA integrity_check(20)`, func(scan scanner) error {
		var what string
		err := scan(&what)
		if what != "ok" {
			out = append(out, Flaw{InStructure, what})
		}
		return err
	})
	if err != nil {
		return out, err
	}
	return out, each(q, `PRAGMA foreign_key_check`, func(scan scanner) error {
		var table, parent string
		var rowid, fk sql.NullInt64
		err := scan(&table, &rowid, &parent, &fk)
		out = append(out, Flaw{InLinks, fmt.Sprintf("%s row %d has no %s", table, rowid.Int64, parent)})
		return err
	})
}

// examineRows reads every record, holds it against its checksum and counts.
// What was read before an error is returned with it.
func examineRows(db *sql.DB) (Report, *records, error) {
	c, err := db.Conn(context.Background())
	if err != nil {
		return Report{}, &records{}, err
	}
	defer c.Close()
	return examineRowsOn(c)
}

func examineRowsOn(c *sql.Conn) (Report, *records, error) {
	tx, err := c.BeginTx(context.Background(), nil)
	if err != nil {
		return Report{}, &records{}, err
	}
	defer tx.Rollback()
	return rowsIn(tx, readQuickly(c))
}

// rowsIn reads all rows, the entries only where they were not read quickly.
func rowsIn(tx querier, quick *wholeEntries) (rep Report, recs *records, err error) {
	recs = &records{}
	rep.Entries = map[model.Kind]int{}
	stored, err := rep.readMeta(tx)
	if err != nil {
		return rep, recs, err
	}
	var total int64
	keep := func(r row) {
		rep.count(r)
		recs.add(r)
	}
	for _, t := range tables() {
		if t == entries && quick != nil {
			total += quick.total
			recs.entries = make([]*entryRow, 0, len(quick.rows))
			for i := range quick.rows {
				keep(&quick.rows[i])
			}
			continue
		}
		err := eachRow(tx, t, "", func(r row, sum int64) {
			total += sum
			if sumOf(r) != sum {
				rep.Flaws = append(rep.Flaws, Flaw{InRow, t.name + " " + strconv.Quote(r.key())})
				return
			}
			keep(r)
		})
		if err != nil {
			return rep, recs, err
		}
	}
	who := recs.who()
	for _, s := range recs.sames { // one person under two identities is one
		if p := slices.IndexFunc(recs.persons, func(p *personRow) bool { return p.ID == s.ID }); who(s.ID) != s.ID && p >= 0 && alive(recs.persons[p]) {
			rep.Persons--
		}
	}
	if total != stored {
		rep.Flaws = append(rep.Flaws, Flaw{InTotal, "a record is missing or there twice"})
	}
	return rep, recs, nil
}

// readMeta takes the counts and settings that are no rows of ours, and gives
// the total that the checksums of all rows must add up to.
func (rep *Report) readMeta(q querier) (total int64, err error) {
	var newest int
	for _, ask := range []struct {
		query string
		dest  []any
	}{
		{`SELECT book, writes, total FROM meta`, []any{&rep.Book, &rep.Writes, &total}},
		{`SELECT count(*) FROM change`, []any{&rep.Changes}},
		{`SELECT coalesce(max(version), 0) FROM migration`, []any{&newest}},
		{`PRAGMA user_version`, []any{&rep.Version}},
		{`PRAGMA journal_mode`, []any{&rep.Journal}},
		{`PRAGMA synchronous`, []any{&rep.Synchronous}},
		{`PRAGMA foreign_keys`, []any{&rep.ForeignKeys}},
	} {
		if err := q.QueryRow(ask.query).Scan(ask.dest...); err != nil {
			return 0, err
		}
	}
	if newest != rep.Version {
		rep.Flaws = append(rep.Flaws, versionFlaw(rep.Version, newest))
	}
	return total, nil
}

func versionFlaw(header, newest int) Flaw {
	return Flaw{InVersion, fmt.Sprintf("header says %d, list of migrations %d", header, newest)}
}

// onlyUnread reports that reading failed while nothing speaks of damage.
func (rep *Report) onlyUnread() bool {
	return !slices.ContainsFunc(rep.Flaws, func(f Flaw) bool { return f.Part != InReading })
}

func (rep *Report) count(r row) {
	if r.stamps().Deleted != "" {
		rep.Deleted++
		return
	}
	switch r := r.(type) {
	case *personRow:
		rep.Persons++
	case *packRow:
		rep.Packs++
	case *kindRow:
		rep.StripKinds++
	case *settingRow:
		rep.Settings++
	case *entryRow:
		rep.Entries[model.Kind(r.Kind)]++
	}
}

func (r *records) add(x row) {
	switch x := x.(type) {
	case *personRow:
		r.persons = append(r.persons, x)
	case *packRow:
		r.packs = append(r.packs, x)
	case *kindRow:
		r.kinds = append(r.kinds, x)
	case *settingRow:
		r.settings = append(r.settings, x)
	case *entryRow:
		r.entries = append(r.entries, x)
	case *versionRow:
		r.versions = append(r.versions, x)
	case *sameRow:
		r.sames = append(r.sames, x)
	}
}

// valueList is all values of all entries, in the order of the entries.
type valueList struct {
	entry []int64
	rows  []valueRow
	next  int
}

// readValues reads those of the entries that which (WHERE ...) names, or all.
func readValues(q querier, which string) (*valueList, error) {
	if which != "" {
		which = ` WHERE entry IN (SELECT n FROM entry` + which + `)`
	}
	var many int
	if err := q.QueryRow(`SELECT count(*) FROM value` + which).Scan(&many); err != nil {
		return nil, err
	}
	l := &valueList{rows: make([]valueRow, 0, many), entry: make([]int64, 0, many)}
	var n int64
	var v valueRow
	dest := append([]any{&n}, v.fields()...)
	return l, each(q, `SELECT entry, `+valueColumns+` FROM value`+which+` ORDER BY entry, pos`, func(scan scanner) error {
		v = valueRow{}
		err := scan(dest...)
		l.rows, l.entry = append(l.rows, v), append(l.entry, n)
		return err
	})
}

// of takes the values of entry n; entries must be asked for in order.
func (l *valueList) of(n int64) []valueRow {
	for l.next < len(l.rows) && l.entry[l.next] < n {
		l.next++
	}
	from := l.next
	for l.next < len(l.rows) && l.entry[l.next] == n {
		l.next++
	}
	return l.rows[from:l.next:l.next]
}

// eachRow reads into one row, whose fields are listed once, and hands out copies
// of the rows that which (WHERE ...) names, or of all.
func eachRow(q querier, t *table, which string, f func(r row, sum int64)) error {
	var values *valueList
	if t == entries {
		var err error
		if values, err = readValues(q, which); err != nil {
			return err
		}
	}
	var sum, n int64
	read := t.blank()
	dest := append(read.fields(), &sum, &n)
	return each(q, t.selectAll+which+` ORDER BY rowid`, func(scan scanner) error {
		if err := scan(dest...); err != nil {
			return err
		}
		r := copyOf(read)
		if e, ok := r.(*entryRow); ok {
			e.Values = values.of(n)
		}
		f(r, sum)
		return nil
	})
}
