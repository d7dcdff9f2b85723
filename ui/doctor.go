package ui

import (
	"slices"
	"strconv"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/page"
	"quietwater/ui/kit"
)

// DoctorAsk is what a page for the doctor is asked for.
type DoctorAsk struct {
	Person    model.ID
	Languages []string // the doctor's first; a second gets a side of its own
	Asked     page.Asked
	Letter    bool
	More      bool
}

// doctor makes the page for the doctor: what one person wants to ask, how the
// page is to be, and what stands on it.
func (w *Window) doctor() view {
	k := w.kit
	st := w.house.State()
	m, ok := w.member()
	if !ok {
		return view{title: model.T("screen.doctor"), body: []fyne.CanvasObject{k.Both(model.T("today.nobody"))},
			main: w.unlessReadOnly(&action{"add-person", model.T("today.add-person"), func() { w.open(w.editPerson(model.Person{})) }})}
	}
	body := []fyne.CanvasObject{k.Both(model.T("doctor.how"))}
	if len(st.Members) > 1 {
		body = append(body, w.whose(st, m.Person.ID))
	}
	questions := w.questions(m.Person)
	body = append(body, questions.fields...)
	how := w.pageAsked()
	body = append(body, w.pageChoices(how)...)
	asked := w.askedOf(m, how, questions.typed)
	body = append(body, k.BothSection(model.T("doctor.preview")), k.BothSmall(model.T("doctor.preview-how")))
	body = append(body, w.pagePreview(m.Result, asked)...)
	return view{title: model.T("screen.doctor"), whose: &m.Person, body: body, kept: true, leave: questions.keep,
		main: &action{"make-page", model.T("doctor.make"), func() {
			questions.keep()
			w.makePage(m, how, w.askedOf(m, how, questions.typed))
		}}}
}

// questions are the person's own for the doctor, kept as soon as the box is
// left.
type questions struct {
	typed  []string
	fields []fyne.CanvasObject
	keep   func()
}

func (w *Window) questions(p model.Person) questions {
	k := w.kit.AtOnce()
	q := questions{typed: make([]string, page.Asks)}
	saved := func() []string {
		out := make([]string, page.Asks)
		copy(out, w.house.State().Records.Asks(p.ID))
		return out
	}
	copy(q.typed, saved())
	q.keep = func() {
		if w.house.ReadOnly().IsZero() && !slices.Equal(q.typed, saved()) {
			w.keep(household.KeepAsks(p.ID, q.typed))
		}
	}
	q.fields = []fyne.CanvasObject{k.BothSection(model.T("doctor.asks")), k.BothSmall(model.T("doctor.asks-how"))}
	for i := range page.Asks {
		f := k.Field(kit.Ask{ID: "ask-" + strconv.Itoa(i+1), Label: model.T("doctor.ask", "n", i+1), Lines: 2, Width: 60}, q.typed[i], func(s string) { q.typed[i] = s })
		f.OnLeft(q.keep)
		if !w.house.ReadOnly().IsZero() {
			f.Disable()
		}
		q.fields = append(q.fields, f)
	}
	return q
}

// pageChoices are how the page is to be, kept with the book.
func (w *Window) pageChoices(how household.DoctorPage) []fyne.CanvasObject {
	k := w.kit.AtOnce()
	set := func(change func(*household.DoctorPage)) {
		now := w.pageAsked()
		change(&now)
		if !w.house.ReadOnly().IsZero() {
			w.pageFor = &now
		} else if !w.keep(household.KeepDoctorPage(now)) {
			return
		}
		w.redraw()
	}
	var periods []kit.Option
	for _, n := range page.Months() {
		periods = append(periods, kit.Option{ID: strconv.Itoa(n), Label: model.T("doctor.months", "n", n)})
	}
	out := []fyne.CanvasObject{
		k.ShortChoice("period", model.T("doctor.period"), periods, strconv.Itoa(how.Months), func(id string) {
			set(func(d *household.DoctorPage) { d.Months, _ = strconv.Atoi(id) })
		}),
		k.Select("doctor-language", model.T("doctor.language"), languageOptions(), w.doctorTongue(how), func(tag string) {
			set(func(d *household.DoctorPage) { d.Language = tag })
		}),
	}
	if w.doctorTongue(how) != w.words.First() {
		out = append(out, k.Check("copy", model.T("doctor.copy"), how.Copy, func(on bool) {
			set(func(d *household.DoctorPage) { d.Copy = on })
		}))
	}
	return append(out,
		k.Check("more", model.T("doctor.more"), how.More, func(on bool) { set(func(d *household.DoctorPage) { d.More = on }) }),
		k.Check("letter", model.T("doctor.letter"), how.Letter, func(on bool) { set(func(d *household.DoctorPage) { d.Letter = on }) }))
}

// pageAsked is how the page is asked for: as it was the last time, or as was
// chosen since in a book that can only be read.
func (w *Window) pageAsked() household.DoctorPage {
	if w.pageFor != nil {
		return *w.pageFor
	}
	return w.house.State().Records.DoctorPage()
}

// doctorTongue is the language of the page.
func (w *Window) doctorTongue(how household.DoctorPage) string {
	if how.Language != "" {
		return how.Language
	}
	return w.words.First()
}

// askedOf is what the page is made from.
func (w *Window) askedOf(m household.Member, how household.DoctorPage, questions []string) page.Asked {
	day := model.OnDay(w.house.Now().AddDate(0, -how.Months, 0)).DayIn(w.house.Now().Location())
	two := 0
	for _, t := range w.house.State().Records.Twofold {
		if e := t.Forms[0].Entry; e != nil && e.Person == m.Person.ID {
			two++
		}
	}
	return page.Asked{Since: day, Questions: questions, Packs: w.house.State().Records.Book.Packs, Twofold: two}
}

// makePage has the page written beside the window's own work, and says where it
// lies and what it had no room for.
func (w *Window) makePage(m household.Member, how household.DoctorPage, asked page.Asked) {
	ask := DoctorAsk{Person: m.Person.ID, Languages: []string{w.doctorTongue(how)}, Asked: asked, Letter: how.Letter, More: how.More}
	if how.Copy && ask.Languages[0] != w.words.First() {
		ask.Languages = append(ask.Languages, w.words.First())
	}
	var path string
	var left int
	var err error
	w.beside(func() { path, left, err = w.house.DoctorPage(ask) }, func() {
		switch {
		case err != nil:
			w.fail(err)
			return
		case left > 0 && how.More:
			w.say(model.T("doctor.made-more", "path", path, "n", left), false)
		case left > 0:
			w.say(model.T("doctor.made-short", "path", path, "n", left), false)
		default:
			w.say(model.T("doctor.made", "path", path), false)
		}
		w.bar()
	})
}

// pagePreview is what stands on the page, in the reader's own language and at
// the reader's size.
func (w *Window) pagePreview(r finding.Result, asked page.Asked) []fyne.CanvasObject {
	k := w.kit
	p := page.Of(r, asked)
	card := []fyne.CanvasObject{k.Section(model.T("doc.title", "name", p.Person.Name)), k.Text(w.factLine("", p.Who)), k.Text(p.Period)}
	out := []fyne.CanvasObject{k.Card(card...)}
	for _, s := range p.Sections {
		card := []fyne.CanvasObject{k.Strong(s.Title)}
		for _, l := range s.Lines {
			label := ""
			if !l.Label.IsZero() {
				label = w.words.T(l.Label)
			}
			text := w.factLine(label, l.Facts)
			if l.Own != "" {
				text = kit.Said(l.Own)
			}
			line := fyne.CanvasObject(k.Text(text))
			if l.Urgency != nil {
				line = k.Beside(k.TideMark(int(*l.Urgency)), line)
			}
			card = append(card, line)
		}
		out = append(out, k.Card(card...))
	}
	return append(out, k.Small(p.Foot))
}

// factLine says facts one after the other behind their label.
func (w *Window) factLine(label string, facts []model.Msg) model.Msg {
	text := ""
	for i, f := range facts {
		if i > 0 {
			text += " · "
		}
		text += w.words.T(f)
	}
	if label != "" {
		text = label + ": " + text
	}
	return kit.Said(text)
}
