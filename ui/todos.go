package ui

import (
	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/todo"
)

// todos lists everything with a set time, of everybody, to print it or to carry
// it into a calendar.
func (w *Window) todos() func() view {
	health := false
	return func() view { return w.todosView(&health) }
}

func (w *Window) todosView(health *bool) view {
	k := w.kit
	st := w.house.State()
	items := todo.Of(*st)
	body := []fyne.CanvasObject{k.Both(model.T("todo.how"))}
	if len(items) == 0 {
		body = append(body, k.Card(k.Both(model.T("todo.none"))))
	}
	for _, it := range items {
		body = append(body, w.todoCard(st, it))
	}
	done := func(key string) func(string, error) {
		return func(path string, err error) {
			if err != nil {
				w.fail(err)
				return
			}
			w.say(model.T(key, "path", path), false)
			w.redraw()
		}
	}
	body = append(body, k.Row(k.Button("print-todos", model.T("todo.print"), func() { done("todo.printed")(w.house.TodoList(w.words)) })),
		k.Section(model.T("todo.calendar")),
		k.AtOnce().Check("health", model.T("todo.health"), *health, func(on bool) { *health = on }),
		k.Row(k.Button("save-calendar", model.T("todo.calendar"), func() { done("todo.saved")(w.house.Calendar(w.words, *health)) })))
	if w.house.ReadOnly().IsZero() {
		body = append(body, k.Section(model.T("todo.reminders")),
			k.AtOnce().Check("remind", model.T("todo.remind"), st.Records.Settings[household.SetRemind] == "yes", func(on bool) {
				w.set(household.SetRemind, map[bool]string{true: "yes", false: ""}[on])
			}), k.BothSmall(model.T("todo.remind-help")))
	}
	return view{title: model.T("todo.title"), body: body, back: w.backTo(w.goBack), focusID: "print-todos"}
}

// todoCard is one thing to do: whose it is, what, and when.
func (w *Window) todoCard(st *household.State, it todo.Item) fyne.CanvasObject {
	k := w.kit
	var card []fyne.CanvasObject
	if m, ok := st.Member(it.Person); ok {
		card = append(card, k.PersonMark(m.Person.Mark, w.called(m.Person)))
	}
	card = append(card, k.BothStrong(it.What))
	if it.Overdue(st.Now) {
		card = append(card, k.BothStrong(model.T("todo.late", "to", it.Until())))
	} else {
		card = append(card, k.Both(it.When()))
	}
	return k.Card(card...)
}
