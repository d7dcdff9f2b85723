package ui

import (
	"maps"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// household is the page of people, telephone numbers, reading and hearing, and
// the book itself.
func (w *Window) household() view {
	k := w.kit
	st := w.house.State()
	var people []kit.ListItem
	for _, m := range st.Members {
		people = append(people, kit.ListItem{ID: "person-" + m.Person.Name, Title: kit.Said(m.Person.Name), Lead: k.Leaf(m.Person.Mark, m.Person.Name),
			Open: func() { w.open(w.editPerson(m.Person)) }})
	}
	body := []fyne.CanvasObject{k.Section(model.T("household.people")), k.List(people...)}
	if w.house.ReadOnly().IsZero() {
		body = append(body, k.Row(k.Button("add-person", model.T("household.add-person"), func() { w.open(w.editPerson(model.Person{})) })))
	}
	body = append(body, k.Section(model.T("household.numbers")), k.Both(model.T("household.numbers-help")))
	body = append(body, w.numberFields()...)
	if w.house.ReadOnly().IsZero() {
		body = append(body, k.Row(k.Button("save-numbers", model.T("do.save"), func() {
			if w.keepNumbers(map[string]string{}) {
				w.say(model.T("done.saved"), false)
				w.redraw()
			}
		})))
	}
	body = append(body, k.Section(model.T("household.reading")), w.languageChoice(), w.secondChoice())
	if w.unsure() {
		body = append(body, w.sourceChoice())
	}
	body = append(body, w.sizeChoice(), w.inkChoice(), k.Section(model.T("household.sound")),
		k.Check("sound", model.T("household.sound-on"), st.Records.Settings[household.SetMuted] != "yes", func(on bool) {
			w.set(household.SetMuted, map[bool]string{true: "", false: "yes"}[on])
		}),
		k.Row(k.Button("sound-test", model.T("household.sound-test"), w.soundTest)), w.aloudChoice())
	body = append(body, w.bookPart()...)
	return view{title: model.T("screen.household"), body: body}
}

// set keeps one setting and draws everything anew in it.
func (w *Window) set(key, value string) {
	if w.keep(household.Changes{Settings: map[string]string{key: value}}) {
		w.dress()
		w.redraw()
	}
}

// numberFields are the telephone numbers and who types. What is typed stays in
// the window until it is kept, whatever is drawn anew meanwhile.
func (w *Window) numberFields() []fyne.CanvasObject {
	set := w.house.State().Records.Settings
	var out []fyne.CanvasObject
	field := func(key string, a kit.Ask) {
		text, typed := w.typed[key]
		if !typed {
			text = set[key]
		}
		a.ID, a.Width = key, 20
		f := w.kit.Field(a, text, func(s string) { w.typed[key] = s })
		if !w.house.ReadOnly().IsZero() {
			f.Disable()
		}
		out = append(out, f)
	}
	for _, key := range household.Numbers() {
		field(key, kit.Ask{Label: model.T("setting." + key)})
	}
	field(household.SetAuthor, kit.Ask{Label: model.T("household.author"), Help: model.T("household.author-help")})
	return out
}

// keepNumbers saves what was typed into numberFields, and other settings with
// it.
func (w *Window) keepNumbers(also map[string]string) bool {
	c := household.Changes{Settings: maps.Clone(also)}
	for key, text := range w.typed {
		c.Settings[key] = strings.TrimSpace(text)
	}
	if !w.keep(c) {
		return false
	}
	clear(w.typed)
	return true
}

func languageOptions() []kit.Option {
	var out []kit.Option
	for _, l := range i18n.Languages() {
		o := kit.Option{ID: l.Tag, Label: kit.Said(l.Name)}
		if l.Checked == "" && l.Tag != "en" {
			o.Note = model.T("household.unchecked")
		}
		out = append(out, o)
	}
	return out
}

func (w *Window) languageChoice() fyne.CanvasObject {
	return w.kit.Choice("language", model.T("household.language"), languageOptions(), w.words.First(), func(tag string) {
		w.forced.Language = ""
		c := map[string]string{household.SetLanguage: tag}
		if tag == w.words.Second() {
			c[household.SetSecond] = ""
		}
		if w.keep(household.Changes{Settings: c}) {
			w.dress()
			w.redraw()
		}
	})
}

const noSecond = "no"

func (w *Window) secondChoice() fyne.CanvasObject {
	options := []kit.Option{{ID: noSecond, Label: model.T("household.no-second")}}
	for _, o := range languageOptions() {
		if o.ID != w.words.First() {
			options = append(options, o)
		}
	}
	chosen := w.words.Second()
	if chosen == "" {
		chosen = noSecond
	}
	return w.kit.Choice("second", model.T("household.second"), options, chosen, func(tag string) {
		if tag == noSecond {
			tag = ""
		}
		w.set(household.SetSecond, tag)
	})
}

// sourceChoice asks whether findings in a language nobody checked stand there in
// English too.
func (w *Window) sourceChoice() fyne.CanvasObject {
	return w.kit.Check("source", model.T("household.source"), w.house.State().Records.Settings[household.SetSource] != "no", func(on bool) {
		word := ""
		if !on {
			word = "no"
		}
		w.set(household.SetSource, word)
	})
}

func (w *Window) sizeChoice() fyne.CanvasObject {
	var options []kit.Option
	for i, s := range household.Scales() {
		options = append(options, kit.Option{ID: strconv.Itoa(s), Label: model.T("household.size-n", "n", i+1)})
	}
	return w.kit.ShortChoice("size", model.T("household.size"), options, strconv.Itoa(int(w.look.Scale*100+0.5)), func(s string) {
		w.forced.Large = false
		w.set(household.SetScale, s)
	})
}

func (w *Window) inkChoice() fyne.CanvasObject {
	var options []kit.Option
	for _, ink := range household.Inks() {
		options = append(options, kit.Option{ID: ink, Label: model.T("household.ink-" + ink)})
	}
	chosen := w.house.State().Records.Settings[household.SetInk]
	if chosen == "" {
		chosen = household.Inks()[0]
	}
	return w.kit.ShortChoice("ink", model.T("household.ink"), options, chosen, func(s string) { w.set(household.SetInk, s) })
}

// soundTest plays the tones beside the window's own work.
func (w *Window) soundTest() {
	go func() {
		err := w.sound.Test()
		fyne.Do(func() {
			if err != nil {
				w.say(model.T("household.sound-none"), false)
				w.bar()
			}
		})
	}()
}

func (w *Window) bookPart() []fyne.CanvasObject {
	k := w.kit
	out := []fyne.CanvasObject{k.Section(model.T("household.book"))}
	if w.house.Path() == "" {
		return append(out, k.Both(model.T("household.book-none")))
	}
	if w.house.ReadOnly().IsZero() {
		out = append(out, k.Row(k.Button("undo-last", model.T("household.undo"), w.undo)))
	}
	out = append(out, k.Both(model.T("household.book-at")), k.Strong(kit.Said(w.house.Path())), k.Both(model.T("household.book-open")))
	if w.house.ReadOnly().IsZero() {
		out = append(out, k.Row(k.Button("copy-now", model.T("household.copy-now"), func() {
			path, err := w.house.Snapshot()
			if err != nil {
				w.fail(err)
				return
			}
			w.say(model.T("household.copied", "path", path), false)
			w.redraw()
		})))
	}
	return out
}
