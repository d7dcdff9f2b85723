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
	Passed float64 // portions of urine that were measured; collections stand apart
}

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
	collected := map[model.ID]bool{}
	for _, c := range Collections(entries, first.Time().AddDate(0, 0, -nearby)) {
		collected[c.Amount.ID] = true
	}
	for _, e := range since(entries, first.Time().AddDate(0, 0, -nearby)) {
		if e.Kind != model.Fluid {
			continue
		}
		n := model.DaysBetween(first, e.When, zone)
		if n < 0 || n >= len(days) {
			continue
		}
		d := &days[n]
		if ml, ok := amount(e, "drink"); ok {
			d.Drunk += ml
			d.Drinks++
		}
		if ml, ok := amount(e, "urine"); ok && !collected[e.ID] {
			d.Passed += ml
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

// volumes names the urine of a collection in the kinds that may hold one.
var volumes = map[model.Kind]model.Code{model.Fluid: "urine", model.Lab: "urine-volume"}

// Collections lists those that ended at or after from, measured at home or in a
// laboratory, in time order. entries come in time order.
func Collections(entries []model.Entry, from time.Time) []Collection {
	entries = since(entries, from)
	var out []Collection
	for i, e := range entries {
		code, ok := volumes[e.Kind]
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
// in another of the same kind and time. Where more than one amount stands at
// that time, nobody knows whose hours they are.
func spanOf(entries []model.Entry, i int) (span model.Entry, hours float64, ok bool) {
	if v, there := entries[i].Value("urine-hours"); there {
		return entries[i], v.Number, v.Number > 0
	}
	amounts := 0
	look := func(e model.Entry) {
		if e.Kind != entries[i].Kind {
			return
		}
		_, portion := e.Value("urine")
		_, volume := e.Value("urine-volume")
		if portion || volume {
			amounts++
		} else if v, there := e.Value("urine-hours"); there && v.Number > 0 {
			span, hours, ok = e, v.Number, true
		}
	}
	for j := i; j >= 0 && entries[j].When.Compare(entries[i].When) == 0; j-- {
		look(entries[j])
	}
	for j := i + 1; j < len(entries) && entries[j].When.Compare(entries[i].When) == 0; j++ {
		look(entries[j])
	}
	return span, hours, ok && amounts == 1
}

// DrunkDuring is what was drunk while a collection went on, in mL; ok is false
// where its hours are not known to the minute. What is lost by breath and skin
// is not in it.
func DrunkDuring(entries []model.Entry, c Collection) (ml float64, ok bool) {
	if c.When.DayOnly() {
		return 0, false
	}
	end := c.When.Time()
	begin := end.Add(-time.Duration(c.Hours * float64(time.Hour)))
	for _, e := range since(entries, begin) {
		if at := e.When.Time(); e.Kind == model.Fluid && !e.When.DayOnly() && at.After(begin) && !at.After(end) {
			drunk, _ := amount(e, "drink")
			ml += drunk
		}
	}
	return ml, true
}
