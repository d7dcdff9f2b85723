package store

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"quietwater/model"
)

// TestNewest: what is seen of an unexamined book is what the examined book says
// of these days, and nothing beside the book changes.
func TestNewest(t *testing.T) {
	b := openNew(t)
	book := daysBook(120)
	ada := book.Persons[0].ID
	long := model.Entry{ID: "long-on", Person: ada, Kind: model.Medicine, When: model.At(noon.AddDate(0, 0, -119)), Values: []model.Value{{Code: "vitamin-c", Word: "start"}}}
	book.Entries = append(book.Entries, long)
	mustPut(t, b, changesOf(book)...)
	whole, _, err := b.Load(ctx)
	check(t, err)
	mustClose(t, b)
	path, since := b.Path(), noon.AddDate(0, 0, -40)
	before, listed := fileBytes(path), names(t, path)

	got, extras, err := Newest(ctx, optionsFor(path), since)
	check(t, err)
	var want []model.Entry
	for _, e := range whole.Entries {
		if e.When.Time().After(since.AddDate(0, 0, 1)) || e.ID == long.ID {
			want = append(want, e)
		}
	}
	if len(want) < 500 || extras.Settings == nil {
		t.Fatalf("%d entries to compare, settings %v", len(want), extras.Settings)
	}
	got.Entries = slices.DeleteFunc(got.Entries, func(e model.Entry) bool {
		return e.ID != long.ID && !e.When.Time().After(since.AddDate(0, 0, 1)) && e.When.Time().After(since.AddDate(0, 0, -2))
	})
	sameText(t, "the newest days", describe(model.Book{Persons: got.Persons, Packs: got.Packs, Entries: got.Entries}),
		describe(model.Book{Persons: whole.Persons, Packs: whole.Packs, Entries: want}))
	if !bytes.Equal(before, fileBytes(path)) || !slices.Equal(listed, names(t, path)) {
		t.Error("looking changed the book or left something beside it")
	}
}

func names(t *testing.T, path string) (out []string) {
	t.Helper()
	all, err := os.ReadDir(filepath.Dir(path))
	check(t, err)
	for _, e := range all {
		out = append(out, e.Name())
	}
	return out
}

// TestNewestOfABadBook: a row that does not hold is left out, and a book that no
// start would show is not looked at.
func TestNewestOfABadBook(t *testing.T) {
	path, _ := closedBook(t)
	since := noon.AddDate(-100, 0, 0)
	whole, _, err := Newest(ctx, optionsFor(path), since)
	check(t, err)
	bad := hurt(t, path, func(data []byte) []byte { return bytes.Replace(data, []byte("needle-7-in"), []byte("needle-7-im"), -1) })
	some, _, err := Newest(ctx, optionsFor(bad), since)
	check(t, err)
	if len(some.Entries) != len(whole.Entries)-1 {
		t.Errorf("%d entries of %d where one does not hold", len(some.Entries), len(whole.Entries))
	}
	newer := hurt(t, path, func(data []byte) []byte { data[63]++; return data })
	if _, _, err := Newest(ctx, optionsFor(newer), since); !errors.Is(err, errNotYet) {
		t.Errorf("a book of another version: %v", err)
	}
	half, journal := halfSaved(t, path)
	cut := hurt(t, path, func([]byte) []byte { return half })
	check(t, os.WriteFile(cut+"-journal", journal, privateFile))
	if _, _, err := Newest(ctx, optionsFor(cut), since); !errors.Is(err, errNotYet) {
		t.Errorf("a book that a crash interrupted: %v", err)
	}
	for name, change := range map[string]func([]byte) []byte{
		"empty":        func([]byte) []byte { return nil },
		"no book":      func([]byte) []byte { return []byte("not a book") },
		"half of it":   func(data []byte) []byte { return data[:len(data)/2] },
		"a page of it": func(data []byte) []byte { copy(data[4096:8192], make([]byte, 4096)); return data },
	} {
		some, _, err := Newest(ctx, optionsFor(hurt(t, path, change)), since)
		for _, line := range describe(some) {
			if !slices.Contains(describe(whole), line) {
				t.Errorf("%s (%v): it shows what was never written: %s", name, err, line)
			}
		}
	}
}
