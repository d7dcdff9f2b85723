package ui

import (
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/ui/kit"
)

// note takes a call, a visit or anything else in free words, and shows the
// earlier ones with what was said of findings: the household's log of calls.
func (w *Window) note(p model.Person) func() view {
	text, at := "", &moment{}
	var page func() view
	page = func() view {
		k := w.kit
		field := k.Field(kit.Ask{ID: "note", Label: model.T("daily.note.text"), Lines: 4}, text, func(s string) { text = s })
		body := append([]fyne.CanvasObject{k.Both(model.T("daily.note.how")), field}, w.momentPart(at)...)
		return view{title: model.T("daily.note"), whose: &p, back: w.backTo(w.goBack), focus: field.Focusable(), body: append(body, w.earlierNotes(p)...),
			main: w.unlessReadOnly(&action{"save", model.T("do.save-for", "name", w.called(p)), func() {
				form := checked{w: w}
				form.check(field, unless(strings.TrimSpace(text) != "", "daily.note.empty"))
				when := at.when(w, &form)
				if form.bad() {
					return
				}
				w.jotDown(&jot{person: p, form: page,
					entries: []model.Entry{w.newEntry(p, model.Note, when, model.Value{Code: "text", Word: strings.TrimSpace(text)})}})
			}})}
	}
	return page
}

// manyNotes is how many of them the page shows; the timeline has all.
const manyNotes = 20

func (w *Window) earlierNotes(p model.Person) []fyne.CanvasObject {
	k := w.kit
	m, ok := w.house.State().Member(p.ID)
	if !ok {
		return nil
	}
	var cards []fyne.CanvasObject
	for _, e := range slices.Backward(m.Result.History.Entries) {
		if len(cards) == manyNotes {
			break
		}
		for _, v := range e.Values {
			switch e.Kind {
			case model.Note:
				cards = append(cards, k.Card(k.Small(kit.Said(w.words.Date(e.When))), k.Text(kit.Said(v.Word))))
			case model.Answer:
				card := []fyne.CanvasObject{k.Small(kit.Said(w.words.Date(e.When)))}
				for _, f := range m.Result.Answered {
					if f.Rule == string(v.Code) && f.Answer.When.Compare(e.When) == 0 {
						card = append(card, k.Strong(f.Title))
						break
					}
				}
				cards = append(cards, k.Card(append(card, k.Text(model.T("daily.note.call", "word", model.T("word."+v.Word), "note", v.Note)))...))
			}
		}
	}
	if len(cards) == 0 {
		return nil
	}
	return append([]fyne.CanvasObject{k.BothSection(model.T("daily.note.earlier"))}, cards...)
}
