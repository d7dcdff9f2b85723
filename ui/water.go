package ui

import (
	"strconv"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/water"
	"quietwater/ui/kit"
)

func millilitres(ml float64) model.Quantity {
	return model.Quantity{Typed: strconv.FormatFloat(ml, 'f', 0, 64), UCUM: "mL"}
}

// waterToday is what was drunk today: only a total, and where a doctor set a
// limit a gauge that rises towards it.
func (w *Window) waterToday(p model.Person) []fyne.CanvasObject {
	m, ok := w.house.State().Member(p.ID)
	if !ok {
		return nil
	}
	k, now := w.kit, w.house.Now()
	entries := m.Result.History.Entries
	today := water.Days(entries, now, now)[0]
	drunk := today.Drunk
	limit := m.Facts.FluidLimit
	say := model.T("daily.water.today", "drunk", millilitres(drunk))
	switch {
	case limit > 0 && drunk > limit:
		say = model.T("daily.water.over", "drunk", millilitres(drunk), "limit", millilitres(limit), "over", millilitres(drunk-limit))
	case limit > 0:
		say = model.T("daily.water.limit", "drunk", millilitres(drunk), "limit", millilitres(limit))
	case drunk == 0:
		say = model.T("daily.water.none")
	}
	words := k.Tight(k.BothStrong(say))
	if today.Passed > 0 {
		words.Add(k.Both(model.T("daily.water.passed", "passed", millilitres(today.Passed))))
	}
	if cs := water.Collections(entries, now.AddDate(0, 0, -2)); len(cs) > 0 {
		c := cs[len(cs)-1]
		if during, known := water.DrunkDuring(entries, c); known {
			words.Add(k.Both(model.T("daily.water.balance", "hours", model.Quantity{Typed: model.FormatNumber(c.Hours), UCUM: "h"}, "when", c.When,
				"drunk", millilitres(during), "passed", millilitres(c.ML))))
		}
	}
	if limit == 0 {
		return []fyne.CanvasObject{k.Band(words)}
	}
	return []fyne.CanvasObject{k.Band(k.Beside(k.Gauge(drunk/limit), words))}
}

// limitPage asks for an amount somebody else set: the doctor's drinking limit,
// the unit's weight. It can be taken back; the program never makes one up.
func (w *Window) limitPage(p model.Person, id string, code model.Code, unit string, had float64) func() view {
	typed := ""
	if had > 0 {
		typed = model.FormatNumber(had)
	}
	keep := func(v model.Value) {
		if w.save(household.Changes{Entries: []model.Entry{w.newEntry(p, model.Profile, model.At(w.house.Now()), v)}}) {
			w.close()
		}
	}
	return func() view {
		k := w.kit
		field := k.NumberField(kit.Ask{ID: string(code), Label: model.T("daily." + id)}, typed,
			[]kit.Option{{ID: unit, Label: kit.Said(w.words.Unit(unit))}}, unit, func(s, _ string) { typed = s })
		save := func() {
			form := checked{w: w}
			v, why := readBox(model.Profile, &measured{code: code, unit: unit, typed: typed})
			form.check(field, why)
			if !form.bad() {
				keep(v)
			}
		}
		field.OnEnter(save)
		body := []fyne.CanvasObject{k.Both(model.T("daily." + id + ".how")), field}
		if had > 0 && w.house.ReadOnly().IsZero() {
			body = append(body, apart(), k.Row(k.Button("no-limit", model.T("daily."+id+".off"), func() {
				keep(model.Value{Code: code, Number: 0, Typed: "0", Unit: unit})
			})))
		}
		return view{title: model.T("daily." + id), whose: &p, back: w.backTo(w.goBack), body: body, focus: field.Focusable(),
			main: w.unlessReadOnly(&action{"save", model.T("do.save-for", "name", w.called(p)), save})}
	}
}
