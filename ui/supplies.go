package ui

import (
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// supplies shows the packs in the house, first the one to use first, and the
// kinds of strip they may be of.
func (w *Window) supplies() view {
	k := w.kit
	st := w.house.State()
	body := []fyne.CanvasObject{k.Section(model.T("supplies.packs"))}
	if len(st.Packs) == 0 {
		body = append(body, k.Card(k.Both(model.T("supplies.none"))))
	}
	for _, p := range st.Packs {
		// First for its owner, or for the household where it has none.
		mine := st.PacksFor(p.Pack.Person)
		body = append(body, w.packCard(p, len(mine) > 1 && mine[0].Pack.ID == p.Pack.ID))
	}
	body = append(body, k.Row(k.Button("plan", model.T("plan.title"), func() { w.open(w.planner()) })))
	body = append(body, k.Section(model.T("supplies.kinds")), k.Both(model.T("supplies.kinds-help")))
	var items []kit.ListItem
	for _, kind := range st.Records.Kinds() {
		items = append(items, kit.ListItem{ID: "kind-" + kind.ID, Title: kindName(kind), Note: w.kindNote(kind),
			Open: func() { w.open(w.editKind(kind)) }})
	}
	body = append(body, k.List(items...))
	if w.house.ReadOnly().IsZero() {
		body = append(body, k.Both(model.T("learn.why")), k.Row(k.Button("learn", model.T("learn.new"), func() { w.open(w.learnChart(strip.Kind{})) }),
			k.Button("kind-file", model.T("learn.from-file"), func() { w.open(w.readKindFile()) })))
	}
	return view{title: model.T("screen.supplies"), body: body, main: w.unlessReadOnly(&action{"add-pack", model.T("supplies.add-pack"),
		func() { w.open(w.editPack(model.Pack{})) }})}
}

func (w *Window) unlessReadOnly(a *action) *action {
	if !w.house.ReadOnly().IsZero() {
		return nil
	}
	return a
}

func (w *Window) packCard(p household.PackState, first bool) fyne.CanvasObject {
	k := w.kit
	card := []fyne.CanvasObject{k.Strong(kit.Said(p.Pack.Label)), k.Text(kindName(p.Kind)), k.Both(w.shelfWords(p))}
	if !p.KindKnown {
		card[1] = k.Text(model.T("supplies.kind-unknown"))
	}
	if m, ok := w.house.State().Member(p.Pack.Person); ok {
		card = append(card, k.Small(model.T("supplies.owner", "name", w.called(m.Person))))
	}
	usable := !p.Empty && p.Freshness != strip.Stale
	if first && usable {
		card = append(card, k.BothStrong(model.T("supplies.first")))
	}
	if p.LeftKnown && !p.Empty {
		card = append(card, k.Both(model.T("supplies.left", "n", p.Left)))
	}
	if p.Pack.Lot != "" {
		card = append(card, k.Small(model.T("supplies.lot", "lot", p.Pack.Lot)))
	}
	if why := packTrouble(p); !why.IsZero() {
		card = append(card, k.Notice(kit.NoticeCare, why))
	}
	if w.house.ReadOnly().IsZero() {
		buttons := []fyne.CanvasObject{k.Button("edit-"+p.Pack.Label, model.T("do.edit"), func() { w.open(w.editPack(p.Pack)) })}
		if p.Pack.OpenedOn.IsZero() && p.Pack.Sealed == model.Tub {
			buttons = append(buttons, k.Button("opened-"+p.Pack.Label, model.T("supplies.opened-today"), func() {
				p.Pack.OpenedOn = model.OnDay(w.house.Now())
				if w.save(household.Changes{Packs: []model.Pack{p.Pack}}) {
					w.redraw()
				}
			}))
		}
		card = append(card, k.Row(buttons...))
	}
	return k.Card(card...)
}

// shelfWords says how long a pack may be used and on what that rests.
func (w *Window) shelfWords(p household.PackState) model.Msg {
	switch s := p.Shelf; {
	case s.Until.IsZero():
		return model.T("supplies.no-date")
	case s.Assumed:
		return model.T("supplies.until-assumed", "opened", p.Pack.OpenedOn, "when", s.Until)
	case s.Opening:
		return model.T("supplies.until-opened", "opened", p.Pack.OpenedOn, "when", s.Until)
	}
	return model.T("supplies.until", "when", p.Shelf.Until)
}

// kindName is the household's own name of a strip kind, or that of a generic
// one.
func kindName(k strip.Kind) model.Msg {
	if k.Name != "" {
		return kit.Said(k.Name)
	}
	return model.T("kind-of-strip." + k.ID)
}

func (w *Window) kindNote(k strip.Kind) model.Msg {
	var pads []model.Code
	for _, r := range k.Chart.Rows {
		pads = append(pads, r.Pad)
	}
	return model.T("supplies.pads", "pads", padNames(pads))
}

func (w *Window) kindOptions() []kit.Option {
	var out []kit.Option
	for _, k := range w.house.State().Records.Kinds() {
		out = append(out, kit.Option{ID: k.ID, Label: kindName(k), Note: w.kindNote(k)})
	}
	return out
}

// packForm is what stands in the boxes while a pack is edited; it outlives a
// redraw.
type packForm struct {
	pack                      model.Pack
	days, strips, price, cash string
	fields                    map[string]*kit.Field
	useBy, opened             *kit.DateField
	then                      func(model.ID) // once it is saved; nil for nothing
}

// editPack adds a pack or changes one.
func (w *Window) editPack(p model.Pack) func() view {
	f := formOf(p)
	return func() view { return w.packView(f) }
}

// newPack adds a pack and hands it to whoever asked for it.
func (w *Window) newPack(then func(model.ID)) func() view {
	f := formOf(model.Pack{})
	f.then = then
	return func() view { return w.packView(f) }
}

func formOf(p model.Pack) *packForm {
	f := &packForm{pack: p, price: p.Price, cash: p.Currency}
	if p.DaysOpen > 0 {
		f.days = strconv.Itoa(p.DaysOpen)
	}
	if p.Strips > 0 {
		f.strips = strconv.Itoa(p.Strips)
	}
	if p.ID == "" {
		f.pack.Sealed, f.pack.StripKind = model.Tub, strip.GenericIDs()[0]
	}
	return f
}

func (w *Window) packView(f *packForm) view {
	k := w.kit
	now := w.house.Now()
	f.fields = map[string]*kit.Field{}
	field := func(id string, label string, help string, width int, text string, changed func(string)) *kit.Field {
		a := kit.Ask{ID: id, Label: model.T(label), Width: width}
		if help != "" {
			a.Help = model.T(help)
		}
		f.fields[id] = k.Field(a, text, changed)
		return f.fields[id]
	}
	people := []kit.Option{{ID: everybody, Label: model.T("pack.everybody")}}
	for _, m := range w.house.State().Members {
		people = append(people, kit.Option{ID: string(m.Person.ID), Label: kit.Said(w.called(m.Person))})
	}
	whose := string(f.pack.Person)
	if whose == "" {
		whose = everybody
	}
	f.useBy = k.DateField(kit.AskDate{ID: "use-by", Label: model.T("pack.use-by"), Value: f.pack.UseBy, Today: now, MonthOnly: true,
		Changed: func() { f.takeDates() }})
	f.opened = k.DateField(kit.AskDate{ID: "opened", Label: model.T("pack.opened"), Help: model.T("pack.opened-help"), Value: f.pack.OpenedOn,
		Today: now, Recent: true, Changed: func() { f.takeDates() }})
	label := field("label", "pack.label", "pack.label-help", 0, f.pack.Label, func(s string) { f.pack.Label = s })
	body := []fyne.CanvasObject{
		label,
		k.Choice("kind", model.T("pack.kind"), w.kindOptions(), f.pack.StripKind, func(id string) { f.pack.StripKind = id }),
		k.Choice("sealed", model.T("pack.sealed"), []kit.Option{{ID: string(model.Tub), Label: model.T("pack.sealed.tub")},
			{ID: string(model.Single), Label: model.T("pack.sealed.single")}}, string(f.pack.Sealed), func(id string) { f.pack.Sealed = model.Sealing(id) }),
		f.useBy, f.opened,
		field("days", "pack.days", "pack.days-help", 5, f.days, func(s string) { f.days = s }),
		field("strips", "pack.strips", "", 5, f.strips, func(s string) { f.strips = s }),
		field("lot", "pack.lot", "", 14, f.pack.Lot, func(s string) { f.pack.Lot = s }),
		field("price", "pack.price", "", 10, f.price, func(s string) { f.price = s }),
		field("currency", "pack.currency", "pack.currency-help", 5, f.cash, func(s string) { f.cash = s }),
		k.Choice("whose", model.T("pack.whose"), people, whose, func(id string) {
			if f.pack.Person = model.ID(id); id == everybody {
				f.pack.Person = ""
			}
		}),
	}
	if f.pack.ID != "" && w.house.ReadOnly().IsZero() {
		body = append(body, apart(), k.Row(k.Button("delete-pack", model.T("do.delete"), func() { w.askDeletePack(f.pack) })))
	}
	return view{title: model.T("screen.supplies"), body: body, back: w.backTo(w.goBack), focus: label.Focusable(),
		main: w.unlessReadOnly(&action{"save", model.T("do.save"), func() { w.savePack(f) }})}
}

// takeDates keeps what the date boxes hold, so that a redraw does not lose it.
func (f *packForm) takeDates() {
	if d, p := f.useBy.Value(); p == nil {
		f.pack.UseBy, f.pack.UseByText = d, d.String()
		if !f.useBy.DayGiven() {
			f.pack.UseByText = d.Time().Format("2006-01")
		}
	} else if f.useBy.Empty() {
		f.pack.UseBy, f.pack.UseByText = model.When{}, ""
	}
	if d, p := f.opened.Value(); p == nil {
		f.pack.OpenedOn = d
	} else if f.opened.Empty() {
		f.pack.OpenedOn = model.When{}
	}
}

// savePack checks each box, shows what is wrong after it, and saves.
func (w *Window) savePack(f *packForm) {
	f.takeDates()
	form := checked{w: w}
	f.pack.Label = strings.TrimSpace(f.pack.Label)
	form.check(f.fields["label"], unless(f.pack.Label != "", "pack.label-missing"))
	form.check(f.useBy, dateProblem(f.useBy))
	opened := dateProblem(f.opened)
	if opened.IsZero() && f.pack.OpenedOn.After(w.house.Now()) {
		opened = model.T("problem.in-the-future")
	}
	form.check(f.opened, opened)
	var days, strips, price model.Msg
	f.pack.DaysOpen, days = wholeNumber(f.days)
	form.check(f.fields["days"], days)
	f.pack.Strips, strips = wholeNumber(f.strips)
	form.check(f.fields["strips"], strips)
	f.pack.Price, price = priceOf(f.price)
	form.check(f.fields["price"], price)
	f.pack.Currency = strings.ToUpper(strings.TrimSpace(f.cash))
	if form.bad() {
		return
	}
	if f.pack.ID == "" {
		f.pack.ID = w.house.NewID()
	}
	if w.save(household.Changes{Packs: []model.Pack{f.pack}}) {
		if f.then != nil {
			f.then(f.pack.ID)
		}
		w.close()
	}
}

// checked goes through the boxes of a form, in the order they stand in.
type checked struct {
	w     *Window
	first box // of those with a problem
}

type box interface {
	fyne.CanvasObject
	SetProblem(model.Msg)
	Focusable() fyne.Focusable
}

// check shows a problem after its box, or takes the one shown away.
func (c *checked) check(b box, why model.Msg) {
	b.SetProblem(why)
	if c.first == nil && !why.IsZero() {
		c.first = b
	}
}

// bad reports whether there was a problem, and brings the first one into view.
func (c *checked) bad() bool {
	if c.first == nil {
		return false
	}
	c.w.win.Canvas().Unfocus() // a box that has the keyboard already comes into view too
	c.w.win.Canvas().Focus(c.first.Focusable())
	kit.RevealWhole(c.first) // with what is wrong, which stands after it
	return true
}

func unless(ok bool, key string) model.Msg {
	if ok {
		return model.Msg{}
	}
	return model.T(key)
}

func dateProblem(d *kit.DateField) model.Msg {
	if d.Empty() {
		return model.Msg{}
	}
	if _, p := d.Value(); p != nil {
		return p.Why
	}
	return model.Msg{}
}

func (w *Window) askDeletePack(p model.Pack) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("supplies.delete-pack"), Body: model.T("supplies.delete-pack-note"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			if w.keep(household.Changes{RemovePacks: []model.ID{p.ID}}) {
				w.say(model.T("done.deleted"), true)
				w.close()
			}
		}})
}
