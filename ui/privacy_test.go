package ui

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// privacyPlaces are the curtain and the pages of erasing somebody, for [places].
func privacyPlaces(add func(string, func(*desk)), task func(string, func(*Window) func() view), long model.Person) {
	add("curtain", func(d *desk) {
		d.w.show("supplies")
		d.w.cover()
	})
	add("curtain over a question", func(d *desk) {
		d.w.show("supplies")
		d.w.askDeletePerson(long)
		d.w.cover()
	})
	task("removed people", func(w *Window) func() view {
		w.keep(household.Changes{RemovePersons: []model.ID{long.ID}})
		return w.removedPage
	})
	task("removed people, none", func(w *Window) func() view { return w.removedPage })
	erase := func(name string, do func(*erasing)) {
		task("erase"+name, func(w *Window) func() view {
			e := &erasing{w: w, person: long, looked: true}
			do(e)
			return e.view
		})
	}
	erase(", no copies", func(e *erasing) { e.too = keepCopies })
	erase(", copies", func(e *erasing) { e.copies = someCopies() })
	erase(", copies too", func(e *erasing) { e.copies, e.too = someCopies(), dropCopies })
	erase(", looking", func(e *erasing) { e.looked, e.here = false, true })
	erase(", at work", func(e *erasing) { e.busy = true })
	erase(", failed", func(e *erasing) { e.failed, e.too = model.T("trouble.not-saved"), keepCopies })
	erase(", a trace is left", func(e *erasing) { e.failed, e.gone = model.T("trouble.disk-full"), true })
}

func someCopies() (out []SafeCopy) {
	for i := range 4 {
		out = append(out, SafeCopy{When: model.At(morning.AddDate(0, -i, -i)), Entries: 1204 - i, Unreadable: i == 2})
	}
	return out
}

// covered reports that the curtain hangs, and that nothing of anybody shows.
func (d *desk) covered() bool {
	d.t.Helper()
	if d.w.curtain == nil {
		return false
	}
	d.shows("curtain.what")
	for _, p := range d.book.state.Members {
		if strings.Contains(d.text(), p.Person.Name) {
			d.t.Errorf("the curtain lets %s be read: %s", p.Person.Name, d.text())
		}
	}
	if ids := d.ids(); len(ids) != 1 || ids[0] != "curtain" {
		d.t.Errorf("through the curtain can be reached: %v", ids)
	}
	return true
}

// strike presses and lets go of a key as a keyboard does, with its letter between.
func (d *desk) strike(name fyne.KeyName, letter rune) {
	d.t.Helper()
	ev := &fyne.KeyEvent{Name: name}
	at := func() fyne.Focusable { return d.win.Canvas().Focused() }
	if letter == 0 {
		d.press(name)
		return
	}
	at().(desktop.Keyable).KeyDown(ev)
	at().TypedKey(ev)
	at().TypedRune(letter)
	if k, ok := at().(desktop.Keyable); ok {
		k.KeyUp(ev)
	}
	d.settle()
}

// idle lets time pass without a touch, with the window looking every five
// seconds.
func (d *desk) idle(t time.Duration) {
	d.w.Idle()
	for ; t > 0; t -= 5 * time.Second {
		d.book.pass(5 * time.Second)
		d.w.Idle()
	}
	d.settle()
}

// calm is the invented household with nothing that calls for anybody.
func calm() household.Records {
	return household.Records{Book: model.Book{Persons: []model.Person{{ID: "0a", Name: "Xenia"}}}, Settings: map[string]string{household.SetWelcomed: "yes"}}
}

func TestCurtainByKey(t *testing.T) {
	d := open(t, newBook(demoBook()))
	d.w.open(d.w.editPerson(model.Person{}))
	d.settle()
	d.fill("name", "Ludmi")
	d.strike(fyne.KeyF12, 0)
	if !d.covered() {
		t.Fatal("F12 does not cover the window")
	}
	before := d.book.state
	d.win.Canvas().Focused().(fyne.Shortcutable).TypedShortcut(&fyne.ShortcutUndo{})
	if d.book.state != before || !d.covered() {
		t.Error("a key went through the curtain")
	}
	d.strike(fyne.KeyL, 'l')
	if d.w.curtain != nil {
		t.Fatal("a key does not open the curtain")
	}
	if d.focused() != "name" {
		t.Errorf("the keyboard is at %q", d.focused())
	}
	test.Type(d.win.Canvas().Focused(), "la")
	if got := kit.Held(d.w.page)["name"]; got != "Ludmila" {
		t.Errorf("the box holds %q", got)
	}
	// A tap opens it too, and does not reach what is under it.
	d.strike(fyne.KeyF12, 0)
	test.TapCanvas(d.win.Canvas(), fyne.NewPos(100, 790))
	d.settle()
	if d.w.curtain != nil || kit.Held(d.w.page)["name"] != "Ludmila" {
		t.Error("a tap does not open the curtain, or went through it")
	}
	d.strike(fyne.KeyF12, 0)
	d.strike(fyne.KeyTab, 0)
	if d.w.curtain != nil || d.focused() != "name" {
		t.Errorf("Tab: the keyboard is at %q", d.focused())
	}
}

func TestCurtainByItself(t *testing.T) {
	for minutes, after := range map[string]time.Duration{"": 0, "1": time.Minute, "5": 5 * time.Minute, "15": 15 * time.Minute, "7": 0} {
		r := calm()
		r.Settings[household.SetCurtain] = minutes
		d := open(t, newBook(r))
		if d.idle(max(after, time.Hour) - 5*time.Second); after == 0 && d.w.curtain != nil {
			t.Errorf("%q: covered, and nobody asked", minutes)
		}
		if after == 0 {
			continue
		}
		d.w.uncover()
		d.idle(after - 10*time.Second)
		if d.w.curtain != nil {
			t.Errorf("%s min: covered too soon", minutes)
		}
		if d.idle(15 * time.Second); !d.covered() {
			t.Errorf("%s min: not covered", minutes)
		}
	}
}

// TestCurtainWaits: whatever somebody does in front of it puts it off.
func TestCurtainWaits(t *testing.T) {
	r := calm()
	r.Settings[household.SetCurtain] = "1"
	d := open(t, newBook(r))
	d.w.open(d.w.editPerson(model.Person{}))
	d.settle()
	for name, do := range map[string]func(){
		"typing":      func() { test.Type(d.win.Canvas().Focused(), "a") },
		"the mouse":   func() { test.MoveMouse(d.win.Canvas(), fyne.NewPos(float32(d.book.mono%500), 790)) },
		"Tab":         func() { d.win.Canvas().FocusNext() },
		"another one": func() { d.w.open(d.w.editPerson(model.Person{})) },
	} {
		for range 4 {
			d.idle(40 * time.Second)
			do()
		}
		if d.w.curtain != nil {
			t.Errorf("%s does not put the curtain off", name)
		}
		if d.idle(65 * time.Second); d.w.curtain == nil {
			t.Errorf("after %s it does not come at all", name)
		}
		d.w.uncover()
	}
}

// TestCurtainNeverHides a test that is under way, or an emergency.
func TestCurtainNeverHides(t *testing.T) {
	r := fullBook()
	r.Settings[household.SetCurtain] = "1"
	rosa := r.Book.Persons[0]
	d := open(t, newBook(r))
	draft := func(step int) func() view {
		g := &guided{w: d.w, person: rosa, draft: strip.Draft{Person: rosa.ID, Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
		g.choosePack(withoutPack)
		g.draft.Step = step
		g.run = strip.NewRun(g.kind, d.book.Tick())
		return g.view
	}
	m, _ := d.w.house.State().Member(rosa.ID)
	emergency := m.Result.Open[0]
	if !anEmergency(emergency) {
		t.Fatal("no emergency to look at")
	}
	for name, page := range map[string]func() view{"timing": draft(stepTime), "matching the pads": draft(stepPads), "an emergency": d.w.oneFinding(emergency)} {
		d.w.turn(page)
		d.settle()
		if d.idle(10 * time.Minute); d.w.curtain != nil {
			t.Errorf("covered by itself: %s", name)
			d.w.uncover()
		}
		if d.strike(fyne.KeyF12, 0); d.w.curtain != nil {
			t.Errorf("covered by F12: %s", name)
			d.w.uncover()
		}
	}
	d.w.person = rosa.ID
	d.w.show("today")
	d.settle()
	if d.idle(10 * time.Minute); d.w.curtain != nil {
		t.Error("the emergency of today went behind the curtain by itself")
	}
	if d.strike(fyne.KeyF12, 0); d.w.curtain == nil {
		t.Error("nobody may cover the page of today on purpose")
	}
}

// TestCurtainGivesWay to an emergency that time alone raises, and stays closed for
// all else.
func TestCurtainGivesWay(t *testing.T) {
	quiet, loud := newBook(demoBook()), newBook(fullBook())
	d := open(t, quiet)
	d.w.show("supplies")
	d.w.cover()
	d.w.Passed(quiet.state, quiet.state)
	d.w.redraw() // as when something that took long comes to its end
	d.settle()
	if !d.covered() {
		t.Error("a redraw opens the curtain")
	}
	d.w.Passed(quiet.state, loud.state)
	if d.w.curtain != nil {
		t.Error("an emergency stays behind the curtain")
	}
}

func TestErase(t *testing.T) {
	b := newBook(demoBook())
	gone := b.records().Book.Persons[1]
	d := open(t, b)
	d.w.show("household")
	d.settle()
	if d.has("removed-people") {
		t.Error("nobody was removed yet")
	}
	d.tap("person-"+gone.Name, "delete-person", "confirm")
	d.shows("removed.why")
	if !d.has("undo") {
		t.Error("a removal cannot be taken back where it is said")
	}
	b.knowing = someCopies()
	d.tap("removed-" + gone.Name)
	d.shows("erase.copies", "n", 4, "name", gone.Name)
	d.shows("erase.not", "name", gone.Name)
	if d.has("delete-for-good") {
		t.Error("erased without a word about the copies")
	}
	d.tap("show-papers")
	if len(b.shown) != 1 {
		t.Errorf("shown: %v", b.shown)
	}
	d.tap("copies-drop-copies", "delete-for-good", "keep")
	if len(b.erased) > 0 {
		t.Error("erased although somebody said no")
	}
	b.fails = told{model.T("trouble.disk-full")}
	d.tap("delete-for-good", "confirm")
	d.shows("trouble.disk-full")
	b.fails = nil
	d.tap("delete-for-good", "confirm")
	d.shows("erase.done-copies", "name", gone.Name)
	d.shows("removed.nobody")
	if len(b.erased) != 1 || b.erased[0] != gone.ID || len(b.knowing) > 0 {
		t.Errorf("erased %v, copies left %d", b.erased, len(b.knowing))
	}
	if d.has("undo") {
		t.Error("what cannot be taken back is offered to be")
	}
	d.w.undo()
	if _, back := b.state.Member(gone.ID); back {
		t.Error("undo brought somebody back who was erased")
	}
}

// TestErasedInPart: what could not be wiped is said, and nothing is offered twice.
func TestErasedInPart(t *testing.T) {
	b := newBook(demoBook())
	gone := b.records().Book.Persons[1]
	if err := b.Save(household.Changes{RemovePersons: []model.ID{gone.ID}}); err != nil {
		t.Fatal(err)
	}
	d := open(t, b)
	d.w.house = halfErased{b}
	d.w.show("household")
	d.settle()
	d.tap("removed-people", "removed-"+gone.Name, "delete-for-good", "confirm")
	d.shows("erase.trace")
	if d.has("delete-for-good") {
		t.Error("offered again")
	}
}

// halfErased is a book that forgets, and then cannot go on.
type halfErased struct{ *book }

func (h halfErased) Erase(p model.ID, copies bool) error {
	_ = h.book.Erase(p, copies)
	return errors.New("no space left")
}
