package ui

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

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
		people = append(people, kit.ListItem{ID: "person-" + m.Person.Name, Title: kit.Said(w.called(m.Person)), Lead: k.Leaf(m.Person.Mark, m.Person.Name),
			Open: func() { w.open(w.editPerson(m.Person)) }})
	}
	body := []fyne.CanvasObject{k.Section(model.T("household.people")), k.List(people...)}
	if w.house.ReadOnly().IsZero() {
		body = append(body, k.Row(k.Button("add-person", model.T("household.add-person"), func() { w.open(w.editPerson(model.Person{})) })))
	}
	if len(w.house.Removed()) > 0 && w.house.ReadOnly().IsZero() {
		body = append(body, k.Row(k.Button("removed-people", model.T("removed.title"), func() { w.open(w.removedPage) })))
	}
	reading := []fyne.CanvasObject{w.sizeChoice(), w.inkChoice(), w.languageChoice(), w.secondChoice()}
	if w.unsure() {
		reading = append(reading, w.sourceChoice())
	}
	sound := k.AtOnce().Check("sound", model.T("household.sound-on"), st.Records.Settings[household.SetMuted] != "yes", func(on bool) {
		w.set(household.SetMuted, map[bool]string{true: "", false: "yes"}[on])
	})
	// What keeps the book safe stands before the long lists of languages.
	return view{title: model.T("screen.household"), body: append(body, w.parts(
		part{"household.numbers", append([]fyne.CanvasObject{k.Both(model.T("household.numbers-help"))}, w.numberFields()...)},
		part{"household.book", w.bookPart()},
		part{"backup.title", w.backupPart()},
		part{"exchange.section", w.filesPart()},
		part{"household.reading", reading},
		part{"household.sound", []fyne.CanvasObject{sound, k.Row(k.Button("sound-test", model.T("household.sound-test"), w.soundTest)), w.aloudChoice()}},
		part{"curtain.section", []fyne.CanvasObject{k.Both(model.T("curtain.how")), w.curtainChoice()}},
	)...)}
}

// part is one section of a long page.
type part struct {
	title string // a text's key
	body  []fyne.CanvasObject
}

// parts sets sections one under the other, and a button for each before them:
// in large type the last lies thousands of units down. Empty ones are left out.
func (w *Window) parts(all ...part) []fyne.CanvasObject {
	k := w.kit
	var to, out []fyne.CanvasObject
	for _, p := range all {
		if len(p.body) == 0 {
			continue
		}
		head := k.Section(model.T(p.title))
		to = append(to, k.Button("to-"+p.title, model.T(p.title), func() { w.page.Lead(head) }))
		out = append(append(out, head), p.body...)
	}
	return append([]fyne.CanvasObject{k.Column(k.BothSmall(model.T("household.further")), k.Row(to...))}, out...)
}

// set keeps one setting and draws everything anew in it.
func (w *Window) set(key, value string) {
	if w.keep(household.Changes{Settings: map[string]string{key: value}}) {
		w.dress()
		w.redraw()
	}
}

// numberFields are the telephone numbers and who types. Each is kept as soon as
// somebody goes on to something else. One that is not a number to ring stays in
// the window with its problem, whatever is drawn anew meanwhile.
func (w *Window) numberFields() []fyne.CanvasObject {
	k, set := w.kit.AtOnce(), w.house.State().Records.Settings
	out := []fyne.CanvasObject{k.BothSmall(model.T("household.numbers-kept"))}
	w.typedInto = map[string]*kit.Field{}
	field := func(key string, a kit.Ask) {
		text, typed := w.typed[key]
		if !typed {
			text = set[key]
		}
		a.ID, a.Width = key, 20
		f := k.Field(a, text, func(s string) {
			if w.typed[key] = s; s == w.house.State().Records.Settings[key] {
				delete(w.typed, key)
			}
		})
		if typed {
			f.SetProblem(w.numberProblem(key))
		}
		if w.house.ReadOnly().IsZero() {
			f.OnLeft(w.keepTyped)
		} else {
			f.Disable()
		}
		w.typedInto[key] = f
		out = append(out, f)
	}
	for _, key := range household.Numbers() {
		if key == household.SetMaternity && w.house.State().Records.Settings[key] == "" && !w.anybodyPregnant() {
			continue
		}
		field(key, kit.Ask{Label: model.T("setting." + key)})
	}
	field(household.SetAuthor, kit.Ask{Label: model.T("household.author"), Help: model.T("household.author-help")})
	return out
}

func (w *Window) anybodyPregnant() bool {
	return slices.ContainsFunc(w.house.State().Members, func(m household.Member) bool {
		return m.Result.History.On(model.Condition, "pregnancy")
	})
}

// leastDigits of a number to ring: some emergency numbers have only two.
const leastDigits = 2

// numberProblem is what is wrong with what was typed of a telephone number. How
// numbers are written differs; without digits there is none.
func (w *Window) numberProblem(key string) model.Msg {
	if !slices.Contains(household.Numbers(), key) {
		return model.Msg{}
	}
	return ringable(w.typed[key])
}

// ringable is what is wrong with a telephone number; nothing is none.
func ringable(text string) model.Msg {
	if text = strings.TrimSpace(text); text == "" {
		return model.Msg{}
	}
	digits := 0
	for _, r := range text {
		if unicode.IsDigit(r) {
			digits++
		}
	}
	return unless(digits >= leastDigits, "problem.not-a-number-to-ring")
}

// keepTyped saves what was typed into numberFields; what cannot be rung, or
// could not be saved, stays where it is.
func (w *Window) keepTyped() { w.keepNumbers(map[string]string{}) }

// keepNumbers saves other settings with it, once all of it can be kept.
func (w *Window) keepNumbers(also map[string]string) bool {
	c, form := household.Changes{Settings: maps.Clone(also)}, checked{w: w}
	for _, key := range append(household.Numbers(), household.SetAuthor) {
		text, typed := w.typed[key]
		why := w.numberProblem(key)
		if f := w.typedInto[key]; f != nil {
			form.check(f, why)
		}
		if typed && why.IsZero() {
			c.Settings[key] = strings.TrimSpace(text)
		}
	}
	if len(also) > 0 && form.bad() {
		return false
	}
	if len(c.Settings) == 0 {
		return len(w.typed) == 0
	}
	if !w.keep(c) {
		return false
	}
	for key := range c.Settings {
		delete(w.typed, key)
	}
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
	return w.kit.AtOnce().Choice("language", model.T("household.language"), languageOptions(), w.words.First(), func(tag string) {
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
	return w.kit.AtOnce().Choice("second", model.T("household.second"), options, chosen, func(tag string) {
		if tag == noSecond {
			tag = ""
		}
		w.set(household.SetSecond, tag)
	})
}

// sourceChoice asks whether findings in a language nobody checked stand there in
// English too.
func (w *Window) sourceChoice() fyne.CanvasObject {
	return w.kit.AtOnce().Check("source", model.T("household.source"), w.house.State().Records.Settings[household.SetSource] != "no", func(on bool) {
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
	return w.kit.AtOnce().ShortChoice("size", model.T("household.size"), options, strconv.Itoa(int(w.look.Scale*100+0.5)), func(s string) {
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
	return w.kit.AtOnce().ShortChoice("ink", model.T("household.ink"), options, chosen, func(s string) { w.set(household.SetInk, s) })
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
	if w.house.Path() == "" {
		return []fyne.CanvasObject{k.Both(model.T("household.book-none"))}
	}
	var out []fyne.CanvasObject
	if w.house.ReadOnly().IsZero() {
		out = append(out, k.Row(k.Button("undo-last", model.T("household.undo"), func() { w.open(w.takeBackView) })))
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
		out = append(out, k.Row(k.Button("bring-in", model.T("merge.open"), func() { w.open(w.bringIn()) })))
	}
	return append(out, w.twofoldNote()...)
}

func (w *Window) backupPart() []fyne.CanvasObject {
	if !w.house.CanBackUp() {
		return nil
	}
	k := w.kit
	return []fyne.CanvasObject{k.Both(model.T("backup.why")), w.lastBackup(),
		k.Row(k.Button("back-up", model.T("backup.title"), func() { w.open(w.backUp()) }),
			k.Button("restore", model.T("restore.title"), func() { w.open(w.restore()) }))}
}
