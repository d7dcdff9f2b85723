package ui

import (
	"testing"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
)

// TestTakingBackIsSeenFirst: the last change is named, with who wrote it, before
// it is taken back; leaving takes nothing back.
func TestTakingBackIsSeenFirst(t *testing.T) {
	b := newBook(fullBook())
	d := open(t, b)
	d.w.show("household")
	d.key("undo-last")
	d.shows("done.nothing-to-undo")
	if d.has("take-back") {
		t.Error("there is nothing to take back, and it is offered")
	}
	d.key("back")
	rosa, steps := b.records().Book.Persons[0], len(b.past)
	drink := model.Entry{ID: b.NewID(), Person: rosa.ID, Kind: model.Fluid, When: model.At(b.Now()), Values: []model.Value{{Code: "drink", Number: 250, Typed: "250", Unit: "mL"}}}
	if err := b.Save(household.Changes{Entries: []model.Entry{drink}}); err != nil {
		t.Fatal(err)
	}
	d.key("undo-last")
	d.shows("undo.there")
	d.shows("timeline.entry-by", "author", "Emil")
	d.key("back")
	if len(b.past) != steps+1 {
		t.Fatal("looking took it back")
	}
	d.key("undo-last")
	d.key("take-back")
	if len(b.past) != steps {
		t.Error("it was not taken back")
	}
	d.shows("household.people")
	if err := b.Save(household.Changes{RemoveEntries: []model.ID{b.records().Book.Entries[0].ID}}); err != nil {
		t.Fatal(err)
	}
	d.key("undo-last")
	d.shows("undo.deleted", "n", 1)
}

// Persons, packs and strip kinds are named too: of a number nobody knows what
// would go.
func TestTakingBackNamesWhatHasAName(t *testing.T) {
	b := newBook(fullBook())
	d := open(t, b)
	rosa, tub := b.records().Book.Persons[0], packCalled(b.records(), "Old tub")
	lost := packCalled(b.records(), "Used up")
	rosa.Mark, tub.Strips = 5, 49
	own := b.records().OwnKinds[0]
	own.Name += ", anew"
	if err := b.Save(household.Changes{Persons: []model.Person{rosa}, Packs: []model.Pack{tub}, Kinds: []strip.Kind{own}, RemovePacks: []model.ID{lost.ID}}); err != nil {
		t.Fatal(err)
	}
	d.w.show("household")
	d.key("undo-last")
	d.shows("undo.touched", "what", model.T("undo.person", "name", rosa.Name))
	d.shows("undo.touched", "what", model.T("undo.pack", "name", "Old tub"))
	d.shows("undo.touched", "what", model.T("undo.kind", "name", own.Name))
	d.shows("undo.back", "what", model.T("undo.pack", "name", "Used up"))
	d.hides("undo.others", "n", 1)
}

// TestPartsOfTheHousehold: each section of the long page has a button that
// brings it to the top.
func TestPartsOfTheHousehold(t *testing.T) {
	d := open(t, newBook(fullBook()))
	d.w.show("household")
	for _, key := range []string{"household.numbers", "exchange.section", "household.sound"} {
		d.w.page.ScrollTo(0)
		d.key("to-" + key)
		if d.w.page.Offset() == 0 {
			t.Errorf("%s: the page did not move", key)
		}
	}
}

// TestTwoOfOneName: where two have one name, choosers tell them apart.
func TestTwoOfOneName(t *testing.T) {
	r := fullBook()
	rosa := r.Book.Persons[0]
	twin := model.Person{ID: "000000000000000000000000000000aa", Name: rosa.Name, Mark: 3}
	r.Book.Persons = append(r.Book.Persons, twin)
	r.Book.Entries = append(r.Book.Entries, model.Entry{ID: "000000000000000000000000000000ab", Person: twin.ID, Kind: model.Profile, When: model.At(morning),
		Values: []model.Value{{Code: "birth-date", Word: "1981-05-06"}}})
	model.SortEntries(r.Book.Entries)
	d := open(t, newBook(r))
	if a, b := d.w.called(rosa), d.w.called(twin); a == b {
		t.Errorf("both are called %q", a)
	}
	d.w.person = twin.ID
	d.w.show("today")
	d.shows("screen.of", "screen", model.T("screen.today"), "name", d.w.called(twin))
	if other := r.Book.Persons[1]; d.w.called(other) != other.Name {
		t.Error("a name that nobody shares is not enough")
	}
}
