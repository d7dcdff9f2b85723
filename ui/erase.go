package ui

import (
	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// SafeCopy is a copy of the book that lies beside it.
type SafeCopy struct {
	When       model.When
	Entries    int
	Unreadable bool // nobody can tell who is in it
}

// removedPage lists who was removed: hidden, and still in the book.
func (w *Window) removedPage() view {
	k := w.kit
	var people []kit.ListItem
	for _, p := range w.house.Removed() {
		people = append(people, kit.ListItem{ID: "removed-" + p.Name, Title: model.T("erase.person", "name", p.Name), Lead: k.Leaf(p.Mark, p.Name),
			Open: func() { w.open(w.erase(p)) }})
	}
	body := []fyne.CanvasObject{k.BothSection(model.T("removed.title"))}
	if len(people) == 0 {
		body = append(body, k.Both(model.T("removed.nobody")))
	} else {
		body = append(body, k.Both(model.T("removed.why")))
		for _, p := range w.house.Removed() {
			body = append(body, k.Row(k.Button("back-"+p.Name, model.T("removed.back", "name", p.Name), func() { w.bringBackPerson(p) })))
		}
		body = append(body, apart(), k.List(people...))
	}
	return view{title: model.T("screen.household"), body: body, back: w.backTo(w.goBack)}
}

// bringBackPerson puts somebody who was removed back with all their entries.
func (w *Window) bringBackPerson(p model.Person) {
	if w.save(household.Changes{Persons: []model.Person{p}}) {
		w.close()
	}
}

// erasing is somebody being erased for good.
type erasing struct {
	w      *Window
	person model.Person
	looked bool
	copies []SafeCopy
	too    string // what of the copies: "", keepCopies or dropCopies
	busy   bool
	here   bool
	failed model.Msg
	gone   bool // from the book; a trace may be left
}

const (
	keepCopies = "keep-copies"
	dropCopies = "drop-copies"
)

// erase begins with a look at the safe copies.
func (w *Window) erase(p model.Person) func() view {
	e := &erasing{w: w, person: p}
	return e.view
}

func (e *erasing) view() view {
	v := view{title: model.T("screen.household"), whose: &e.person, enter: e.look, leave: func() { e.here = false }}
	switch {
	case e.busy || !e.looked:
		v.busy = e.busy
		v.body = []fyne.CanvasObject{e.w.kit.Step(model.T(map[bool]string{true: "erase.busy", false: "erase.looking"}[e.busy]))}
	case e.gone:
		v.body = []fyne.CanvasObject{e.w.kit.Notice(kit.NoticeFailed, e.failed), e.w.kit.Both(model.T("erase.trace"))}
	default:
		v.body = e.ask()
	}
	if !e.busy {
		v.back = e.w.backTo(e.w.goBack)
	}
	return v
}

// look finds the copies that hold the person, beside the window's own work.
func (e *erasing) look() {
	if e.here = true; e.looked {
		return
	}
	var found []SafeCopy
	var err error
	e.w.beside(func() { found, err = e.w.house.CopiesOf(e.person.ID) }, func() {
		if e.copies, e.looked = found, true; err != nil {
			e.failed = tell(err)
		}
		if len(found) == 0 {
			e.too = keepCopies
		}
		if e.here {
			e.w.redraw()
		}
	})
}

func (e *erasing) ask() []fyne.CanvasObject {
	w, name := e.w, e.person.Name
	k := w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("erase.title", "name", name))}
	if !e.failed.IsZero() {
		body = append(body, k.Notice(kit.NoticeCare, e.failed))
	}
	body = append(body, k.Both(model.T("erase.what", "name", name)))
	if n := len(e.copies); n == 0 {
		body = append(body, k.Both(model.T("erase.copies-none", "name", name)))
	} else {
		body = append(body, k.Both(model.T("erase.copies", "n", n, "name", name)))
		var lines []fyne.CanvasObject
		for _, c := range e.copies {
			line := model.T("trouble.copy", "when", c.When, "n", c.Entries)
			if c.Unreadable {
				line = model.T("erase.copy-unreadable", "when", c.When)
			}
			lines = append(lines, k.Text(line))
		}
		body = append(body, k.Card(lines...), k.Choice("copies", model.T("erase.which"), []kit.Option{
			{ID: keepCopies, Label: model.T("erase.keep-copies")},
			{ID: dropCopies, Label: model.T("erase.drop-copies"), Note: model.T("erase.drop-copies-note", "name", name)},
		}, e.too, func(too string) {
			e.too = too
			w.redraw()
		}))
	}
	body = append(body, k.Both(model.T("erase.not", "name", name)), k.BothSmall(model.T("erase.name-left", "name", name)))
	if papers := w.house.Papers(); papers != "" {
		body = append(body, k.Both(model.T("erase.papers")), k.Strong(kit.Said(papers)),
			k.Row(k.Button("show-papers", model.T("erase.show-papers"), func() { w.house.Show(papers) })))
	}
	if e.too == "" { // nothing is done before somebody has said what of the copies
		return append(body, k.BothSmall(model.T("erase.choose")))
	}
	return append(body, apart(), k.Row(k.Button("delete-for-good", model.T("erase.do", "name", name), e.confirm)))
}

func (e *erasing) confirm() {
	e.w.kit.Confirm(e.w.win.Canvas(), kit.Question{Title: model.T("erase.title", "name", e.person.Name), Body: model.T("erase.no-way-back"),
		Keep: model.T("do.keep"), Do: model.T("erase.do", "name", e.person.Name), Danger: true, Then: e.run})
}

// run erases beside the window's own work.
func (e *erasing) run() {
	w := e.w
	e.busy, e.failed = true, model.Msg{}
	w.notice = nil // what it offers to take back may be gone
	w.redraw()
	var err error
	w.beside(func() { err = w.house.Erase(e.person.ID, e.too == dropCopies) }, func() {
		e.busy = false
		w.forget(e.person.ID)
		if err != nil {
			e.failed, e.looked, e.gone = tell(err), true, !e.removed()
			w.redraw()
			return
		}
		key := "erase.done"
		if e.too == dropCopies {
			key = "erase.done-copies"
		}
		w.say(model.T(key, "name", e.person.Name), false)
		w.close()
	})
}

// removed reports that the book still has the person.
func (e *erasing) removed() bool {
	for _, p := range e.w.house.Removed() {
		if p.ID == e.person.ID {
			return true
		}
	}
	return false
}

// forget drops what the window itself remembers of somebody.
func (w *Window) forget(p model.ID) {
	delete(w.sheets, p)
	if w.tested != nil && w.tested.draft.Person == p {
		w.tested = nil
	}
	if w.sheet != nil && w.sheet.form.person.ID == p {
		w.sheet = nil
	}
	if w.person == p {
		w.person = ""
	}
	clear(w.thumbnails)
}
