package sheet

import (
	"time"

	"quietwater/model"
)

// SameDay is a laboratory result on its way into the book, of a day for which
// there is one of the same name already. It may be the same sample told twice,
// or another one: nobody but the person can know, so it must be asked.
type SameDay struct {
	Coming model.Entry
	Value  model.Value   // of Coming
	There  []model.Value // in the book, or earlier among what is coming
}

// SameDays finds the laboratory results among coming that meet another of the
// same person, name and day, in the book or before them among coming. Days are
// of the zone, as everywhere.
func SameDays(book, coming []model.Entry, zone *time.Location) []SameDay {
	type day struct {
		person model.ID
		code   model.Code
		date   string
	}
	of := func(e model.Entry, v model.Value) day {
		return day{e.Person, v.Code, e.When.DayIn(zone).String()}
	}
	wanted, there := map[day]bool{}, map[day][]model.Value{}
	each(coming, func(e model.Entry, v model.Value) { wanted[of(e, v)] = true })
	each(book, func(e model.Entry, v model.Value) {
		if d := of(e, v); wanted[d] {
			there[d] = append(there[d], v)
		}
	})
	var out []SameDay
	each(coming, func(e model.Entry, v model.Value) {
		d := of(e, v)
		if len(there[d]) > 0 {
			out = append(out, SameDay{e, v, there[d]})
		}
		there[d] = append(there[d], v)
	})
	return out
}

// each walks the laboratory results.
func each(entries []model.Entry, do func(model.Entry, model.Value)) {
	for _, e := range entries {
		if e.Kind != model.Lab {
			continue
		}
		for _, v := range e.Values {
			if it, ok := model.Find(model.Lab, v.Code); ok && it.Takes == model.Number {
				do(e, v)
			}
		}
	}
}
