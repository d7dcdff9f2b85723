package ui

import (
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// switches are the conditions and medicines that change how results are read:
// all that the catalogue knows of.
func switches() []model.Item {
	return slices.Concat(model.ItemsOf(model.Condition), model.ItemsOf(model.Medicine))
}

// personForm is what stands in the boxes while a person is edited.
type personForm struct {
	person model.Person
	facts  model.Facts
	height string
	name   *kit.Field
	tall   *kit.Field
	birth  *kit.DateField
	// own are the numbers to ring that were typed for this person, by their sort.
	own   map[string]string
	rings []ownNumber
	saved func(model.Person) // after saving, at the first start; nil closes the page
}

// editPerson adds a person or changes one.
func (w *Window) editPerson(p model.Person) func() view {
	f := &personForm{person: p}
	if m, ok := w.house.State().Member(p.ID); ok {
		f.facts = m.Facts
		if f.facts.HeightCM > 0 {
			f.height = model.FormatNumber(f.facts.HeightCM)
		}
	} else {
		f.person.Mark = len(w.house.State().Members) % assets.Leaves
	}
	return func() view { return w.personView(f) }
}

func (w *Window) personView(f *personForm) view {
	k := w.kit
	f.name = k.Field(kit.Ask{ID: "name", Label: model.T("person.name")}, f.person.Name, func(s string) { f.person.Name = s })
	f.birth = k.DateField(kit.AskDate{ID: "birth", Label: model.T("person.birth"), Help: model.T("person.birth-help"), Value: f.facts.Birth,
		Today: w.house.Now(), Changed: func() {
			if d, p := f.birth.Value(); p == nil {
				f.facts.Birth = d
			}
		}})
	f.tall = k.Field(kit.Ask{ID: "height", Label: model.T("person.height"), Width: 6}, f.height, func(s string) { f.height = s })
	body := []fyne.CanvasObject{f.name, f.birth,
		k.BothSmall(model.T("person.sex-help")),
		k.ShortChoice("sex", model.T("person.sex"), []kit.Option{{ID: "female", Label: model.T("word.female")}, {ID: "male", Label: model.T("word.male")}},
			f.facts.Sex, func(s string) { f.facts.Sex = s }),
		f.tall, w.leafChoice(f)}
	title := model.T("person.new")
	var whose *model.Person
	if f.person.ID != "" && f.saved == nil {
		title, whose = model.T("screen.household"), &f.person
		body = append(body, w.ownNumbers(f)...)
		body = append(body, w.switchList(f.person)...)
		if w.house.ReadOnly().IsZero() {
			body = append(body, apart(), k.Row(k.Button("delete-person", model.T("do.delete"), func() { w.askDeletePerson(f.person) })))
		}
	}
	return view{title: title, whose: whose, body: body, back: w.backTo(w.goBack), focus: f.name.Focusable(),
		main: w.unlessReadOnly(&action{"save", model.T("do.save"), func() { w.savePerson(f) }})}
}

// ownNumber is the box of one of a person's own numbers.
type ownNumber struct {
	sort  string
	field *kit.Field
}

// ownNumbers asks for the numbers to ring for one person, in a household of
// several: they may have different doctors. The emergency number is everybody's.
func (w *Window) ownNumbers(f *personForm) []fyne.CanvasObject {
	k, st := w.kit, w.house.State()
	f.rings = nil
	if f.own == nil {
		f.own = map[string]string{}
	}
	if len(st.Members) < 2 {
		return nil
	}
	m, _ := st.Member(f.person.ID)
	out := []fyne.CanvasObject{k.BothSection(model.T("person.numbers")), k.BothSmall(model.T("person.numbers-help"))}
	for _, sort := range household.Numbers() {
		stored := st.Records.Settings[household.OwnNumber(sort, f.person.ID)]
		expecting := m.Result.History.On(model.Condition, "pregnancy") || stored != ""
		if sort == household.SetEmergency || sort == household.SetMaternity && !expecting {
			continue
		}
		text, typed := f.own[sort]
		if !typed {
			text = stored
		}
		field := k.Field(kit.Ask{ID: "own-" + sort, Label: model.T("setting." + sort), Width: 20}, text, func(s string) { f.own[sort] = s })
		f.rings = append(f.rings, ownNumber{sort, field})
		out = append(out, field)
	}
	return out
}

func (w *Window) leafChoice(f *personForm) fyne.CanvasObject {
	k := w.kit
	box := []fyne.CanvasObject{}
	for i := range assets.Leaves {
		box = append(box, k.LeafChoice(i, f.person.Name, model.T("person.leaf-n", "n", i+1), i == f.person.Mark, func() {
			f.person.Mark = i
			w.redraw()
		}))
	}
	return k.Column(k.BothSmall(model.T("person.leaf")), k.Row(box...))
}

// switchList shows what is on and off, what is on first; each line opens to be
// changed.
func (w *Window) switchList(p model.Person) []fyne.CanvasObject {
	k := w.kit
	return []fyne.CanvasObject{k.BothSection(model.T("person.switches")), k.Both(model.T("person.switches-help")),
		k.BothStrong(model.T("person.conditions")), w.switchesOf(p, model.Condition),
		k.BothStrong(model.T("person.medicines")), w.switchesOf(p, model.Medicine)}
}

func (w *Window) switchesOf(p model.Person, kind model.Kind) fyne.CanvasObject {
	var on, off []kit.ListItem
	m, _ := w.house.State().Member(p.ID)
	for _, it := range model.ItemsOf(kind) {
		if it.Code == "pregnancy" && (m.Facts.Sex == "male" || beyondBearing(m.Facts, w.house.Now())) {
			continue
		}
		is, since := model.Switched(w.house.State().Records.Book.Entries, p.ID, it.Kind, it.Code, w.house.Now())
		item := kit.ListItem{ID: "switch-" + string(it.Code), Title: switchTitle(it), Note: model.T("person.off"),
			Open: func() { w.open(w.turnSwitch(p, it, is)) }}
		if is {
			item.Note = w.sinceWords(p, it, since)
			on = append(on, item)
		} else {
			off = append(off, item)
		}
	}
	return w.kit.List(append(on, off...)...)
}

// turnSwitch asks since or until when, and writes it down. No day is filled in:
// what has lasted for years would else begin today.
func (w *Window) turnSwitch(p model.Person, it model.Item, on bool) func() view {
	label, word := model.T("person.on-from"), "start"
	if on {
		label, word = model.T("person.off-from"), "end"
	}
	if it.Code == "pregnancy" {
		label = model.T("person.pregnancy-" + word)
	}
	vague, help := word == "start" && mayBeLongAgo(it.Code), model.Msg{}
	if vague {
		help = model.T("person.since-help")
	}
	keep := func(d model.When, note string) {
		e := model.Entry{ID: w.house.NewID(), Person: p.ID, Kind: it.Kind, When: d, Author: w.author(),
			Values: []model.Value{{Code: it.Code, Word: word, Note: note}}}
		if w.save(household.Changes{Entries: []model.Entry{e}}) {
			w.close()
		}
	}
	longAgo := func() { keep(w.longAgo(p), w.words.T(model.T("person.long-ago-note"))) }
	var when model.When
	asksDue, byDue := it.Code == "pregnancy" && !on, false
	return func() view {
		k := w.kit
		body := []fyne.CanvasObject{k.BothSection(switchTitle(it)), k.Both(model.T("person.switches-help"))}
		if asksDue {
			body = append(body, w.whichDay(byDue, func(due bool) { byDue, when = due, model.When{} }))
			if label = model.T("person.pregnancy-start"); byDue {
				label = model.T("person.pregnancy-due")
			}
		}
		var date *kit.DateField
		date = k.DateField(kit.AskDate{ID: "when", Label: label, Help: help, Value: when, Today: w.house.Now(), Recent: !byDue, Changed: func() {
			if d, p := date.Value(); p == nil {
				when = d
			}
		}})
		body = append(body, date)
		if vague && w.house.ReadOnly().IsZero() {
			body = append(body, k.Row(k.Button("long-ago", model.T("person.long-ago"), longAgo)))
		}
		return view{title: model.T("screen.household"), whose: &p, back: w.backTo(w.goBack), body: body, focus: date.Focusable(),
			main: w.unlessReadOnly(&action{"save", model.T("do.save-for", "name", w.called(p)), func() {
				if vague && date.Empty() {
					longAgo()
					return
				}
				form := checked{w: w}
				day, note, why := w.switchDay(date, byDue)
				form.check(date, why)
				if form.bad() {
					return
				}
				keep(day, note)
			}})}
	}
}

// whichDay asks which day of a pregnancy is known: many know when the child is
// due and no longer when the last period began.
func (w *Window) whichDay(due bool, chosen func(due bool)) fyne.CanvasObject {
	id := map[bool]string{false: "start", true: "due"}
	var options []kit.Option
	for _, by := range []bool{false, true} {
		options = append(options, kit.Option{ID: id[by], Label: model.T("person.pregnancy-" + id[by])})
	}
	return w.kit.ShortChoice("pregnancy-day", model.T("person.pregnancy-know"), options, id[due], func(which string) {
		chosen(which == id[true])
		w.redraw()
	})
}

// switchDay is the day that was typed for a switch, or what is wrong with it; of
// a due date the day the weeks are counted from, and a note that says so.
func (w *Window) switchDay(date *kit.DateField, byDue bool) (day model.When, note string, why model.Msg) {
	day, bad := date.Value()
	switch {
	case bad != nil:
		return day, "", bad.Why
	case byDue:
		return model.PregnantSince(day, w.house.Now().Location()), w.words.T(model.T("person.pregnancy-from-due", "when", day)), w.dueProblem(day)
	case day.After(w.house.Now()):
		return day, "", model.T("problem.in-the-future")
	}
	return day, "", model.Msg{}
}

// overdueDays is how long after its due date a pregnancy may still be entered.
const overdueDays = 28

// dueProblem is what is wrong with a due date.
func (w *Window) dueProblem(due model.When) model.Msg {
	ahead := model.DaysBetween(model.At(w.house.Now()), due, w.house.Now().Location())
	return unless(-overdueDays <= ahead && ahead <= model.PregnancyDays, "person.pregnancy-due-wrong")
}

// mayBeLongAgo tells what may have lasted for years without anybody knowing
// since when. The weeks of a pregnancy are counted from its day, and an acute
// illness is one of these days.
func mayBeLongAgo(c model.Code) bool { return c != "pregnancy" && c != "acute-illness" }

// longAgo is what the book has for a start that nobody remembers, since every
// start has a day: the birth, or a day before anybody's. It comes before every
// record of the person, and a note says that the day is not known.
func (w *Window) longAgo(p model.Person) model.When {
	m, _ := w.house.State().Member(p.ID)
	return m.Facts.LongAgo(w.house.Now().Location())
}

// sinceWords say since when something is on.
func (w *Window) sinceWords(p model.Person, it model.Item, since model.When) model.Msg {
	m, _ := w.house.State().Member(p.ID)
	if m.Facts.ForYears(w.entriesOf(p.ID), it.Kind, it.Code, since, w.house.Now().Location()) {
		return model.T("person.on-long")
	}
	return model.T("person.on-since-when", "when", since)
}

// savePerson keeps the name and what changed of the rest as new profile
// entries; what was there before stays in the book's history.
func (w *Window) savePerson(f *personForm) {
	form := checked{w: w}
	f.person.Name = strings.TrimSpace(f.person.Name)
	name := unless(f.person.Name != "", "problem.name-missing")
	for _, m := range w.house.State().Members {
		if m.Person.Name == f.person.Name && m.Person.ID != f.person.ID {
			name = model.T("problem.name-taken")
		}
	}
	form.check(f.name, name)
	birth := dateProblem(f.birth)
	if d, p := f.birth.Value(); p == nil && d.After(w.house.Now()) {
		birth = model.T("problem.in-the-future")
	} else if p == nil && d.Time().Year() < w.house.Now().Year()-120 {
		birth = model.T("person.birth-too-long-ago")
	}
	form.check(f.birth, birth)
	height, why := heightOf(f.height)
	form.check(f.tall, why)
	numbers := map[string]string{}
	for _, n := range f.rings {
		form.check(n.field, ringable(f.own[n.sort]))
		if text, typed := f.own[n.sort]; typed {
			numbers[household.OwnNumber(n.sort, f.person.ID)] = strings.TrimSpace(text)
		}
	}
	if form.bad() {
		return
	}
	fresh := f.person.ID == ""
	if fresh {
		f.person.ID = w.house.NewID()
	}
	c := household.Changes{Persons: []model.Person{f.person}, Entries: w.profileChanges(f, height), Settings: numbers}
	if !w.save(c) {
		if fresh {
			f.person.ID = ""
		}
		return
	}
	switch {
	case f.saved != nil:
		f.saved(f.person)
	case fresh: // a rule that does not know of a pregnancy or a heart failure stays silent
		w.turn(w.whatIsTrue(f.person))
	default:
		w.close()
	}
}

// whatIsTrue asks for the conditions and medicines of somebody new.
func (w *Window) whatIsTrue(p model.Person) func() view {
	return func() view {
		return view{title: model.T("welcome.conditions", "name", w.called(p)), body: w.switchList(p), back: w.backTo(w.goBack),
			main: &action{"done", model.T("do.next"), w.close}}
	}
}

func heightOf(typed string) (plain string, why model.Msg) {
	if strings.TrimSpace(typed) == "" {
		return "", model.Msg{}
	}
	plain, p := i18n.ParseNumber(strings.TrimSpace(typed))
	if p != nil {
		return "", p.Why
	}
	it, _ := model.Find(model.Profile, "height")
	if _, ps := model.ParseValue(it, plain, "cm", ""); len(ps) > 0 {
		return "", ps[0].Why
	}
	return plain, model.Msg{}
}

func (w *Window) profileChanges(f *personForm, height string) []model.Entry {
	old := model.Facts{}
	if m, ok := w.house.State().Member(f.person.ID); ok {
		old = m.Facts
	}
	var out []model.Entry
	add := func(v model.Value) {
		out = append(out, model.Entry{ID: w.house.NewID(), Person: f.person.ID, Kind: model.Profile, When: model.At(w.house.Now()),
			Author: w.author(), Values: []model.Value{v}})
	}
	if d, p := f.birth.Value(); p == nil && d.String() != old.Birth.String() {
		add(model.Value{Code: "birth-date", Word: d.String()})
	}
	if f.facts.Sex != "" && f.facts.Sex != old.Sex {
		add(model.Value{Code: "sex", Word: f.facts.Sex})
	}
	if n, ok := model.ParseNumber(height); ok && n != old.HeightCM {
		add(model.Value{Code: "height", Number: n, Typed: height, Unit: "cm"})
	}
	return out
}

func (w *Window) askDeletePerson(p model.Person) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("person.delete-name", "name", p.Name), Body: model.T("person.delete-note"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			if w.keep(household.Changes{RemovePersons: []model.ID{p.ID}}) {
				w.say(model.T("done.deleted"), true)
				w.turn(w.removedPage)
			}
		}})
}

// switchTitle is the name of a condition or medicine standing alone.
func switchTitle(it model.Item) model.Msg {
	return model.T("guided.pads", "pads", model.T("name."+string(it.Kind)+"."+string(it.Code)))
}
