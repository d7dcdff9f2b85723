package ui

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/strip"
	"quietwater/model/timeline"
)

// fromTheStick is all that another copy of the book can bring: for somebody of
// this book and somebody new, with conflicts of every sort.
func fromTheStick(r household.Records) merge.Coming {
	rosa, emil := r.Book.Persons[0], r.Book.Persons[1]
	anna := model.Person{ID: "00000000000000000000000000000a0a", Name: longName, Mark: 2}
	weight := func(id model.ID, who model.ID, typed, author string) model.Entry {
		n, _ := model.ParseNumber(typed)
		return model.Entry{ID: id, Person: who, Kind: model.Vital, When: model.At(morning.AddDate(0, 0, -1)), Author: author,
			Values: []model.Value{{Code: "weight", Number: n, Typed: typed, Unit: "kg", Note: "after breakfast, in slippers"}}}
	}
	first, second := weight("00000000000000000000000000000b0b", rosa.ID, "61.5", "Emil"), weight("00000000000000000000000000000b0b", rosa.ID, "65.1", "Rosa")
	older := r.Book.Packs[0]
	older.Lot = "A-1"
	other := rosa
	other.Name = "Rosa Amalia"
	kind, _ := strip.Generic()[0].Bytes()
	entry := merge.Twofold{What: merge.Entry, Key: string(first.ID), New: true, Forms: []merge.Form{
		{Sum: 1, Changed: morning, Entry: &first}, {Sum: 2, Changed: morning.AddDate(0, 0, -1), Entry: &second}}}
	return merge.Coming{Added: 3, Changed: 2, Deleted: 1, Kept: 1, Settings: 2, Pictures: 4, Unsound: 1,
		People:  []merge.Brought{{Person: anna, New: true, Added: 1}, {Person: emil, Changed: 2, Deleted: 1}, {Person: rosa, Added: 2}},
		Entries: []model.Entry{weight("00000000000000000000000000000c0c", rosa.ID, "61.9", "Emil"), weight("00000000000000000000000000000d0d", anna.ID, "70", "")},
		Twofold: []merge.Twofold{entry,
			{What: merge.Pack, Key: string(older.ID), New: true, Forms: []merge.Form{{Sum: 3, Changed: morning, Pack: &r.Book.Packs[0]}, {Sum: 4, Changed: morning, Pack: &older}}},
			{What: merge.Person, Key: string(rosa.ID), New: true, Forms: []merge.Form{{Sum: 5, Changed: morning, Person: &rosa}, {Sum: 6, Changed: morning, Person: &other}}},
			{What: merge.Kind, Key: "own-1", New: true, Forms: []merge.Form{{Sum: 7, Changed: morning, Text: string(kind)}, {Sum: 8, Changed: morning, Text: "{}"}}},
			{What: merge.Setting, Key: household.SetClinic, Forms: []merge.Form{{Sum: 9, Changed: morning, Text: "0555 0100"}, {Sum: 10, Changed: morning, Text: "0555 0199"}}}},
		Alike: []merge.Alike{{First: emil, Second: model.Person{ID: "x", Name: emil.Name}, FirstBirth: model.OnDay(morning.AddDate(-70, 0, 0))}}}
}

// mergePlaces are the pages of bringing in another copy of the book.
func mergePlaces(add func(string, func(*desk)), r household.Records) {
	at := func(name string, set func(*bringing)) {
		add("another copy"+name, func(d *desk) {
			b := &bringing{w: d.w, path: otherBook, same: map[int]bool{0: true}}
			set(b)
			d.w.turn(b.view)
		})
	}
	at("", func(b *bringing) { b.path = "" })
	at(", refused", func(b *bringing) { b.failed = model.T("merge.damaged") })
	at(", being read", func(b *bringing) { b.busy = true })
	at(", nothing new", func(b *bringing) { b.coming = &merge.Coming{} })
	at(", all sorts", func(b *bringing) { c := fromTheStick(r); b.coming = &c })
	add("changed in two places", func(d *desk) {
		d.book.past[len(d.book.past)-1].Twofold = fromTheStick(r).Twofold
		d.book.derive()
		d.w.turn(d.w.twofold)
	})
	add("changed in two places, nothing left", func(d *desk) { d.w.turn(d.w.twofold) })
	add("today with something in two forms", func(d *desk) {
		d.book.past[len(d.book.past)-1].Twofold = fromTheStick(r).Twofold
		d.book.derive()
		d.w.show("today")
	})
}

// TestBringingInAnotherCopy goes from the household page to a saved merge by
// keyboard: nothing is saved before it was shown, and one undo takes it back.
func TestBringingInAnotherCopy(t *testing.T) {
	r := fullBook()
	b := newBook(r)
	b.coming = fromTheStick(r)
	d := open(t, b)
	d.w.show("household")
	d.key("bring-in")
	d.shows("merge.safe")
	d.fill("path", "/media/stick/letter.txt")
	d.key("look")
	d.shows("merge.not-a-book")
	d.fill("path", `"`+otherBook+`"`)
	d.key("look")
	for key, n := range map[string]int{"merge.added": 3, "merge.changed": 2, "merge.deleted": 1, "merge.kept": 1, "merge.conflicts": 4, "merge.pictures": 4} {
		d.shows(key, "n", n)
	}
	d.shows("merge.person-new", "added", 1)
	d.shows("merge.alike-why", "name", r.Book.Persons[1].Name)
	if len(b.past) != 1 || b.same != nil {
		t.Fatal("something was saved before anybody said so")
	}
	for _, kg := range []string{"61.5 kg", "65.1 kg", "61.9 kg", "A-1"} {
		if !strings.Contains(d.text(), kg) {
			t.Errorf("%q is not shown before it is saved", kg)
		}
	}
	d.key("same-0", "take")
	if len(b.past) != 2 || len(b.same) != 1 || b.same[0] != [2]model.ID{r.Book.Persons[1].ID, "x"} {
		t.Fatalf("%d saves, same %v", len(b.past), b.same)
	}
	d.shows("merge.done")
	d.shows("merge.twofold-how")
	d.key("undo")
	if len(b.past) != 1 {
		t.Error("undo did not take the merge back")
	}
	d.shows("merge.twofold-none")
}

// TestReadingMayBeGivenUp: what comes of it then is not shown; a merge that is
// being saved is waited for.
func TestReadingMayBeGivenUp(t *testing.T) {
	b := newBook(fullBook())
	b.coming = fromTheStick(b.records())
	d := open(t, b)
	var later []func()
	d.w.open(d.w.bringIn())
	d.settle() // what lies about has been looked for
	d.w.beside = func(work, then func()) { later = append(later, func() { work(); then() }) }
	d.w.view.dropped(otherBook)
	d.settle()
	d.shows("merge.busy")
	d.press(fyne.KeyEscape)
	later[0]()
	d.settle()
	d.shows("merge.safe")
	d.hides("merge.preview")
	d.key("look")
	later[len(later)-1]()
	d.settle()
	d.key("take")
	d.press(fyne.KeyEscape)
	d.shows("merge.busy")
	later[len(later)-1]()
	d.settle()
	d.shows("merge.done")
}

// TestNobodyIsTakenForAnother: without a tick two persons stay two.
func TestNobodyIsTakenForAnother(t *testing.T) {
	r := fullBook()
	b := newBook(r)
	b.coming = fromTheStick(r)
	d := open(t, b)
	d.w.open(d.w.bringIn())
	d.w.view.dropped(otherBook)
	d.settle()
	d.key("take")
	if len(b.past) != 2 || len(b.same) != 0 {
		t.Errorf("%d saves, same %v", len(b.past), b.same)
	}
}

// TestChoosingAForm: the page of today says that something stands in two forms;
// what is not chosen goes, and undo brings it back.
func TestChoosingAForm(t *testing.T) {
	r := fullBook()
	r.Twofold = fromTheStick(r).Twofold
	r = r.Apply(household.Changes{Entries: []model.Entry{*r.Twofold[0].Forms[0].Entry}})
	d := open(t, newBook(r))
	d.shows("merge.twofold-some", "n", 5)
	d.key("choose")
	d.key("keep-1-" + r.Twofold[0].Key)
	d.shows("merge.chosen")
	weighed := func() string {
		for _, e := range d.book.records().Book.Entries {
			if string(e.ID) == r.Twofold[0].Key {
				return e.Values[0].Typed
			}
		}
		return ""
	}
	if n := len(d.book.records().Twofold); n != 4 || weighed() != "65.1" {
		t.Errorf("%d are open, %s kg", n, weighed())
	}
	d.key("undo")
	if n := len(d.book.records().Twofold); n != 5 || weighed() != "61.5" {
		t.Errorf("taken back: %d are open, %s kg", n, weighed())
	}
	d.book.fails = told{model.T("trouble.disk-full")}
	d.key("keep-1-" + r.Twofold[0].Key)
	d.shows("trouble.disk-full")
}

// TestNothingIsBroughtInWhereNothingIsKept: neither the invented household nor
// a book that can only be read offers it.
func TestNothingIsBroughtInWhereNothingIsKept(t *testing.T) {
	for name, set := range map[string]func(*book){
		"invented":  func(b *book) { b.path = "" },
		"read only": func(b *book) { b.closed = model.T("trouble.read-only") },
	} {
		b := newBook(demoBook())
		set(b)
		d := open(t, b)
		d.w.show("household")
		if d.has("bring-in") {
			t.Errorf("%s: another copy can be brought in", name)
		}
	}
}

// TestADoubleClickDecidesOneRecord: the page moves up after a choice, and the
// press that follows at once decides nothing else.
func TestADoubleClickDecidesOneRecord(t *testing.T) {
	r := fullBook()
	r.Twofold = fromTheStick(r).Twofold
	d := open(t, newBook(r))
	d.w.open(d.w.twofold)
	d.key("keep-0-"+r.Twofold[0].Key, "keep-0-"+r.Twofold[1].Key)
	if n := len(d.book.records().Twofold); n != 4 {
		t.Errorf("%d are open after a double click, want 4", n)
	}
	d.wait(rests)
	d.key("keep-0-" + r.Twofold[1].Key)
	if n := len(d.book.records().Twofold); n != 3 {
		t.Errorf("%d are open after the next choice, want 3", n)
	}
}

// TestTheTimelineSaysWhatStandsInTwoForms: the note beside an entry, and its page.
func TestTheTimelineSaysWhatStandsInTwoForms(t *testing.T) {
	r := fullBook()
	r.Twofold = fromTheStick(r).Twofold
	two := *r.Twofold[0].Forms[0].Entry
	r = r.Apply(household.Changes{Entries: []model.Entry{two}})
	d := open(t, newBook(r))
	d.w.open(d.w.oneEntry(two))
	d.shows("merge.twofold-some", "n", 1)
	note := func(e model.Entry) string { return d.w.entryNote(timeline.Item{When: e.When, Entry: &e}) }
	said := d.w.words.T(model.T("merge.twofold"))
	if !strings.Contains(note(two), said) || strings.Contains(note(r.Book.Entries[0]), said) {
		t.Errorf("%q, %q", note(two), note(r.Book.Entries[0]))
	}
}
