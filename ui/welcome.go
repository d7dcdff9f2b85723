package ui

import (
	"fyne.io/fyne/v2"

	"quietwater/assets"
	"quietwater/model"
	"quietwater/model/household"
)

// welcome is the first run: languages and size by showing them, who is tested,
// what is true for them, whom to ring. All of it can be skipped, and every step
// leads back to the one before with what was typed there.
func (w *Window) welcome() func() view {
	who := &personForm{}
	who.person.Mark = len(w.house.State().Members) % assets.Leaves
	who.saved = func(model.Person) {
		w.notice = nil
		w.turn(w.welcomeConditions(who))
	}
	return w.welcomeLook(who)
}

func (w *Window) welcomeLook(who *personForm) func() view {
	return func() view {
		k := w.kit
		body := []fyne.CanvasObject{k.Both(model.T("welcome.what")), k.Both(model.T("welcome.never")), k.Both(model.T("welcome.local")),
			w.sizeChoice(), k.Card(k.Both(model.T("welcome.size-words"))), w.inkChoice(), w.languageChoice(), w.secondChoice()}
		if w.house.CanBackUp() { // a new computer after the old one broke
			body = append(body, k.Row(k.Button("restore", model.T("restore.title"), func() { w.open(w.restore()) })))
		}
		return view{title: model.T("welcome.title"), body: body,
			main: &action{"next", model.T("do.next"), func() { w.turn(w.welcomeWho(who)) }}}
	}
}

func (w *Window) welcomeWho(who *personForm) func() view {
	return func() view {
		v := w.personView(who)
		v.title, v.whose = model.T("welcome.who"), nil
		v.body = append([]fyne.CanvasObject{w.kit.Both(model.T("welcome.who-help"))}, v.body...)
		v.back = w.backTo(func() { w.turn(w.welcomeLook(who)) })
		v.main.id, v.main.label = "next", model.T("do.next")
		v.body = append(v.body, w.kit.Row(w.kit.Button("skip", model.T("do.skip"), func() {
			w.leaving(func() { w.turn(w.welcomeNumbers(who)) })
		})))
		return v
	}
}

func (w *Window) welcomeConditions(who *personForm) func() view {
	return func() view {
		return view{title: model.T("welcome.conditions", "name", who.person.Name), body: w.switchList(who.person),
			back: w.backTo(func() { w.turn(w.welcomeWho(who)) }),
			main: &action{"next", model.T("do.next"), func() { w.turn(w.welcomeNumbers(who)) }}}
	}
}

func (w *Window) welcomeNumbers(who *personForm) func() view {
	before := w.welcomeWho
	if who.person.ID != "" {
		before = w.welcomeConditions
	}
	return func() view {
		return view{title: model.T("welcome.numbers"), back: w.backTo(func() { w.turn(before(who)) }),
			body: append([]fyne.CanvasObject{w.kit.Both(model.T("household.numbers-help"))}, w.numberFields()...),
			main: &action{"finish", model.T("welcome.finish"), func() {
				if w.keepNumbers(map[string]string{household.SetWelcomed: "yes"}) {
					w.show("today")
				}
			}}}
	}
}
