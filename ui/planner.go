package ui

import (
	"math/big"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/model/supply"
	"quietwater/ui/kit"
)

// rhythms are the days between tests that are offered; any other number can be
// typed.
func rhythms() []int { return []int{1, 2, 3, 7, 14} }

// maxOffers keeps the page to what can be compared at a glance.
const maxOffers = 6

// planner compares boxes of strips by what each strip that is really used
// costs, and tells when the next pack should be opened.
func (w *Window) planner() func() view {
	own := ""
	return func() view { return w.plannerView(&own) }
}

func (w *Window) plannerView(own *string) view {
	k := w.kit
	shop := w.house.State().Records.Shopping()
	keep := func(change func(*household.Shopping)) {
		s := w.house.State().Records.Shopping()
		change(&s)
		if w.keep(household.KeepShopping(s)) {
			w.redraw()
		}
	}
	var often []kit.Option
	for _, n := range rhythms() {
		often = append(often, kit.Option{ID: strconv.Itoa(n), Label: model.T("plan.every-n", "n", n)})
	}
	if !slices.Contains(rhythms(), shop.Every) {
		often = append(often, kit.Option{ID: strconv.Itoa(shop.Every), Label: model.T("plan.every-n", "n", shop.Every)})
	}
	var people []kit.Option
	for n := 1; n <= max(4, shop.Persons); n++ {
		people = append(people, kit.Option{ID: strconv.Itoa(n), Label: kit.Said(strconv.Itoa(n))})
	}
	body := []fyne.CanvasObject{k.Both(model.T("plan.how")),
		k.AtOnce().ShortChoice("every", model.T("plan.every"), often, strconv.Itoa(shop.Every), func(id string) {
			keep(func(s *household.Shopping) { s.Every, _ = strconv.Atoi(id) })
		})}
	days := k.NumberField(kit.Ask{ID: "every-own", Label: model.T("plan.every-own"), Width: 5}, *own, nil, "", func(typed, _ string) { *own = typed })
	take := func() {
		n, why := wholeNumber(*own)
		form := checked{w: w}
		if why.IsZero() && n < 1 {
			why = model.T("problem.number-missing")
		}
		if form.check(days, why); !form.bad() {
			*own = ""
			keep(func(s *household.Shopping) { s.Every = n })
		}
	}
	days.OnEnter(take)
	body = append(body, days, k.Row(k.Button("take-own", model.T("plan.take"), take)),
		k.AtOnce().ShortChoice("persons", model.T("plan.persons"), people, strconv.Itoa(shop.Persons), func(id string) {
			keep(func(s *household.Shopping) { s.Persons, _ = strconv.Atoi(id) })
		}))
	body = append(body, w.plans(shop)...)
	body = append(body, w.openNext(shop)...)
	v := view{title: model.T("plan.title"), body: body, back: w.backTo(w.goBack), focusID: "every-" + strconv.Itoa(shop.Every)}
	if len(shop.Offers) < maxOffers {
		v.main = w.unlessReadOnly(&action{"add-offer", model.T("plan.add"), func() {
			w.open(w.offerPage(household.ShopOffer{ID: string(w.house.NewID())}))
		}})
	}
	return v
}

func (w *Window) use(shop household.Shopping) supply.Use {
	return supply.Use{EveryDays: shop.Every, Persons: shop.Persons, From: w.house.Now()}
}

// plans are the offers, the one with the cheapest used strip first.
func (w *Window) plans(shop household.Shopping) []fyne.CanvasObject {
	k := w.kit
	if len(shop.Offers) == 0 {
		return []fyne.CanvasObject{k.Card(k.Both(model.T("plan.none")))}
	}
	var offers []supply.Offer
	for _, o := range shop.Offers {
		offers = append(offers, o.Offer())
	}
	plans, comparable := supply.Compare(offers, w.use(shop))
	out := []fyne.CanvasObject{k.BothSection(model.T("plan.offers"))}
	if !comparable {
		out = append(out, k.Notice(kit.NoticeCare, model.T("plan.currencies")))
	}
	best := comparable && len(plans) > 1 && plans[0].PerUsed != nil && plans[1].PerUsed != nil
	for i, p := range plans {
		var card []fyne.CanvasObject
		if best && i == 0 {
			card = append(card, k.BothStrong(model.T("plan.best")))
		}
		card = append(card, k.Strong(kit.Said(p.Offer.Label)), k.Both(model.T("plan.used", "used", p.Used, "n", p.Offer.Strips, "wasted", p.Wasted)))
		if p.PerUsed != nil {
			card = append(card, k.BothStrong(model.T("plan.costs", "price", w.money(p.PerUsed, 2), "currency", p.Offer.Currency)))
		} else {
			card = append(card, k.Both(model.T("plan.no-price")))
		}
		card = append(card, k.Both(planWhy(p)))
		if p.Assumed {
			card = append(card, k.BothSmall(model.T("plan.assumed", "n", strip.PresetDaysOpen)))
		}
		if best && i > 0 && cheaper(p.Offer, plans[0].Offer) && p.Wasted > 0 {
			card = append(card, k.Both(model.T("plan.dearer", "box", w.money(perStrip(p.Offer), 2), "used", w.money(p.PerUsed, 2), "currency", p.Offer.Currency)))
		}
		for _, o := range shop.Offers {
			if o.Offer().Label == p.Offer.Label {
				card = append(card, k.Row(k.Button("change-"+o.ID, model.T("plan.change"), func() { w.open(w.offerPage(o)) })))
				break
			}
		}
		out = append(out, k.Card(card...))
	}
	return out
}

func planWhy(p supply.Plan) model.Msg {
	switch p.Why {
	case supply.OpenTooLong:
		return model.T("plan.why-open", "when", p.Ends)
	case supply.PastUseBy:
		return model.T("plan.why-date", "when", p.Ends)
	}
	return model.T("plan.why-used", "when", p.Ends)
}

func perStrip(o supply.Offer) *big.Rat {
	return new(big.Rat).Quo(o.Price, new(big.Rat).SetInt64(int64(max(o.Strips, 1))))
}

// cheaper reports that a's strips cost less than b's as they are bought.
func cheaper(a, b supply.Offer) bool {
	return a.Price != nil && b.Price != nil && perStrip(a).Cmp(perStrip(b)) < 0
}

// money writes an exact sum, rounded to so many digits, with the language's
// decimal sign.
func (w *Window) money(r *big.Rat, digits int) string { return w.words.Number(r.FloatString(digits)) }

// openNext tells for each pack in use when the next one should be opened.
func (w *Window) openNext(shop household.Shopping) []fyne.CanvasObject {
	k := w.kit
	var lines []fyne.CanvasObject
	for _, p := range w.house.State().Packs {
		if p.Pack.OpenedOn.IsZero() || p.Empty || p.Freshness == strip.Stale {
			continue
		}
		left := -1
		if p.LeftKnown {
			left = p.Left
		}
		use := w.use(shop)
		if p.Pack.Person != "" {
			use.Persons = 1
		}
		next, why, ok := supply.OpenNext(left, p.Shelf.Until, use)
		if !ok {
			continue
		}
		key := map[supply.Why]string{supply.UsedUp: "plan.next-used", supply.OpenTooLong: "plan.next-stale"}[why]
		lines = append(lines, k.Card(k.Strong(kit.Said(p.Pack.Label)), k.Both(model.T(key, "when", next))))
	}
	if len(lines) == 0 {
		return nil
	}
	return append([]fyne.CanvasObject{k.BothSection(model.T("plan.next"))}, lines...)
}

// offerPage asks for one offer.
func (w *Window) offerPage(o household.ShopOffer) func() view {
	strips, days := "", ""
	if o.Strips > 0 {
		strips = strconv.Itoa(o.Strips)
	}
	if o.DaysOpen > 0 {
		days = strconv.Itoa(o.DaysOpen)
	}
	sealed := string(model.Tub)
	if o.Single {
		sealed = string(model.Single)
	}
	price := w.words.Number(o.Price)
	keep := func(change func([]household.ShopOffer) []household.ShopOffer) {
		s := w.house.State().Records.Shopping()
		s.Offers = change(slices.DeleteFunc(slices.Clone(s.Offers), func(x household.ShopOffer) bool { return x.ID == o.ID }))
		if w.keep(household.KeepShopping(s)) {
			w.close()
		}
	}
	return func() view {
		k := w.kit
		field := func(id, label, help string, width int, text string, changed func(string)) *kit.Field {
			a := kit.Ask{ID: id, Label: model.T(label), Width: width}
			if help != "" {
				a.Help = model.T(help)
			}
			return k.Field(a, text, changed)
		}
		label := field("label", "plan.label", "", 0, o.Label, func(s string) { o.Label = s })
		count := field("strips", "pack.strips", "", 5, strips, func(s string) { strips = s })
		cost := field("price", "pack.price", "", 10, price, func(s string) { price = s })
		cash := field("currency", "pack.currency", "pack.currency-help", 5, o.Currency, func(s string) { o.Currency = s })
		open := field("days", "pack.days", "pack.days-help", 5, days, func(s string) { days = s })
		useBy, _ := model.ParseDay(o.UseBy, true)
		var date *kit.DateField
		takeDate := func() {
			if d, p := date.Value(); p == nil {
				o.UseBy = d.String()
			} else if date.Empty() {
				o.UseBy = ""
			}
		}
		date = k.DateField(kit.AskDate{ID: "use-by", Label: model.T("pack.use-by"), Value: useBy, Today: w.house.Now(), MonthOnly: true, Changed: takeDate})
		body := []fyne.CanvasObject{label, count, cost, cash,
			k.Choice("sealed", model.T("pack.sealed"), []kit.Option{{ID: string(model.Tub), Label: model.T("pack.sealed.tub")},
				{ID: string(model.Single), Label: model.T("pack.sealed.single")}}, sealed, func(id string) { sealed = id }),
			open, date}
		if slices.ContainsFunc(w.house.State().Records.Shopping().Offers, func(x household.ShopOffer) bool { return x.ID == o.ID }) && w.house.ReadOnly().IsZero() {
			body = append(body, apart(), k.Row(k.Button("delete-offer", model.T("do.delete"), func() {
				keep(func(s []household.ShopOffer) []household.ShopOffer { return s })
			})))
		}
		save := func() {
			takeDate()
			form := checked{w: w}
			o.Label = strings.TrimSpace(o.Label)
			taken := slices.ContainsFunc(w.house.State().Records.Shopping().Offers, func(x household.ShopOffer) bool { return x.ID != o.ID && x.Label == o.Label })
			name := unless(o.Label != "", "problem.name-missing")
			if taken {
				name = model.T("plan.label-taken")
			}
			form.check(label, name)
			var why model.Msg
			o.Strips, why = wholeNumber(strips)
			if why.IsZero() && o.Strips < 1 {
				why = model.T("problem.number-missing")
			}
			form.check(count, why)
			o.Price, why = offerPrice(price)
			form.check(cost, why)
			o.Currency = strings.ToUpper(strings.TrimSpace(o.Currency))
			o.DaysOpen, why = wholeNumber(days)
			form.check(open, why)
			form.check(date, dateProblem(date))
			if form.bad() {
				return
			}
			o.Single = sealed == string(model.Single)
			keep(func(s []household.ShopOffer) []household.ShopOffer { return append(s, o) })
		}
		return view{title: model.T("plan.offer"), body: body, back: w.backTo(w.goBack), focus: label.Focusable(),
			main: w.unlessReadOnly(&action{"save", model.T("do.save"), save})}
	}
}

// offerPrice reads a price; empty is not known.
func offerPrice(typed string) (plain string, why model.Msg) {
	plain, why = priceOf(typed)
	if n, number := model.ParseNumber(plain); number && n <= 0 {
		return "", model.T("plan.price-wrong")
	}
	return plain, why
}
