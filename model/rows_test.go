package model

import (
	"fmt"
	"slices"
	"testing"
)

// The plain table's text form is proved in app/exchange over whole books;
// here stands what the reader does to identities and packs.

func reader() *Reader {
	n := 0
	return &Reader{NewID: func() ID { n++; return ID(fmt.Sprint("id", n)) }}
}

func TestPacksAreTiedToTests(t *testing.T) {
	r := reader()
	r.Existing.Packs = []Pack{{ID: "house", Label: "Box"}, {ID: "old", Label: "Old"}}
	book, refused := r.Read([]Row{
		{Person: "Rosa", When: "2026-05-01", Kind: "strip", What: "pack", Value: "Box"},
		{Person: "Rosa", When: "2026-05-01", Kind: "strip", What: "protein", Value: "neg"},
		{Person: "Rosa", When: "2026-05-02", Kind: "strip", What: "protein", Value: "neg"},
		{Person: "Rosa", When: "2026-05-02", Kind: "strip", What: "pack", Value: "Nowhere"},
		{Person: "Rosa", When: "2026-05-03", Kind: "strip", What: "pack", Value: "Old"},
		{Person: "Rosa", When: "2026-05-03", Kind: "strip", What: "protein", Value: "neg"},
		{Person: "Rosa", When: "2026-05-04", Kind: "strip", What: "pack", Value: "Old"},
		{Person: "Rosa", Kind: "pack", What: "strips", Value: "50", Note: "Box"},
	})
	if len(refused) > 0 {
		t.Fatal(refused)
	}
	own := book.Packs[0].ID
	var got []string
	for _, e := range book.Entries {
		got = append(got, fmt.Sprint(e.Pack, " ", len(e.Values)))
	}
	// The person's own box goes before the household's; a label of no pack
	// stays as text; a test of nothing but its pack keeps the label.
	if want := []string{string(own) + " 1", " 2", "old 1", " 1"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestRefusedRowsLeaveNothing(t *testing.T) {
	r := reader()
	book, refused := r.Read([]Row{
		{Number: 1, Person: "Nobody", When: "yesterday", Kind: "vital", What: "weight", Value: "61"},
		{Number: 2, Person: "Nobody", Kind: "pack", What: "strips", Value: "50"},
		{Number: 3, Person: "Nobody", Kind: "pack", What: "strips", Value: "0", Note: "Box"},
	})
	if len(refused) != 3 || len(book.Persons)+len(book.Entries)+len(book.Packs) > 0 {
		t.Errorf("%+v %+v", book, refused)
	}
}

func TestAReaderReadsAgain(t *testing.T) {
	r := reader()
	rows := []Row{{Person: "Rosa", When: "2026-05-01", Kind: "vital", What: "weight", Value: "61"}}
	for range 2 {
		if book, refused := r.Read(rows); len(book.Entries) != 1 || refused != nil {
			t.Errorf("%+v %+v", book, refused)
		}
	}
}

// What is kept without a unit, or a pack without its sealing, is written as
// it will be read.
func TestRowsWriteDefaultsOut(t *testing.T) {
	b := Book{
		Persons: []Person{{ID: "a", Name: "Rosa"}},
		Entries: []Entry{{Person: "a", Kind: Vital, When: at(t, "2026-05-01"), Values: []Value{{Code: "weight", Number: 61}}}},
		Packs:   []Pack{{ID: "p", Label: "Box"}},
	}
	want := []Row{
		{Kind: "pack", What: "sealed", Value: "tub", Note: "Box"},
		{Person: "Rosa", When: "2026-05-01", Kind: "vital", What: "weight", Value: "61", Unit: "kg"},
	}
	if got := b.Rows(); !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
}

func TestRowsOfOnePackStandTogether(t *testing.T) {
	b := Book{Packs: []Pack{
		{ID: "q", Label: "Box B", Strips: 25, Sealed: Tub},
		{ID: "p", Label: "Box A", Strips: 50, Sealed: Single},
	}}
	var got []string
	for _, r := range b.Rows() {
		got = append(got, r.Note+" "+r.What)
	}
	if want := []string{"Box A strips", "Box A sealed", "Box B strips", "Box B sealed"}; !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}
