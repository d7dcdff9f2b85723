package ui

import (
	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
)

// welcome is the first run: languages and size by showing them, who is tested,
// what is true for them, whom to ring. All of it can be skipped.
func (w *Window) welcome() func() view {
	return func() view {
		k := w.kit
		return view{title: model.T("welcome.title"),
			body: []fyne.CanvasObject{k.Both(model.T("welcome.what")), k.Both(model.T("welcome.never")), k.Both(model.T("welcome.local")),
				w.sizeChoice(), k.Card(k.Both(model.T("welcome.size-words"))), w.inkChoice(), w.languageChoice(), w.secondChoice()},
			main: &action{"next", model.T("do.next"), func() { w.turn(w.welcomeWho()) }}}
	}
}

func (w *Window) welcomeWho() func() view {
	page := w.personPage(model.Person{}, func(p model.Person) {
		w.notice = nil
		w.turn(w.welcomeConditions(p))
	})
	return func() view {
		v := page()
		v.title = model.T("welcome.who")
		v.body = append([]fyne.CanvasObject{w.kit.Both(model.T("welcome.who-help"))}, v.body...)
		v.back = w.backTo(func() { w.turn(w.welcome()) })
		v.main.id, v.main.label = "next", model.T("do.next")
		return w.skippable(v, w.welcomeNumbers())
	}
}

func (w *Window) welcomeConditions(p model.Person) func() view {
	return func() view {
		v := view{title: model.T("welcome.conditions", "name", p.Name), body: w.switchList(p),
			main: &action{"next", model.T("do.next"), func() { w.turn(w.welcomeNumbers()) }}}
		return v
	}
}

func (w *Window) welcomeNumbers() func() view {
	return func() view {
		return view{title: model.T("welcome.numbers"),
			body: append([]fyne.CanvasObject{w.kit.Both(model.T("household.numbers-help"))}, w.numberFields()...),
			main: &action{"finish", model.T("welcome.finish"), func() {
				if w.keepNumbers(map[string]string{household.SetWelcomed: "yes"}) {
					w.show("today")
				}
			}}}
	}
}

// skippable adds the way past a page.
func (w *Window) skippable(v view, next func() view) view {
	v.body = append(v.body, w.kit.Row(w.kit.Button("skip", model.T("do.skip"), func() { w.turn(next) })))
	return v
}
