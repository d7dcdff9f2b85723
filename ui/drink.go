package ui

import (
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// drinks asks what was drunk: one tap on a cup writes it down.
func (w *Window) drinks(p model.Person) func() view {
	at := &moment{}
	other := &measured{code: "drink", unit: "mL", optional: true}
	return func() view { return w.drinkView(p, at, other) }
}

func (w *Window) drinkView(p model.Person, at *moment, other *measured) view {
	k := w.kit
	page := func() view { return w.drinkView(p, at, other) }
	var drink func(model.Value)
	meant := func(v model.Value) {
		other.typed = w.words.Number(v.Typed)
		w.turn(page)
		drink(v)
	}
	drink = func(v model.Value) {
		form := checked{w: w}
		when := at.when(w, &form)
		if form.bad() {
			return
		}
		w.jotDown(&jot{person: p, entries: []model.Entry{w.newEntry(p, model.Fluid, when, v)}, form: page,
			say: model.T("daily.drunk", "name", w.called(p), "what", model.Quantity{Typed: v.Typed, UCUM: v.Unit}), meant: meant})
	}
	body := []fyne.CanvasObject{k.Both(model.T("daily.drink.how"))}
	body = append(body, w.waterToday(p)...)
	var cups []fyne.CanvasObject
	for _, c := range w.house.State().Records.Cups() {
		cups = append(cups, k.Button("cup-"+c.ID, cupWords(c), func() {
			ml := strconv.Itoa(c.ML)
			drink(model.Value{Code: "drink", Number: float64(c.ML), Typed: ml, Unit: "mL", Note: strings.TrimSpace(w.words.T(c.Title()))})
		}))
	}
	body = append(body, k.Row(cups...))
	other.field = k.NumberField(kit.Ask{ID: "drink", Label: model.T("daily.drink.other")}, other.typed,
		[]kit.Option{{ID: "mL", Label: kit.Said(w.words.Unit("mL"))}}, "mL", func(typed, _ string) { other.typed = typed })
	add := func() {
		other.optional = false
		v, why := readBox(model.Fluid, other)
		if d, ok := w.slip(w.newEntry(p, model.Fluid, model.At(w.house.Now())), v, why); ok {
			w.askSlip(&jot{person: p, form: page, meant: meant}, d)
			return
		}
		form := checked{w: w}
		form.check(other.field, why)
		if !form.bad() {
			drink(v)
		}
	}
	other.field.OnEnter(add)
	body = append(body, other.field, k.Row(k.Button("add-other", model.T("daily.drink.add"), add)))
	body = append(body, w.momentPart(at)...)
	limit := 0.0
	if m, ok := w.house.State().Member(p.ID); ok {
		limit = m.Facts.FluidLimit
	}
	if limit == 0 {
		body = append(body, k.BothSmall(model.T("daily.limit.none")))
	}
	body = append(body, k.Row(k.Button("change-cups", model.T("daily.cups.change"), func() { w.open(w.cupsPage()) }),
		k.Button("fluid-limit", model.T("daily.limit.change"), func() { w.open(w.limitPage(p, "limit", "fluid-limit", "mL/d", limit)) })))
	first := "drink"
	if len(cups) > 0 {
		first = "cup-" + w.house.State().Records.Cups()[0].ID
	}
	return view{title: model.T("daily.drink"), whose: &p, body: body, back: w.backTo(w.goBack), focusID: first}
}

func cupWords(c household.Cup) model.Msg {
	return model.T("daily.cup", "cup", c.Title(), "amount", model.Quantity{Typed: strconv.Itoa(c.ML), UCUM: "mL"})
}

// cupsPage lists the household's cups to be changed.
func (w *Window) cupsPage() func() view {
	return func() view {
		k := w.kit
		var items []kit.ListItem
		for _, c := range w.house.State().Records.Cups() {
			items = append(items, kit.ListItem{ID: "change-" + c.ID, Title: cupWords(c), Open: func() { w.open(w.cupPage(c, false)) }})
		}
		body := []fyne.CanvasObject{k.Both(model.T("daily.cups.how"))}
		if len(items) > 0 {
			body = append(body, k.List(items...))
		}
		return view{title: model.T("daily.cups"), body: body, back: w.backTo(w.goBack),
			main: w.unlessReadOnly(&action{"new-cup", model.T("daily.cups.new"), func() { w.open(w.cupPage(household.Cup{ID: string(w.house.NewID())}, true)) }})}
	}
}

// cupPage changes one cup, or adds one.
func (w *Window) cupPage(c household.Cup, fresh bool) func() view {
	name, holds := c.Name, ""
	if c.Word != "" {
		name = w.words.T(c.Title())
	}
	if c.ML > 0 {
		holds = strconv.Itoa(c.ML)
	}
	keep := func(cups []household.Cup) {
		if w.keep(household.KeepCups(cups)) {
			w.settled()
			w.say(model.T("done.saved"), true)
			w.close()
		}
	}
	return func() view {
		k := w.kit
		label := k.Field(kit.Ask{ID: "cup-name", Label: model.T("daily.cups.name")}, name, func(s string) { name = s })
		amount := k.NumberField(kit.Ask{ID: "cup-holds", Label: model.T("daily.cups.holds"), Help: model.T("daily.cups.holds-help")}, holds,
			[]kit.Option{{ID: "mL", Label: kit.Said(w.words.Unit("mL"))}}, "mL", func(typed, _ string) { holds = typed })
		save := func() {
			form := checked{w: w}
			form.check(label, unless(strings.TrimSpace(name) != "", "problem.name-missing"))
			ml, why := cupHolds(holds)
			form.check(amount, why)
			if form.bad() {
				return
			}
			next := c
			next.ML = ml
			if text := strings.TrimSpace(name); c.Word == "" || text != w.words.T(c.Title()) {
				next.Word, next.Name = "", text
			}
			cups := slices.Clone(w.house.State().Records.Cups())
			if i := slices.IndexFunc(cups, func(o household.Cup) bool { return o.ID == c.ID }); i >= 0 {
				cups[i] = next
			} else {
				cups = append(cups, next)
			}
			keep(cups)
		}
		amount.OnEnter(save)
		body := []fyne.CanvasObject{label, amount}
		if !fresh && w.house.ReadOnly().IsZero() {
			body = append(body, apart(), k.Row(k.Button("delete-cup", model.T("do.delete"), func() {
				keep(slices.DeleteFunc(slices.Clone(w.house.State().Records.Cups()), func(o household.Cup) bool { return o.ID == c.ID }))
			})))
		}
		return view{title: model.T("daily.cups"), body: body, back: w.backTo(w.goBack), focus: label.Focusable(),
			main: w.unlessReadOnly(&action{"save", model.T("do.save"), save})}
	}
}

// cupHolds reads how much a cup holds, in whole mL.
func cupHolds(typed string) (ml int, why model.Msg) {
	plain, p := i18n.ParseNumber(typed)
	if p != nil {
		return 0, p.Why
	}
	n, _ := model.ParseNumber(plain)
	if n < 1 || n > household.MaxCup || n != float64(int(n)) {
		return 0, model.T("daily.cups.holds-wrong", "high", model.Quantity{Typed: strconv.Itoa(household.MaxCup), UCUM: "mL"})
	}
	return int(n), model.Msg{}
}
