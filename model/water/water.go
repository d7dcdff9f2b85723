// Package water owns what was drunk and what was passed, day by day, and the
// collections of urine whose hours are known.
//
// It refuses to know what is too much or too little: a limit is the doctor's,
// and what calls for one is finding's.
package water

import (
	"sort"
	"time"

	"quietwater/model"
)

// Day is what one calendar day holds, in mL.
type Day struct {
	Date   time.Time // its first instant in the household's zone
	Drunk  float64
	Drinks int     // entries; soup, ice and jelly are drinks
	Passed float64 // all urine that was measured
	// Whole reports that a collection of a whole day ended on this day, so that
	// Passed is all there was. Without it part of the urine may be missing.
	Whole bool
}

// Balance is what was drunk less what was passed; ok is false where not all
// urine was measured. What is lost by breath and skin is not in it.
func (d Day) Balance() (ml float64, ok bool) { return d.Drunk - d.Passed, d.Whole && d.Drinks > 0 }

// Days lists the calendar days from from to to, both included, in zone from's,
// also those without an entry. entries come in time order.
func Days(entries []model.Entry, from, to time.Time) []Day {
	zone := from.Location()
	first, last := model.OnDay(from), model.OnDay(to)
	var days []Day
	y, m, d := from.Date()
	for i := range model.DaysBetween(first, last, zone) + 1 { // by noon, which no change of clocks takes away
		days = append(days, Day{Date: model.OnDay(time.Date(y, m, d+i, 12, 0, 0, 0, zone)).Time()})
	}
	for _, e := range since(entries, first.Time().AddDate(0, 0, -nearby)) {
		n := model.DaysBetween(first, e.When, zone)
		if e.Kind != model.Fluid || n < 0 || n >= len(days) {
			continue
		}
		d := &days[n]
		if ml, ok := amount(e, "drink"); ok {
			d.Drunk += ml
			d.Drinks++
		}
		if ml, ok := amount(e, "urine"); ok {
			d.Passed += ml
		}
	}
	for _, c := range Collections(entries, first.Time().AddDate(0, 0, -nearby)) {
		if n := model.DaysBetween(first, c.When, zone); c.Amount.Kind == model.Fluid && n >= 0 && n < len(days) {
			days[n].Whole = days[n].Whole || c.WholeDay()
		}
	}
	return days
}

// nearby is more than the days that a day alone may lie from where its zone has
// it.
const nearby = 3

// since is the part of entries that may lie at or after a time.
func since(entries []model.Entry, at time.Time) []model.Entry {
	i := sort.Search(len(entries), func(i int) bool { return !entries[i].When.Time().Before(at) })
	return entries[i:]
}

func amount(e model.Entry, c model.Code) (ml float64, ok bool) {
	v, there := e.Value(c)
	if !there {
		return 0, false
	}
	it, _ := model.Find(e.Kind, c)
	return it.In(v, "mL")
}

// Collection is all urine of a known number of hours, which ended at When. How
// much and how long may stand in one entry or, as the plain table has it, in
// two of one time.
type Collection struct {
	Amount, Span model.Entry
	When         model.When
	ML           float64
	Hours        float64
}

// WholeDay reports a collection of 24 hours, an hour more or less (our choice).
func (c Collection) WholeDay() bool { return c.Hours >= 23 && c.Hours <= 25 }

// Rate is mL an hour and kilogram of body weight; ok is false without a weight.
func (c Collection) Rate(kg float64) (float64, bool) {
	if kg <= 0 || c.Hours <= 0 {
		return 0, false
	}
	return c.ML / c.Hours / kg, true
}

// Collections lists those that ended at or after from, measured at home or in a
// laboratory, in time order. entries come in time order.
func Collections(entries []model.Entry, from time.Time) []Collection {
	entries = since(entries, from)
	var out []Collection
	for i, e := range entries {
		code, ok := map[model.Kind]model.Code{model.Fluid: "urine", model.Lab: "urine-volume"}[e.Kind]
		if !ok {
			continue
		}
		ml, ok := amount(e, code)
		if !ok {
			continue
		}
		if span, hours, ok := spanOf(entries, i); ok {
			out = append(out, Collection{e, span, e.When, ml, hours})
		}
	}
	return out
}

// spanOf finds the hours that belong to the urine of an entry: in itself, else
// in one of the same kind and time, which stands beside it.
func spanOf(entries []model.Entry, i int) (span model.Entry, hours float64, ok bool) {
	from, to := i, i+1
	for from > 0 && entries[from-1].When.Compare(entries[i].When) == 0 {
		from--
	}
	for to < len(entries) && entries[to].When.Compare(entries[i].When) == 0 {
		to++
	}
	for _, e := range append([]model.Entry{entries[i]}, entries[from:to]...) {
		if v, there := e.Value("urine-hours"); there && e.Kind == entries[i].Kind && v.Number > 0 {
			return e, v.Number, true
		}
	}
	return model.Entry{}, 0, false
}
