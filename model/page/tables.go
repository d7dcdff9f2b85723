package page

import (
	"slices"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/pressure"
	"quietwater/model/sheet"
	"quietwater/model/strip"
)

// Table is one of the tables for the sides after the first.
type Table struct {
	Title model.Msg
	Head  []Cell
	Rows  [][]Cell
}

// Cell is a day, or facts one after the other.
type Cell struct {
	Day   model.When
	Facts []model.Msg
}

func cell(facts ...model.Msg) Cell { return Cell{Facts: facts} }

// Tables are what a doctor may want to look up: the laboratory sheets, the
// strip tests, the pressures and the symptoms of the period, each newest first
// and with no more than most rows: nobody looks up, or has paper for, the days of
// many years.
func Tables(r finding.Result, a Asked, most int) []Table {
	w := newWriter(r, a)
	var out []Table
	for _, t := range []Table{w.labTable(), w.stripTable(most), w.pressureTable(most), w.symptomTable(most)} {
		if len(t.Rows) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// sheetsShown is how many sheets a side is wide enough for.
const sheetsShown = 3

// labTable has a column for each of the newest days with results.
func (w writer) labTable() Table {
	t := Table{Title: model.T("doc.table.lab"), Head: []Cell{cell(model.T("doc.table.result"))}}
	sheets := sheet.Sheets(w.h.Entries)
	slices.SortStableFunc(sheets, func(a, b sheet.Sheet) int { return b.When.Compare(a.When) })
	sheets = sheets[:min(len(sheets), sheetsShown)]
	for _, s := range sheets {
		t.Head = append(t.Head, Cell{Day: s.When})
	}
	for _, it := range model.ItemsOf(model.Lab) {
		if it.Takes != model.Number {
			continue
		}
		row, any := []Cell{cell(labelOf(model.Lab, it.Code))}, false
		for _, s := range sheets {
			c := Cell{}
			for _, e := range s.Entries {
				if v, ok := e.Value(it.Code); ok {
					c, any = cell(model.T("doc.value", "value", quantity(v))), true
				}
			}
			row = append(row, c)
		}
		if any {
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// stripTable has a line a test: what was not negative, and why pads do not
// count.
func (w writer) stripTable(most int) Table {
	t := Table{Title: model.T("doc.table.strips"), Head: []Cell{cell(model.T("doc.table.day")), cell(model.T("doc.table.shown"))}}
	for _, test := range slices.Backward(w.h.Tests) {
		if len(t.Rows) == most || test.When().DayIn(w.h.Zone).Before(w.a.Since) {
			break
		}
		var facts []model.Msg
		for _, p := range test.Verdict.Pads {
			if p.Grade != model.Neg {
				facts = append(facts, valueOf(model.Strip, *p.Value))
			}
		}
		if len(facts) < len(test.Verdict.Pads) {
			facts = append(facts, model.T("doc.table.rest-negative"))
		}
		for _, r := range strip.Reasons() {
			if test.Verdict.Has(r) {
				facts = append(facts, model.T("reason."+string(r)+".name"))
			}
		}
		t.Rows = append(t.Rows, []Cell{{Day: test.When()}, cell(facts...)})
	}
	return t
}

// pressureTable has a line a day.
func (w writer) pressureTable(most int) Table {
	t := Table{Title: model.T("doc.table.pressure"), Head: []Cell{cell(model.T("doc.table.day")), cell(model.T("doc.table.readings"))}}
	for _, r := range slices.Backward(pressure.Readings(w.h.Entries, w.a.Since)) {
		said := model.T("doc.table.reading", "pair", pair(r.Systolic, r.Diastolic))
		if n := len(t.Rows); n > 0 && model.DaysBetween(t.Rows[n-1][0].Day, r.When, w.h.Zone) == 0 {
			t.Rows[n-1][1].Facts = append([]model.Msg{said}, t.Rows[n-1][1].Facts...)
			continue
		}
		if len(t.Rows) == most {
			break
		}
		t.Rows = append(t.Rows, []Cell{{Day: r.When}, cell(said)})
	}
	return t
}

// symptomTable has a line a day.
func (w writer) symptomTable(most int) Table {
	t := Table{Title: model.T("doc.section.symptoms"), Head: []Cell{cell(model.T("doc.table.day")), cell(model.T("doc.table.felt"))}}
	for _, e := range slices.Backward(w.inPeriod(model.Symptom)) {
		var facts []model.Msg
		for _, v := range e.Values {
			facts = append(facts, valueOf(model.Symptom, v))
		}
		if n := len(t.Rows); n > 0 && model.DaysBetween(t.Rows[n-1][0].Day, e.When, w.h.Zone) == 0 {
			t.Rows[n-1][1].Facts = append(facts, t.Rows[n-1][1].Facts...)
			continue
		}
		if len(t.Rows) == most {
			break
		}
		t.Rows = append(t.Rows, []Cell{{Day: e.When}, cell(facts...)})
	}
	return t
}
