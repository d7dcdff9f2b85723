package ui

import (
	"strings"
	"testing"

	"quietwater/model"
	"quietwater/model/household"
)

// The program opens on the person it was left with; to remember whom is no step
// that undo could take back.
func TestOpensOnThePersonOfLastTime(t *testing.T) {
	b := newBook(demoBook())
	steps := len(b.past)
	second := b.state.Members[1].Person
	showsWhose := func(d *desk, p model.Person) {
		t.Helper()
		d.shows("screen.of", "screen", model.T("screen.today"), "name", p.Name)
	}
	d := open(t, b)
	showsWhose(d, b.state.Members[0].Person)
	d.tap("whose-" + string(second.ID))
	showsWhose(d, second)
	if len(b.past) != steps {
		t.Fatal("whose page was looked at became a step to undo")
	}

	d = open(t, b)
	showsWhose(d, second)

	// Where nothing can be kept, looking at somebody is no trouble.
	b.closed = model.T("trouble.read-only")
	d = open(t, b)
	third := b.state.Members[2].Person
	d.tap("whose-" + string(third.ID))
	showsWhose(d, third)
	if got := b.records().Shown(); got != second.ID {
		t.Fatalf("a book that can only be read remembers %q", got)
	}

	// Somebody who is there no more is nobody.
	b.closed = model.Msg{}
	b.past = append(b.past, b.records().Apply(household.Changes{RemovePersons: []model.ID{second.ID}}))
	b.derive()
	d = open(t, b)
	showsWhose(d, b.state.Members[0].Person)
}

// After a save it is said for whom, because the page that comes is somebody's.
func TestSavedForWhom(t *testing.T) {
	d := open(t, newBook(demoBook()))
	p := d.book.state.Members[1].Person
	d.tap("whose-"+string(p.ID), "add-drink", "cup-glass")
	if !strings.Contains(d.text(), "Written down for "+p.Name+": ") {
		t.Fatalf("it is not said whose drink it is:\n%s", d.text())
	}
	d.tap("add-weight")
	d.fill("weight", "70")
	d.tap("save")
	for range 3 {
		if d.has("answer-yes") {
			d.tap("answer-yes")
		}
	}
	d.shows("done.saved-for", "name", p.Name)
}
