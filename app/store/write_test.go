package store

import (
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"quietwater/model"
)

func TestRoundTrip(t *testing.T) {
	for seed := range uint64(30) {
		b := openNew(t)
		want := someBook(seeded(seed), 40)
		mustPut(t, b, changesOf(want)...)
		mustPut(t, b, SaveKind(RawKind{"mine", `{"format": 1,  "name":"尿"}`}), Set("language", "es"), Set("draft/note", `{"text":"half ty`))
		path := b.Path()
		sameText(t, "before closing", contentOf(t, b), describe(want))
		mustClose(t, b)

		b = openAt(t, path)
		have, extras, err := b.Load(ctx)
		check(t, err)
		sameText(t, "after opening again", describe(have), describe(want))
		model.SortEntries(want.Entries)
		for i, e := range have.Entries {
			if e.ID != want.Entries[i].ID || e.When.Compare(want.Entries[i].When) != 0 {
				t.Fatalf("seed %d: entry %d is out of order", seed, i)
			}
		}
		if len(extras.Kinds) != 1 || extras.Kinds[0] != (RawKind{"mine", `{"format": 1,  "name":"尿"}`}) {
			t.Errorf("kinds: %q", extras.Kinds)
		}
		if extras.Settings["language"] != "es" || extras.Settings["draft/note"] != `{"text":"half ty` {
			t.Errorf("settings: %q", extras.Settings)
		}
		mustClose(t, b)
	}
}

func TestSilentPartsOfAValueAreDropped(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(1), 1)
	book.Entries[0].Values = []model.Value{
		{Code: "a", Grade: model.Plus1, Word: "silent", Number: 7},
		{Code: "b", Word: "yes", Number: 7},
		{Code: "c", Number: math.Copysign(0, -1)},
	}
	mustPut(t, b, changesOf(book)...)
	have, _, err := b.Load(ctx)
	check(t, err)
	want := []model.Value{{Code: "a", Grade: model.Plus1}, {Code: "b", Word: "yes"}, {Code: "c"}}
	if !slices.Equal(have.Entries[0].Values, want) {
		t.Errorf("have %+v, want %+v", have.Entries[0].Values, want)
	}
}

func TestPutIsAllOrNothing(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(2), 5)
	mustPut(t, b, changesOf(book)...)
	before := dump(t, b)
	person := book.Persons[0].ID
	good := someEntry(seeded(3), person, "")
	bad := func(change func(*model.Entry)) Change {
		e := someEntry(seeded(4), person, "")
		e.Values = []model.Value{{Code: "a", Number: 1}}
		change(&e)
		return SaveEntry(e)
	}
	for name, c := range map[string]struct {
		change Change
		err    error
	}{
		"unknown person":    {bad(func(e *model.Entry) { e.Person = "nobody" }), ErrInvalid},
		"no person":         {bad(func(e *model.Entry) { e.Person = "" }), ErrInvalid},
		"unknown pack":      {bad(func(e *model.Entry) { e.Pack = "none" }), ErrInvalid},
		"no identity":       {bad(func(e *model.Entry) { e.ID = "" }), ErrInvalid},
		"no kind":           {bad(func(e *model.Entry) { e.Kind = "" }), ErrInvalid},
		"no code":           {bad(func(e *model.Entry) { e.Values[0].Code = "" }), ErrInvalid},
		"not a number":      {bad(func(e *model.Entry) { e.Values[0].Number = math.NaN() }), ErrInvalid},
		"infinite":          {bad(func(e *model.Entry) { e.Values[0].Confidence = math.Inf(1) }), ErrInvalid},
		"not UTF-8":         {bad(func(e *model.Entry) { e.Values[0].Note = "a\xffb" }), ErrInvalid},
		"zero byte":         {bad(func(e *model.Entry) { e.Author = "a\x00b" }), ErrInvalid},
		"delete what isn't": {DeleteEntry("none"), ErrNotFound},
		"pack of nobody":    {SavePack(model.Pack{ID: "x", Person: "nobody"}), ErrInvalid},
	} {
		token, err := b.Put(ctx, "Ada", []Change{SaveEntry(good), c.change})
		if !errors.Is(err, ErrNotSaved) || !errors.Is(err, c.err) || token != 0 {
			t.Errorf("%s: token %d, error %v", name, token, err)
		}
	}
	sameText(t, "after refusals", dump(t, b), before)
	mustPut(t, b, SaveEntry(good))
}

func TestCancelledPutSavesNothing(t *testing.T) {
	b := openNew(t)
	cancelled, cancel := contextCancelled()
	cancel()
	if _, err := b.Put(cancelled, "Ada", changesOf(someBook(seeded(5), 3))); !errors.Is(err, ErrNotSaved) {
		t.Errorf("error %v", err)
	}
	if n := len(dump(t, b)); n != 0 {
		t.Errorf("%d rows", n)
	}
}

func TestDeletedIsHiddenNotGone(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(6), 20)
	book.Persons = append(book.Persons, model.Person{ID: "other", Name: "Other"})
	book.Entries = append(book.Entries, someEntry(seeded(7), "other", ""))
	mustPut(t, b, changesOf(book)...)
	rows := len(dump(t, b))
	token := mustPut(t, b, DeletePerson("other"), DeleteEntry(book.Entries[0].ID), DeletePack(book.Packs[0].ID))
	have, _, err := b.Load(ctx)
	check(t, err)
	if len(have.Persons) != len(book.Persons)-1 || len(have.Entries) != len(book.Entries)-2 || len(have.Packs) >= len(book.Packs) {
		t.Errorf("%d persons, %d entries, %d packs are left", len(have.Persons), len(have.Entries), len(have.Packs))
	}
	if n := len(dump(t, b)); n != rows {
		t.Errorf("%d rows instead of %d", n, rows)
	}
	_, err = b.Undo(ctx, "Ada", token)
	check(t, err)
	sameText(t, "undone", contentOf(t, b), describe(book))
}

// TestUndoIsExact holds every row with its stamps against what it was before.
func TestUndoIsExact(t *testing.T) {
	for seed := range uint64(15) {
		r := seeded(seed)
		b := openNew(t)
		book := someBook(r, 10)
		mustPut(t, b, changesOf(book)...)
		var before, after [][]string
		var tokens []Token
		for range 12 {
			before = append(before, dump(t, b))
			var changes []Change
			for range 1 + r.IntN(4) {
				e := pick(r, book.Entries...)
				switch r.IntN(7) {
				case 0:
					changes = append(changes, SaveEntry(someEntry(r, book.Persons[0].ID, "")))
				case 1:
					changes = append(changes, Set(pick(r, "a", "b"), pick(r, words...)))
				case 2:
					changes = append(changes, Unset("a"))
				case 3:
					changes = append(changes, SaveKind(RawKind{"k", pick(r, words...)}))
				case 4:
					p := somePack(r, book.Persons[0].ID)
					p.ID = book.Packs[0].ID
					changes = append(changes, SavePack(p), SavePerson(model.Person{ID: book.Persons[0].ID, Name: pick(r, words...)}))
				case 5:
					changes = append(changes, SaveEntry(e), DeleteEntry(e.ID))
				default:
					e.Values = append(slices.Clone(e.Values), someValue(r, "more"))
					changes = append(changes, SaveEntry(e))
				}
			}
			tokens = append(tokens, mustPut(t, b, changes...))
			after = append(after, dump(t, b))
		}
		var redo []Token
		for i := range slices.Backward(tokens) {
			if tokens[i] == 0 {
				redo = append(redo, 0)
				continue
			}
			if i == 6 { // also after a restart
				path := b.Path()
				mustClose(t, b)
				b = openAt(t, path)
			}
			u, err := b.Undo(ctx, "Ada", tokens[i])
			check(t, err)
			redo = append(redo, u)
			sameText(t, "undone", dump(t, b), before[i])
			if _, err := b.Undo(ctx, "Ada", tokens[i]); !errors.Is(err, ErrOverwritten) || !errors.Is(err, ErrNotSaved) {
				t.Fatalf("undone twice: %v", err)
			}
		}
		for i := range tokens {
			if u := redo[len(redo)-1-i]; u != 0 {
				_, err := b.Undo(ctx, "Ada", u)
				check(t, err)
				sameText(t, "done again", dump(t, b), after[i])
			}
		}
	}
}

func TestUndoRefusesWhatWasChangedSince(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(8), 2)
	first := mustPut(t, b, changesOf(book)...)
	e := book.Entries[0]
	e.Author = "Bruno"
	second := mustPut(t, b, SaveEntry(e))
	before := dump(t, b)
	if _, err := b.Undo(ctx, "Ada", first); !errors.Is(err, ErrOverwritten) {
		t.Errorf("error %v", err)
	}
	if _, err := b.Undo(ctx, "Ada", 99); !errors.Is(err, ErrNotFound) {
		t.Errorf("error %v", err)
	}
	sameText(t, "refused", dump(t, b), before)
	_, err := b.Undo(ctx, "Ada", second)
	check(t, err)
	_, err = b.Undo(ctx, "Ada", first)
	check(t, err)
	if n := len(dump(t, b)); n != 0 {
		t.Errorf("%d rows are left", n)
	}
}

func TestLastUndo(t *testing.T) {
	b := openNew(t)
	last := func() Token {
		l, err := b.LastUndo(ctx)
		check(t, err)
		return l.Token
	}
	if last() != 0 {
		t.Error("something to undo in a new book")
	}
	book := someBook(seeded(9), 3)
	first := mustPut(t, b, changesOf(book)...)
	second := mustPut(t, b, DeleteEntry(book.Entries[0].ID))
	if token := mustPut(t, b, Set("draft/x", "1")); token != 0 {
		t.Errorf("a draft has token %d", token)
	}
	mustPut(t, b, Set("language", "es"))
	path := b.Path()
	mustClose(t, b)
	b = openAt(t, path)
	if last() != second {
		t.Errorf("last is %d, want %d", last(), second)
	}
	if l, _ := b.LastUndo(ctx); l.Author == "" || l.Records != 1 || !slices.Equal(l.Entries, []model.ID{book.Entries[0].ID}) {
		t.Errorf("the last change is told as %+v", l)
	}
	u, err := b.Undo(ctx, "Ada", second)
	check(t, err)
	if last() != first {
		t.Errorf("last is %d, want %d", last(), first)
	}
	_, err = b.Undo(ctx, "Ada", u)
	check(t, err)
	if last() != second {
		t.Errorf("after redo last is %d, want %d", last(), second)
	}
}

func TestHistory(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(10), 1)
	e := book.Entries[0]
	mustPut(t, b, changesOf(book)...)
	e2 := e
	e2.Author = "Bruno"
	_, err := b.Put(ctx, "Bruno", []Change{SaveEntry(e2)})
	check(t, err)
	past, err := b.History(ctx, e.ID)
	check(t, err)
	if len(past) != 2 || past[0].By != "Bruno" || !past[0].Existed || past[0].Entry.Author != e.Author || past[1].By != "Ada" || past[1].Existed {
		t.Errorf("history: %+v", past)
	}
}

// TestFileRefuses writes past our own code: the file itself must refuse.
func TestFileRefuses(t *testing.T) {
	b := openNew(t)
	mustPut(t, b, SavePerson(model.Person{ID: "p"}), SaveEntry(model.Entry{ID: "e", Person: "p", Kind: "lab"}))
	for _, c := range []struct{ sql, part string }{
		{`INSERT INTO value VALUES(1, 0, 'a', '1,2', NULL, NULL, '', '', 0, '')`, "REAL"},
		{`INSERT INTO value VALUES(1, 0, 'a', 1, '1+', NULL, '', '', 0, '')`, "CHECK"},
		{`INSERT INTO value VALUES(1, 0, 'a', NULL, NULL, NULL, '', '', 0, '')`, "CHECK"},
		{`INSERT INTO value VALUES(1, 0, 'a', NULL, '1+', 'yes', '', '', 0, '')`, "CHECK"},
		{`INSERT INTO value VALUES(1, 0, 'a', NULL, '', NULL, '', '', 0, '')`, "CHECK"},
		{`INSERT INTO value VALUES(9, 0, 'a', 1, NULL, NULL, '', '', 0, '')`, "FOREIGN KEY"},
		{`UPDATE entry SET person = 'nobody'`, "FOREIGN KEY"},
		{`UPDATE entry SET person = NULL`, "NOT NULL"},
		{`UPDATE entry SET sum = 'text'`, "INTEGER"},
		{`DELETE FROM person`, "FOREIGN KEY"},
		{`UPDATE person SET mark = 'x'`, "INTEGER"},
		{`INSERT INTO meta VALUES(2, 'x', 0, 0)`, "CHECK"},
		{`INSERT INTO change_row VALUES(77, 1, 'entry', 'e', '', NULL, NULL, 1)`, "FOREIGN KEY"},
	} {
		if _, err := b.db.Exec(c.sql); err == nil || !strings.Contains(err.Error(), c.part) {
			t.Errorf("%s: %v", c.sql, err)
		}
	}
}

func TestBulkImport(t *testing.T) {
	b := openNew(t)
	book := daysBook(100)
	token := mustPut(t, b, changesOf(book)...)
	have, _, err := b.Load(ctx)
	check(t, err)
	if len(have.Entries) != len(book.Entries) {
		t.Fatalf("%d entries instead of %d", len(have.Entries), len(book.Entries))
	}
	_, err = b.Undo(ctx, "Ada", token)
	check(t, err)
	if n := len(dump(t, b)); n != 0 {
		t.Errorf("%d rows are left", n)
	}
}

// TestManyAtOnce: the window, a draft timer and a snapshot may meet.
func TestManyAtOnce(t *testing.T) {
	b := openNew(t)
	mustPut(t, b, SavePerson(model.Person{ID: "p"}))
	var all sync.WaitGroup
	for g := range 4 {
		all.Go(func() {
			r := seeded(uint64(g))
			for range 20 {
				_, err1 := b.Put(ctx, "Ada", []Change{SaveEntry(someEntry(r, "p", ""))})
				_, _, err2 := b.Load(ctx)
				_, err3 := b.LastUndo(ctx)
				if err := errors.Join(err1, err2, err3); err != nil {
					t.Error(err)
				}
			}
			if _, err := b.Snapshot(ctx); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if n := len(contentOf(t, b)); n != 81 {
		t.Errorf("%d records", n)
	}
}

// TestARemovedPersonComesBackWhole: saved again, with all their entries.
func TestARemovedPersonComesBackWhole(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(12), 5)
	mustPut(t, b, changesOf(book)...)
	gone := book.Persons[0]
	before, _, err := b.Load(ctx)
	check(t, err)
	mustPut(t, b, DeletePerson(gone.ID))
	mustPut(t, b, SavePerson(gone))
	after, _, err := b.Load(ctx)
	check(t, err)
	if len(after.Entries) != len(before.Entries) || len(after.Persons) != len(before.Persons) || len(after.Packs) != len(before.Packs) {
		t.Errorf("%d entries, %d persons, %d packs came back of %d, %d, %d", len(after.Entries), len(after.Persons), len(after.Packs), len(before.Entries), len(before.Persons), len(before.Packs))
	}
}
