// Package supply owns which box of strips to buy: how many of it will really be
// used before they go stale, and what each of those costs.
//
// It refuses to know prices by itself, and shops.
package supply

import (
	"math/big"
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// Offer is a box of strips somebody could buy.
type Offer struct {
	Label    string
	Strips   int      // in the box, 1 and more
	Price    *big.Rat // of the whole box, exact; nil where not known
	Currency string   // ISO 4217, "" where not known
	Sealed   model.Sealing
	UseBy    model.When // printed, the last good day; zero where not known
	DaysOpen int        // days good after opening a tub; 0 takes strip.PresetDaysOpen
}

// Use is how often a household tests: everybody every so many days.
type Use struct {
	EveryDays int // 1 and more
	Persons   int // 1 and more
	From      time.Time
}

// Why says what ends a box.
type Why int

// A box ends with its last strip, with the days a tub is good once opened, or
// with its printed date.
const (
	UsedUp Why = iota
	OpenTooLong
	PastUseBy
)

// Plan is what becomes of an offer.
type Plan struct {
	Offer        Offer
	Used, Wasted int
	Why          Why
	Ends         model.When // the day the last strip is used, or the last good one
	PerUsed      *big.Rat   // price of each strip that is used; nil without a price or a use
	Assumed      bool       // nobody gave the days after opening
}

// PlanOf works out how many strips of a box will really be used before it goes
// stale, when it is opened on the day use begins (needs.md, part 2, row 2: the
// strips used before an opened pack lapses are its days divided by the days
// between tests).
func PlanOf(o Offer, u Use) Plan {
	p := Plan{Offer: o, Why: UsedUp}
	zone := u.From.Location()
	first := model.OnDay(u.From)
	good := -1 // days the box is good for; below 0: no end is known
	limit := func(days int, why Why) {
		if good < 0 || days < good {
			good, p.Why = max(days, 0), why
		}
	}
	if o.Sealed != model.Single {
		days := o.DaysOpen
		if p.Assumed = days == 0; p.Assumed {
			days = strip.PresetDaysOpen
		}
		limit(days, OpenTooLong)
	}
	if !o.UseBy.IsZero() {
		limit(model.DaysBetween(first, o.UseBy, zone)+1, PastUseBy)
	}
	every, persons := max(u.EveryDays, 1), max(u.Persons, 1)
	p.Used = o.Strips
	if good >= 0 {
		p.Used = min(o.Strips, good/every*persons)
	}
	p.Wasted = o.Strips - p.Used
	rounds := (o.Strips + persons - 1) / persons
	lasts := rounds * every
	if p.Wasted == 0 {
		p.Why = UsedUp
	} else {
		lasts = good
	}
	y, m, d := u.From.Date()
	p.Ends = model.OnDay(time.Date(y, m, d+max(lasts-1, 0), 12, 0, 0, 0, zone))
	if o.Price != nil && p.Used > 0 {
		p.PerUsed = new(big.Rat).Quo(o.Price, new(big.Rat).SetInt64(int64(p.Used)))
	}
	return p
}

// Compare plans offers and puts the one whose used strips cost least first;
// what has no price or no use comes last. Prices are set against each other only
// where all are in one currency, or none names any: else comparable is false,
// and the order is as given.
func Compare(offers []Offer, u Use) (plans []Plan, comparable bool) {
	currencies := map[string]bool{}
	for _, o := range offers {
		plans = append(plans, PlanOf(o, u))
		if o.Price != nil {
			currencies[o.Currency] = true
		}
	}
	if len(currencies) > 1 {
		return plans, false
	}
	slices.SortStableFunc(plans, func(a, b Plan) int {
		switch {
		case a.PerUsed == nil && b.PerUsed == nil:
			return 0
		case a.PerUsed == nil:
			return 1
		case b.PerUsed == nil:
			return -1
		}
		return a.PerUsed.Cmp(b.PerUsed)
	})
	return plans, true
}

// OpenNext is the day on which the next pack should be opened, when the one in
// use has so many strips left and is good until a day; a zero until is no end,
// left below 0 is not known. ok is false where nothing is known.
func OpenNext(left int, until model.When, u Use) (next model.When, why Why, ok bool) {
	y, m, d := u.From.Date()
	on := func(days int) model.When {
		return model.OnDay(time.Date(y, m, d+days, 12, 0, 0, 0, u.From.Location()))
	}
	if left >= 0 {
		next, why, ok = on(left/max(u.Persons, 1)*max(u.EveryDays, 1)), UsedUp, true
	}
	if !until.IsZero() {
		after := on(max(model.DaysBetween(model.OnDay(u.From), until, u.From.Location())+1, 0))
		if !ok || after.Compare(next) < 0 {
			next, why, ok = after, OpenTooLong, true
		}
	}
	return next, why, ok
}
