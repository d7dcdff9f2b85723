package ui

import (
	"cmp"
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/daily"
	"quietwater/model/sheet"
	"quietwater/ui/kit"
)

// correction changes what an entry says, and when it was. The entry stays the
// same one: undo brings the old words back.
type correction struct {
	was   model.Entry
	boxes []*measured // its numbers
	how   *feeling    // how bad a symptom was
	dated bool        // it has a time of day
	at    moment
}

// correctable are entries of numbers and of symptoms. A strip test is what was
// seen at its second: it is taken again, not put right later. A laboratory
// value belongs to its sheet, and what this program does not know is left as it
// is.
func correctable(e model.Entry) bool {
	return slices.Contains([]model.Kind{model.Vital, model.Fluid, model.Symptom}, e.Kind) &&
		!slices.ContainsFunc(e.Values, func(v model.Value) bool {
			_, known := model.ItemFor(e.Kind, v.Code)
			return !known || !v.IsNumber()
		})
}

// changeButton leads to where an entry can be changed; none for those that
// cannot.
func (w *Window) changeButton(e model.Entry) []fyne.CanvasObject {
	open := func() { w.open(w.change(e)) }
	if e.Kind == model.Lab {
		sheets := sheet.Sheets(w.entriesOf(e.Person))
		i := slices.IndexFunc(sheets, func(s sheet.Sheet) bool {
			return slices.ContainsFunc(s.Entries, func(o model.Entry) bool { return o.ID == e.ID })
		})
		p := w.personOf(e.Person)
		if i < 0 || p == nil {
			return nil
		}
		open = func() { w.changeSheet(*p, sheets[i]) }
	} else if !correctable(e) {
		return nil
	}
	return []fyne.CanvasObject{w.kit.Button("change-entry", model.T("do.edit"), open)}
}

func (w *Window) change(e model.Entry) func() view {
	c := &correction{was: e, dated: !e.When.DayOnly() && !e.When.IsZero()}
	if e.Kind == model.Symptom {
		c.how = &feeling{said: map[model.Code]int{}}
	}
	for _, v := range e.Values {
		if e.Kind == model.Symptom {
			c.how.said[v.Code] = int(v.Number)
			continue
		}
		c.boxes = append(c.boxes, &measured{code: v.Code, typed: w.words.Number(v.Text()), unit: v.Unit})
	}
	if at := e.When.Time().In(w.house.Now().Location()); c.dated {
		c.at = moment{other: true, day: model.OnDay(at), hour: at.Hour(), minute: at.Minute()}
	}
	return func() view { return w.changeView(c) }
}

func (w *Window) changeView(c *correction) view {
	v := view{title: model.T("change.title"), whose: w.personOf(c.was.Person), back: w.backTo(w.goBack),
		body: []fyne.CanvasObject{w.kit.Both(model.T("change.how", "what", c.was.Kind, "when", c.was.When))}}
	for _, b := range c.boxes {
		field := w.numberBox(c.was.Kind, b)
		if v.focus == nil {
			v.focus = field.Focusable()
		}
		v.body = append(v.body, field)
	}
	if c.how != nil {
		for _, x := range c.was.Values {
			v.body = append(v.body, w.severity(c.how, x.Code, model.Msg{}))
		}
	}
	if c.dated {
		v.body = append(v.body, w.momentPart(&c.at)...)
	}
	v.main = &action{"save", model.T("do.save-for", "name", w.nameOf(c.was.Person)), func() { w.saveChange(c) }}
	return v
}

func (w *Window) saveChange(c *correction) {
	form := checked{w: w}
	e := c.was
	j := &jot{form: func() view { return w.changeView(c) }, then: w.close, meant: c.meant(w)}
	if p := w.personOf(e.Person); p != nil {
		j.person = *p
	}
	e.Author, e.Values = cmp.Or(w.author(), e.Author), slices.Clone(e.Values)
	for i, b := range c.boxes {
		b.typed, b.unit = b.field.Text(), b.field.Unit()
		v, why := readBox(e.Kind, b)
		if d, ok := w.slip(e, v, why); ok {
			w.askSlip(j, d)
			return
		}
		form.check(b.field, why)
		v.Note = e.Values[i].Note
		e.Values[i] = v
	}
	for i, v := range e.Values {
		if c.how != nil {
			e.Values[i] = severityOf(v.Code, c.how.said[v.Code])
			e.Values[i].Note = v.Note
		}
	}
	// The boxes hold whole minutes, and seconds count between two pressures: a
	// time nobody touched stays what it was.
	if at := c.at.when(w, &form); c.dated && !at.Time().Equal(e.When.Time().Truncate(time.Minute)) {
		e.When = at
	}
	if form.first == nil && len(c.boxes) > 0 {
		if ps := e.Validate(w.house.Now()); len(ps) > 0 {
			form.check(c.boxes[0].field, ps[0].Why)
		}
	}
	if form.bad() {
		return
	}
	j.entries = []model.Entry{e}
	if e.When == c.was.When {
		j.settled = []string{daily.LongAgo} // it was asked then
	}
	w.jotDown(j)
}

// meant puts into its box what was meant instead, and goes on.
func (c *correction) meant(w *Window) func(model.Value) {
	return func(v model.Value) {
		take(w, c.boxes, v)
		w.turn(func() view { return w.changeView(c) })
		w.saveChange(c)
	}
}

// numberBox is the box of one number with its unit.
func (w *Window) numberBox(kind model.Kind, b *measured) *kit.NumberField {
	it, _ := model.Find(kind, b.code)
	var units []kit.Option
	for _, u := range it.Units {
		units = append(units, kit.Option{ID: u.UCUM, Label: kit.Said(w.words.Unit(u.UCUM))})
	}
	label := model.T("guided.pads", "pads", model.T("name."+string(kind)+"."+string(b.code)))
	if b.optional {
		label = model.T("daily.may-be-left", "what", label)
	}
	b.field = w.kit.NumberField(kit.Ask{ID: string(b.code), Label: label}, b.typed, units, b.unit, func(typed, unit string) { b.typed, b.unit = typed, unit })
	return b.field
}
