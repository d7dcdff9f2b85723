package ui

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/sheet"
	"quietwater/ui/kit"
)

// labForm is a laboratory sheet as it stands in the boxes. The window keeps it
// until it is saved or thrown away, so that help, another page or Back lose
// nothing.
type labForm struct {
	person model.Person
	draft  sheet.Draft
	typed  map[model.Code]string // as typed, with comma or point
	chosen map[model.Code]string // plain numbers somebody chose where the typed one reads two ways
	marks  bool                  // the sheet marks results: boxes for the marks are shown
	all    bool                  // every box is shown

	day    *kit.DateField
	boxes  map[model.Code]*kit.NumberField
	places []model.Code // in the order of the page
	last   model.Code   // the box typed into last
}

// begun is a labForm as the book keeps it.
type begun struct {
	Draft         sheet.Draft
	Day           string
	Typed, Chosen map[model.Code]string
	Marks, All    bool
}

// keptSheet is a saved sheet with the boxes it came from, for undo.
type keptSheet struct {
	entry model.ID
	form  *labForm
}

// sheetsBegun reads the sheets that were left unfinished, also by a computer
// that went dark. What cannot be read any more is none.
func sheetsBegun(st *household.State) map[model.ID]*labForm {
	out := map[model.ID]*labForm{}
	var all []begun
	if json.Unmarshal([]byte(st.Records.Settings[household.SetSheets]), &all) != nil {
		return out
	}
	for _, b := range all {
		m, known := st.Member(b.Draft.Person)
		if !known {
			continue
		}
		f := newLabForm(m.Person)
		f.draft, f.marks, f.all = b.Draft, b.Marks, b.All
		f.draft.Day, _ = model.ParseWhen(b.Day, st.Now.Location()) // without one the box is empty
		maps.Copy(f.typed, b.Typed)
		maps.Copy(f.chosen, b.Chosen)
		out[m.Person.ID] = f
	}
	return out
}

// sheetSetting is what the book keeps of the sheets begun, but for one person's.
func (w *Window) sheetSetting(but model.ID) map[string]string {
	var all []begun
	for _, id := range slices.Sorted(maps.Keys(w.sheets)) {
		if f := w.sheets[id]; id != but && !f.draft.Changing() && !f.empty() {
			all = append(all, begun{f.draft, f.draft.Day.String(), f.typed, f.chosen, f.marks, f.all})
		}
	}
	text := ""
	if len(all) > 0 {
		b, err := json.Marshal(all)
		if err != nil { // it holds only plain values: cannot happen
			panic(err)
		}
		text = string(b)
	}
	return map[string]string{household.SetSheets: text}
}

// keepSheets writes down what was copied so far, so that nothing is lost when
// the computer goes dark in the middle of a sheet.
func (w *Window) keepSheets() {
	c := w.sheetSetting("")
	if w.house.ReadOnly().IsZero() && c[household.SetSheets] != w.house.State().Records.Settings[household.SetSheets] {
		w.keep(household.Changes{Settings: c})
	}
}

// bringBackSheet makes a sheet that was taken back a draft again.
func (w *Window) bringBackSheet() {
	if w.sheet == nil || w.sheets[w.sheet.form.person.ID] != nil ||
		slices.ContainsFunc(w.house.State().Records.Book.Entries, func(e model.Entry) bool { return e.ID == w.sheet.entry }) {
		return
	}
	w.sheets[w.sheet.form.person.ID] = w.sheet.form
	w.sheet = nil
	w.keepSheets()
}

func newLabForm(p model.Person) *labForm {
	return &labForm{person: p, draft: sheet.Draft{Person: p.ID}, typed: map[model.Code]string{}, chosen: map[model.Code]string{}}
}

func (f *labForm) empty() bool { return len(f.typed) == 0 && f.draft.Empty() }

// sheetButton says whether a sheet is begun or gone on with.
func (w *Window) sheetButton(p model.Person) model.Msg {
	if f := w.sheets[p.ID]; f != nil && !f.draft.Changing() && !f.empty() {
		return model.T("lab.go-on")
	}
	return model.T("lab.enter")
}

// enterSheet goes on with the person's unfinished sheet, or begins one.
func (w *Window) enterSheet(p model.Person) {
	f := w.sheets[p.ID]
	if f == nil || f.draft.Changing() {
		f = newLabForm(p)
		w.sheets[p.ID] = f
	}
	w.open(func() view { return w.sheetPage(f) })
}

// changeSheet opens a sheet of the book.
func (w *Window) changeSheet(p model.Person, s sheet.Sheet) {
	f := newLabForm(p)
	f.draft = sheet.Open(p.ID, s)
	for _, l := range f.draft.Lines {
		f.typed[l.Code] = w.words.Number(l.Typed)
		f.chosen[l.Code] = l.Typed
		f.marks = f.marks || l.Mark != ""
	}
	w.sheets[p.ID] = f
	w.open(func() view { return w.sheetPage(f) })
}

// entriesOf are one person's entries.
func (w *Window) entriesOf(id model.ID) []model.Entry {
	m, ok := w.house.State().Member(id)
	if !ok {
		return nil
	}
	return m.Result.History.Entries
}

// sheetPage has the boxes to copy a sheet into.
func (w *Window) sheetPage(f *labForm) view {
	k := w.kit
	had := w.entriesOf(f.person.ID)
	f.day = k.DateField(kit.AskDate{ID: "day", Label: model.T("lab.day"), Help: model.T("lab.day-help"), Value: f.draft.Day, Today: w.house.Now(), Recent: true, Changed: f.takeDay})
	where := k.Field(kit.Ask{ID: "laboratory", Label: model.T("lab.where"), Help: model.T("lab.where-help")}, f.draft.Laboratory, func(s string) { f.draft.Laboratory = s })
	body := []fyne.CanvasObject{k.Both(model.T("lab.how")), f.day, where}
	if known := sheet.Laboratories(had); len(known) > 0 {
		var names []fyne.CanvasObject
		for _, name := range known[:min(3, len(known))] {
			names = append(names, k.Button("lab-"+name, kit.Said(name), func() {
				f.draft.Laboratory = name
				w.focusNext = "laboratory"
				w.redraw()
			}))
		}
		body = append(body, k.Row(names...))
	}
	body = append(body,
		k.ShortChoice("fasting", model.T("lab.fasting"), yesNoUnsure(), f.draft.Fasting, func(s string) { f.draft.Fasting = s }),
		k.ShortChoice("ill-then", model.T("lab.ill-then"), yesNoUnsure(), f.draft.Ill, func(s string) { f.draft.Ill = s }),
		k.Check("marks", model.T("lab.marks"), f.marks, func(on bool) {
			f.marks = on
			w.redraw()
		}))
	body = append(body, w.sheetBoxes(f, had)...)
	body = append(body, k.Field(kit.Ask{ID: "note", Label: model.T("lab.note"), Lines: 3}, f.draft.Note, func(s string) { f.draft.Note = s }))
	if f.draft.Changing() {
		body = append(body, apart(), k.Row(k.Button("delete-sheet", model.T("do.delete"), func() { w.askDeleteSheet(f) })))
	} else {
		if !f.empty() {
			body = append(body, apart(), k.Row(k.Button("drop-sheet", model.T("lab.drop"), func() { w.askDropSheet(f) })))
		}
		if n := len(sheet.Sheets(had)); n > 0 {
			body = append(body, k.Row(k.Button("earlier-sheets", model.T("lab.earlier"), func() { w.open(func() view { return w.earlierSheets(f.person) }) })))
		}
	}
	return view{title: model.T("lab.title"), whose: &f.person, body: body, back: w.backTo(w.goBack), focusID: "day-day", leave: w.keepSheets, kept: !f.draft.Changing(),
		main: w.unlessReadOnly(&action{"next", model.T("do.next"), func() { w.nextDoubt(f) }})}
}

func yesNoUnsure() []kit.Option {
	return []kit.Option{{ID: "yes", Label: model.T("do.yes")}, {ID: "no", Label: model.T("do.no")}, {ID: "unsure", Label: model.T("do.unsure")}}
}

// takeDay keeps what the date boxes hold, so that a redraw does not lose it.
func (f *labForm) takeDay() {
	if d, p := f.day.Value(); p == nil {
		f.draft.Day = d
	} else if f.day.Empty() {
		f.draft.Day = model.When{}
	}
}

// sheetBoxes are the boxes for numbers: the usual ones, or all in groups.
func (w *Window) sheetBoxes(f *labForm, had []model.Entry) []fyne.CanvasObject {
	k := w.kit
	f.boxes, f.places = map[model.Code]*kit.NumberField{}, nil
	usual := sheet.Usual(had)
	remembered := sheet.Remembered(had, f.draft.Laboratory)
	latest := map[model.Code]model.Msg{}
	if m, ok := w.house.State().Member(f.person.ID); ok {
		for _, r := range m.Result.History.Numbers.Latest {
			latest[r.Value.Code] = model.T("lab.last", "value", model.ValueOf{Kind: model.Lab, Value: r.Value}, "when", r.When)
		}
	}
	var body []fyne.CanvasObject
	hidden := false
	for _, g := range sheet.Groups() {
		var boxes []fyne.CanvasObject
		for _, c := range g.Codes {
			if _, typed := f.typed[c]; !f.all && !typed && !slices.Contains(usual, c) {
				hidden = true
				continue
			}
			boxes = append(boxes, w.sheetBox(f, c, remembered[c], latest[c])...)
		}
		if len(boxes) > 0 {
			body = append(body, k.BothSection(model.T("lab.group."+g.ID)))
			body = append(body, boxes...)
		}
	}
	if hidden {
		body = append(body, k.Row(k.Button("more", model.T("lab.more"), func() {
			f.all = true
			w.redraw()
		})))
	}
	return body
}

// sheetBox is one number with its unit, the last one for comparison, and a box
// for the sheet's mark where it has marks.
func (w *Window) sheetBox(f *labForm, c model.Code, remembered string, last model.Msg) []fyne.CanvasObject {
	k := w.kit
	it, _ := model.Find(model.Lab, c)
	line := f.draft.Line(c)
	unit := line.Unit
	if unit == "" && f.typed[c] == "" {
		unit = remembered
	}
	a := kit.Ask{ID: string(c), Label: model.T("guided.pads", "pads", model.T("name.lab."+string(c))), Help: last}
	var units []kit.Option
	for _, u := range it.Units {
		units = append(units, kit.Option{ID: u.UCUM, Label: kit.Said(w.words.Unit(u.UCUM))})
	}
	f.boxes[c] = k.NumberField(a, f.typed[c], units, unit, func(typed, unit string) {
		if f.last != c { // the box before this one is done
			f.last = c
			w.keepSheets()
		}
		f.take(c, typed, unit)
	})
	f.places = append(f.places, c)
	out := []fyne.CanvasObject{f.boxes[c]}
	if f.marks {
		out = append(out, k.Field(kit.Ask{ID: string(c) + "-mark", Label: model.T("lab.mark", "what", model.T("name.lab."+string(c))), Width: 6}, line.Mark, func(s string) {
			l := f.draft.Line(c)
			if l.Mark = strings.TrimSpace(s); l.Typed != "" {
				f.draft.Set(l)
			}
		}))
	}
	return out
}

// take keeps a box as it stands; a number typed anew is asked about anew.
func (f *labForm) take(c model.Code, typed, unit string) {
	if typed != f.typed[c] {
		delete(f.chosen, c)
	}
	if f.typed[c] = typed; strings.TrimSpace(typed) == "" {
		delete(f.typed, c)
	}
	l := f.draft.Line(c)
	l.Typed, l.Unit = strings.TrimSpace(typed), unit
	if plain, ok := f.chosen[c]; ok {
		l.Typed = plain
	}
	f.draft.Set(l)
}

// nextDoubt checks the boxes, then asks what is doubtful, one question a page,
// and at the end shows all for a last look.
func (w *Window) nextDoubt(f *labForm) {
	if !w.sheetProblems(f) {
		return
	}
	if doubts := sheet.Check(f.draft, w.entriesOf(f.person.ID), w.house.Now()); len(doubts) > 0 {
		w.stepTo(func() view { return w.doubtPage(f, doubts[0]) })
		return
	}
	w.stepTo(func() view { return w.sheetReview(f) })
}

// stepTo opens the next page of the sheet in place of the one before, so that
// Back always leads to the boxes.
func (w *Window) stepTo(page func() view) {
	w.notice = nil
	w.turn(page)
}

func (w *Window) backToSheet(f *labForm, focus string) {
	w.focusNext = focus
	w.turn(func() view { return w.sheetPage(f) })
}

// sheetProblems shows what is wrong after each box; true when nothing is.
func (w *Window) sheetProblems(f *labForm) bool {
	form := checked{w: w}
	f.takeDay()
	day := dateProblem(f.day)
	switch {
	case f.day.Empty():
		day = model.T("lab.day-missing")
	case day.IsZero() && f.draft.Day.After(w.house.Now()):
		day = model.T("problem.in-the-future")
	case day.IsZero() && w.beforeBirth(f):
		day = model.T("lab.before-birth")
	}
	form.check(f.day, day)
	var twoWays model.Code
	for _, c := range f.places {
		box := f.boxes[c]
		f.take(c, box.Text(), box.Unit())
		why, two := f.read(c)
		form.check(box, why)
		if two && twoWays == "" {
			twoWays = c
		}
	}
	if form.bad() {
		return false
	}
	if twoWays != "" {
		w.stepTo(func() view { return w.readingPage(f, twoWays, f.typed[twoWays]) })
		return false
	}
	if f.draft.Empty() {
		form.check(f.boxes[f.places[0]], model.T("lab.nothing"))
		form.bad()
		return false
	}
	return true
}

func (w *Window) beforeBirth(f *labForm) bool {
	m, ok := w.house.State().Member(f.person.ID)
	return ok && !m.Facts.Birth.IsZero() && f.draft.Day.Compare(m.Facts.Birth) < 0
}

// read takes one box into the draft, or says what is wrong with it, or that it
// reads two ways.
func (f *labForm) read(c model.Code) (why model.Msg, twoWays bool) {
	typed := f.typed[c]
	if strings.TrimSpace(typed) == "" {
		return model.Msg{}, false
	}
	it, _ := model.Find(model.Lab, c)
	l := f.draft.Line(c)
	if l.Unit == "" && len(it.Units) > 0 {
		return model.T("problem.unit-missing", "what", model.T("name.lab."+string(c))), false
	}
	plain, known := f.chosen[c]
	if !known {
		var p *model.Problem
		if plain, p = i18n.ParseResultFor(it, l.Unit, typed); p != nil {
			if _, _, twoWays = i18n.Readings(typed); twoWays {
				return model.Msg{}, true
			}
			return p.Why, false
		}
	}
	l.Typed = plain
	f.draft.Set(l)
	return model.Msg{}, false
}

// readingPage asks which of two numbers was meant.
func (w *Window) readingPage(f *labForm, c model.Code, typed string) view {
	k := w.kit
	whole, decimal, _ := i18n.Readings(typed)
	choose := func(plain string) func() {
		return func() {
			f.chosen[c] = plain
			l := f.draft.Line(c)
			l.Typed = plain
			f.draft.Set(l)
			w.backToSheet(f, string(c))
			w.nextDoubt(f)
		}
	}
	unit := f.draft.Line(c).Unit
	say := func(plain string) model.Msg {
		return model.T("lab.meant", "value", model.Quantity{Typed: plain, UCUM: unit})
	}
	return view{title: model.T("lab.title"), whose: &f.person, back: w.backTo(func() { w.backToSheet(f, string(c)) }),
		body: []fyne.CanvasObject{k.BothSection(model.T("lab.reading", "what", model.T("name.lab."+string(c)), "typed", typed)), k.Both(model.T("lab.reading-help")),
			k.List(kit.ListItem{ID: "decimal", Title: say(decimal), Open: choose(decimal)}, kit.ListItem{ID: "whole", Title: say(whole), Open: choose(whole)},
				kit.ListItem{ID: "look", Title: model.T("sheet.say.look"), Open: func() { w.backToSheet(f, string(c)) }})}, focusID: "decimal"}
}

// doubtPage asks one question about the sheet.
func (w *Window) doubtPage(f *labForm, q sheet.Doubt) view {
	var items []kit.ListItem
	for _, a := range q.Answers {
		items = append(items, kit.ListItem{ID: "answer-" + a.ID, Title: a.Say, Open: func() {
			if a.Look || !f.draft.Give(q, a.ID) {
				w.backToSheet(f, doubtFocus(q))
				return
			}
			f.follow()
			w.nextAfter(f)
		}})
	}
	return view{title: model.T("lab.title"), whose: &f.person, back: w.backTo(func() { w.backToSheet(f, doubtFocus(q)) }),
		body:    []fyne.CanvasObject{w.kit.BothSection(model.T("lab.doubt")), w.kit.Card(w.kit.BothStrong(q.Ask)), w.kit.List(items...)},
		focusID: "answer-look"} // what changes nothing has the keyboard
}

func doubtFocus(q sheet.Doubt) string {
	if q.Code == "" {
		return "day-day"
	}
	return string(q.Code)
}

// nextAfter goes on after an answer, without looking at boxes that are not on
// the page.
func (w *Window) nextAfter(f *labForm) {
	if f.draft.Empty() {
		w.backToSheet(f, "day-day")
		return
	}
	if doubts := sheet.Check(f.draft, w.entriesOf(f.person.ID), w.house.Now()); len(doubts) > 0 {
		w.stepTo(func() view { return w.doubtPage(f, doubts[0]) })
		return
	}
	w.stepTo(func() view { return w.sheetReview(f) })
}

// follow brings the boxes after the draft, which an answer has changed.
func (f *labForm) follow() {
	for c := range maps.Clone(f.typed) {
		l := f.draft.Line(c)
		switch {
		case l.Typed == "":
			delete(f.typed, c)
			delete(f.chosen, c)
		case l.Typed != f.chosen[c]:
			f.chosen[c] = l.Typed
			if plain, p := i18n.ParseNumber(f.typed[c]); p != nil || plain != l.Typed {
				f.typed[c] = l.Typed
			}
		}
	}
}

// sheetReview shows all that will be kept, in both units where there are two,
// with the person's name on the button.
func (w *Window) sheetReview(f *labForm) view {
	k := w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("lab.review")), k.Both(model.T("lab.review-help"))}
	about := []fyne.CanvasObject{k.Strong(model.T("lab.of", "when", f.draft.Day))}
	if s := strings.TrimSpace(f.draft.Laboratory); s != "" {
		about = append(about, k.Text(kit.Said(s)))
	}
	for _, c := range []struct{ key, said string }{{"lab.fasting", f.draft.Fasting}, {"lab.ill-then", f.draft.Ill}} {
		if c.said != "" {
			about = append(about, k.Text(model.T("lab.said", "ask", model.T(c.key), "said", model.T("word."+c.said))))
		}
	}
	body = append(body, k.Card(about...))
	var values []fyne.CanvasObject
	for _, l := range f.draft.Lines {
		value := model.Quantity{Typed: l.Typed, UCUM: l.Unit}
		values = append(values, k.Tight(k.Text(model.T("guided.pads", "pads", model.T("name.lab."+string(l.Code)))), k.Strong(model.T("lab.value", "value", value))))
		one := values[len(values)-1].(*fyne.Container)
		if other, ok := sheet.InOther(l); ok {
			one.Add(k.Small(model.T("lab.same-as", "value", other)))
		}
		if l.Mark != "" {
			one.Add(k.Small(model.T("lab.marked", "mark", l.Mark)))
		}
	}
	if s := strings.TrimSpace(f.draft.Note); s != "" {
		values = append(values, k.Text(kit.Said(s)))
	}
	body = append(body, k.Card(values...))
	return view{title: model.T("lab.title"), whose: &f.person, body: body, back: w.backTo(func() { w.backToSheet(f, "") }),
		main: w.unlessReadOnly(&action{"save", model.T("do.save-for", "name", w.called(f.person)), func() { w.saveSheet(f) }})}
}

func (w *Window) saveSheet(f *labForm) {
	keep, remove := f.draft.Entries(w.author(), w.house.NewID)
	if w.save(household.Changes{Entries: keep, RemoveEntries: remove, Settings: w.sheetSetting(f.person.ID)}) {
		delete(w.sheets, f.person.ID)
		if !f.draft.Changing() {
			w.sheet = &keptSheet{keep[0].ID, f}
		}
		w.turn(func() view { return w.sheetResult(f.person, keep) })
	}
}

// sheetResult tells what a sheet calls for, before anything else.
func (w *Window) sheetResult(p model.Person, kept []model.Entry) view {
	k := w.kit
	v := view{title: model.T("lab.title"), whose: &p, result: true, main: &action{"to-numbers", model.T("lab.to-numbers"), func() {
		w.person = p.ID
		w.show("numbers")
	}}, back: w.backTo(w.toToday)}
	m, ok := w.house.State().Member(p.ID)
	there := func(id model.ID) bool {
		return ok && slices.ContainsFunc(m.Result.History.Entries, func(e model.Entry) bool { return e.ID == id })
	}
	if len(kept) == 0 || !there(kept[0].ID) { // taken back meanwhile
		v.body = []fyne.CanvasObject{k.Both(model.T("done.undone"))}
		return v
	}
	var ids []model.ID
	for _, e := range kept {
		ids = append(ids, e.ID)
	}
	for _, f := range raised(m.Result.Open, ids...) {
		v.body = append(v.body, w.finding(f, true))
	}
	// A number that could only be kept as a note may be the dangerous one.
	if slices.ContainsFunc(kept, func(e model.Entry) bool { return e.Kind == model.Note }) {
		v.body = append(v.body, k.Notice(kit.NoticeCare, model.T("lab.result-note")))
	}
	for _, f := range raised(m.Result.Answered, ids...) {
		v.body = append(v.body, w.finding(f, false))
	}
	if len(v.body) == 0 {
		v.body = append(v.body, k.Card(k.Both(model.T("lab.result-none"))))
	}
	return v
}

func (w *Window) askDropSheet(f *labForm) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("lab.drop"), Body: model.T("lab.drop-note"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			delete(w.sheets, f.person.ID)
			w.keepSheets()
			w.close()
		}})
}

// earlierSheets lists the sheets on record; each opens to be changed.
func (w *Window) earlierSheets(p model.Person) view {
	k := w.kit
	var items []kit.ListItem
	for _, s := range sheet.Sheets(w.entriesOf(p.ID)) {
		var said []string
		for _, v := range s.Values() {
			said = append(said, w.valueLine(model.Lab, v))
		}
		note := strings.Join(said, "; ")
		if s.Laboratory != "" {
			note = s.Laboratory + ". " + note
		}
		items = append(items, kit.ListItem{ID: "sheet-" + s.When.String(), Title: model.T("lab.of", "when", s.When), Note: kit.Said(note),
			Open: func() { w.changeSheet(p, s) }})
	}
	body := []fyne.CanvasObject{k.BothSection(model.T("lab.earlier")), k.List(items...)}
	if len(items) == 0 {
		body = []fyne.CanvasObject{k.Both(model.T("lab.none"))}
	}
	return view{title: model.T("lab.title"), whose: &p, body: body, back: w.backTo(w.goBack)}
}

func (w *Window) askDeleteSheet(f *labForm) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("lab.delete"), Body: model.T("lab.delete-note"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			if w.keep(household.Changes{RemoveEntries: f.draft.Replaces()}) {
				delete(w.sheets, f.person.ID)
				w.say(model.T("done.deleted"), true)
				w.close()
			}
		}})
}
