package ui

import (
	"slices"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/daily"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// quickThings are what an ordinary day has to write down, the most frequent
// first.
func (w *Window) quickThings(p model.Person) []action {
	open := func(page func(model.Person) func() view) func() { return func() { w.open(page(p)) } }
	things := []action{
		{"add-drink", model.T("daily.drink"), open(w.drinks)},
		{"add-urine", model.T("daily.urine"), open(w.urine)},
		{"add-weight", model.T("daily.weight"), open(w.weight)},
		{"add-pressure", model.T("daily.pressure"), open(w.pressure)},
		{"add-feel", model.T("daily.feel"), open(w.feel)},
		{"add-temperature", model.T("daily.temperature"), open(w.temperature)},
		{"add-switch", model.T("daily.switches"), open(w.switchesPage)},
		{"add-note", model.T("daily.note"), open(w.note)},
		{"enter-sheet", w.sheetButton(p), func() { w.enterSheet(p) }},
	}
	if w.metersKetones(p) {
		things = append(things, action{"add-ketones", model.T("daily.ketones"), open(w.ketones)})
	}
	return things
}

// writeDown is the list of them, for where no room is left beside the findings.
func (w *Window) writeDown(p model.Person) func() view {
	return func() view {
		var items []kit.ListItem
		for _, a := range w.quickThings(p) {
			items = append(items, kit.ListItem{ID: a.id, Title: a.label, Open: a.do})
		}
		return view{title: model.T("daily.title"), whose: &p, back: w.backTo(w.goBack), body: []fyne.CanvasObject{w.kit.List(items...)}, focusID: items[0].ID}
	}
}

// switchesPage is the list of conditions and medicines on a page of its own.
func (w *Window) switchesPage(p model.Person) func() view {
	return func() view {
		return view{title: model.T("daily.switches"), whose: &p, back: w.backTo(w.goBack), body: w.switchList(p)}
	}
}

// jot is a short entry on its way into the book.
type jot struct {
	person  model.Person
	entries []model.Entry
	settled []string    // doubts that were answered with yes
	form    func() view // the page it comes from, to look again
	say     model.Msg   // what is said once it is kept; zero is that it was
	then    func()      // where to go then; nil is the page Today
	// meant writes down what was meant instead of what was typed.
	meant func(model.Value)
}

// jotDown asks what is doubtful, one question a page, then keeps the entries.
func (w *Window) jotDown(j *jot) {
	for _, e := range j.entries {
		for _, d := range daily.Check(e, w.entriesOf(j.person.ID), w.house.Now()) {
			if !slices.Contains(j.settled, d.ID) {
				w.stepTo(func() view { return w.jotDoubt(j, e.ID, d) })
				return
			}
		}
	}
	if !w.save(household.Changes{Entries: j.entries}) {
		return
	}
	if j.then != nil {
		j.then()
		return
	}
	if j.say.IsZero() {
		j.say = w.savedFor(j.person.ID)
	}
	w.todayAfter(j.person, j.say, true)
}

// todayAfter is somebody's page Today, with what was done to get there.
func (w *Window) todayAfter(p model.Person, say model.Msg, undo bool) {
	w.person = p.ID
	w.turnTo("today")
	w.say(say, undo)
	w.bar()
}

// jotDoubt asks one question about an entry, which has the id. What changes
// nothing has the keyboard.
func (w *Window) jotDoubt(j *jot, id model.ID, d daily.Doubt) view {
	look := func() { w.stepTo(j.form) }
	yes := kit.ListItem{ID: "answer-yes", Title: model.T("daily.right"), Open: func() {
		j.settled = append(j.settled, d.ID)
		w.jotDown(j)
	}}
	safe := kit.ListItem{ID: "answer-look", Title: model.T("daily.look"), Open: look}
	answers := []kit.ListItem{safe, yes}
	switch {
	case d.ID == daily.Again:
		yes.Title = model.T("daily.again-yes")
		safe = kit.ListItem{ID: "answer-no", Title: model.T("daily.again-no"), Open: func() { w.leaveOut(j, id) }}
		answers = []kit.ListItem{yes, safe}
	case d.Meant != nil:
		meant := kit.ListItem{ID: "answer-meant", Title: model.T("daily.meant", "value", model.Quantity{Typed: d.Meant.Text(), UCUM: d.Meant.Unit}),
			Open: func() { j.meant(*d.Meant) }}
		answers = []kit.ListItem{meant, safe}
		if len(j.entries) > 0 { // it can be kept as it stands
			answers = append(answers, yes)
		}
	}
	return view{title: model.T("daily.title"), whose: &j.person, back: w.backTo(look),
		body:    []fyne.CanvasObject{w.kit.BothSection(model.T("lab.doubt")), w.kit.Card(w.kit.BothStrong(d.Ask)), w.kit.List(answers...)},
		focusID: safe.ID}
}

// leaveOut goes on without an entry that is in the book already.
func (w *Window) leaveOut(j *jot, id model.ID) {
	j.entries = slices.DeleteFunc(j.entries, func(e model.Entry) bool { return e.ID == id })
	if len(j.entries) == 0 {
		w.todayAfter(j.person, model.T("daily.again-left"), false)
		return
	}
	w.jotDown(j)
}

// newEntry is an entry of a person, typed by hand.
func (w *Window) newEntry(p model.Person, kind model.Kind, at model.When, vs ...model.Value) model.Entry {
	return model.Entry{ID: w.house.NewID(), Person: p.ID, Kind: kind, When: at, Author: w.author(), Values: vs}
}

// last is the newest value of a code on record.
func (w *Window) last(p model.Person, kind model.Kind, c model.Code) (finding.Evidence, bool) {
	m, ok := w.house.State().Member(p.ID)
	if !ok {
		return finding.Evidence{}, false
	}
	return m.Result.History.Last(kind, c)
}

// lastLine says what stood there the last time.
func (w *Window) lastLine(p model.Person, kind model.Kind, codes ...model.Code) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, c := range codes {
		if s, ok := w.last(p, kind, c); ok {
			out = append(out, w.kit.Text(model.T("daily.last", "what", kit.Said(w.valueLine(kind, s.Value)), "when", s.When)))
		}
	}
	return out
}
