// Package timeline owns how a person's entries and findings are laid out in
// time: days to read as a list, and lanes to see as a picture.
//
// It refuses to know colours, fonts and words; charts and ui draw what it
// arranges.
package timeline

import (
	"cmp"
	"slices"
	"sort"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
)

// Item is one thing on a day: an entry, with its verdict when it is a strip
// test, or a finding, or a to-do that is due that day.
type Item struct {
	Person  model.Person
	When    model.When
	Entry   *model.Entry
	Verdict *strip.Verdict
	Finding *finding.Finding
	Due     bool // the finding stands here as a to-do, not where it arose
}

// Day is one calendar day with its items, newest first.
type Day struct {
	Date  time.Time
	Items []Item
}

// Days lays out what happened between from and to, both days included, newest
// day first. To-dos lie on the day they are due from, which may be ahead.
func Days(results []finding.Result, from, to time.Time) []Day {
	zone := from.Location()
	first, last := model.OnDay(from).Time(), model.OnDay(to).Time()
	type dated struct {
		Item
		day time.Time
	}
	var items []dated
	for _, r := range results {
		for _, it := range itemsOf(r, first.AddDate(0, 0, -2), last.AddDate(0, 0, 2)) { // zones lie up to a day apart
			if d := it.When.DayIn(zone); !d.Before(first) && !d.After(last) {
				items = append(items, dated{it, d})
			}
		}
	}
	// By day first: a day written in another zone begins at another instant.
	slices.SortStableFunc(items, func(a, b dated) int { return cmp.Or(b.day.Compare(a.day), b.When.Compare(a.When)) })
	var days []Day
	for _, it := range items {
		if n := len(days); n == 0 || !days[n-1].Date.Equal(it.day) {
			days = append(days, Day{Date: it.day})
		}
		days[len(days)-1].Items = append(days[len(days)-1].Items, it.Item)
	}
	return days
}

// itemsOf are the items of a person's entries from one instant to another, and
// all findings. Entries lie in the order of time: years that are not looked at
// cost nothing.
func itemsOf(r finding.Result, from, to time.Time) []Item {
	h := r.History
	verdicts := make(map[model.ID]*strip.Verdict, len(h.Tests))
	for i := range h.Tests {
		verdicts[h.Tests[i].Entry.ID] = &h.Tests[i].Verdict
	}
	var items []Item
	begin := sort.Search(len(h.Entries), func(i int) bool { return !h.Entries[i].When.IsZero() && !h.Entries[i].When.Time().Before(from) })
	for i := begin; i < len(h.Entries) && !h.Entries[i].When.Time().After(to); i++ {
		e := &h.Entries[i]
		if e.Kind == model.Profile {
			continue
		}
		items = append(items, Item{Person: h.Person, When: e.When, Entry: e, Verdict: verdicts[e.ID]})
	}
	all := r.All()
	for i := range all {
		f := &all[i]
		items = append(items, Item{Person: h.Person, When: f.Since, Finding: f})
		if f.Due != nil && f.Answer == nil {
			items = append(items, Item{Person: h.Person, When: model.At(f.Due.From), Finding: f, Due: true})
		}
	}
	return items
}

// Cell is one reading of a lane.
type Cell struct {
	When     model.When
	Value    model.Value
	Grade    model.Grade // NoGrade for pH and the like
	Standing strip.Standing
}

// Lane is one pad's readings in time order.
type Lane struct {
	Pad   model.Code
	Cells []Cell
}

// Mark is a finding on the line above the lanes, in the words it has elsewhere.
type Mark struct {
	When     model.When
	Urgency  finding.Urgency
	Days     int // as in [finding.Finding]
	Title    model.Msg
	HowSoon  model.Msg
	Answered bool // somebody said what became of it: it asks for nothing now
}

// Picture is what a chart of strip readings needs.
type Picture struct {
	From, To time.Time
	Lanes    []Lane // pads that have readings, in the order of the plain table
	Tracks   []Track
	Chosen   model.When // a moment that is looked at; a line goes down through all
	Marks    []Mark     // in time order
	Photos   []Photo    // in time order
}

// Photo is a test that was read from a photograph.
type Photo struct {
	When  model.When
	Entry model.ID
}

// Pads gathers the lanes of one person between from and to.
func Pads(r finding.Result, from, to time.Time) Picture {
	p := Picture{From: from, To: to}
	inside := func(w model.When) bool {
		d := w.DayIn(from.Location())
		return !d.Before(model.OnDay(from).Time()) && !d.After(model.OnDay(to).Time())
	}
	for _, it := range model.Analytes() {
		lane := Lane{Pad: it.Code}
		for _, t := range r.History.Tests {
			if pad, ok := t.Verdict.Pad(it.Code); ok && inside(t.When()) {
				lane.Cells = append(lane.Cells, Cell{t.When(), *pad.Value, pad.Grade, pad.Standing})
			}
		}
		if len(lane.Cells) > 0 {
			p.Lanes = append(p.Lanes, lane)
		}
	}
	for _, t := range r.History.Tests {
		if t.Entry.Origin == model.FromPhoto && inside(t.When()) {
			p.Photos = append(p.Photos, Photo{t.When(), t.Entry.ID})
		}
	}
	for _, f := range r.All() {
		if inside(f.Since) {
			p.Marks = append(p.Marks, Mark{f.Since, f.Urgency, f.Days, f.Title, f.HowSoon(), f.Answer != nil})
		}
	}
	slices.SortStableFunc(p.Marks, func(a, b Mark) int { return a.When.Compare(b.When) })
	return p
}
