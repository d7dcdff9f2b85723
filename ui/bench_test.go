package ui

import (
	"fmt"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/model"
	"quietwater/model/household"
)

// busyYears is a book of one person with 30 short entries a day.
func busyYears(years int) household.Records {
	p := model.Person{ID: "00000000000000000000000000000001", Name: "Rosa"}
	r := household.Records{Book: model.Book{Persons: []model.Person{p}}, Settings: map[string]string{household.SetWelcomed: "yes"}}
	n := 0
	add := func(k model.Kind, at time.Time, vs ...model.Value) {
		n++
		for i := range vs {
			vs[i].Typed = model.FormatNumber(vs[i].Number)
		}
		r.Book.Entries = append(r.Book.Entries, model.Entry{ID: model.ID(fmt.Sprintf("%032x", n+16)), Person: p.ID, Kind: k, When: model.At(at), Values: vs})
	}
	for d := morning.AddDate(-years, 0, 0); d.Before(morning); d = d.AddDate(0, 0, 1) {
		for i := range 12 {
			at := d.Add(-time.Duration(12-i) * time.Hour)
			add(model.Fluid, at, model.Value{Code: "drink", Number: 150, Unit: "mL"})
			add(model.Fluid, at.Add(30*time.Minute), model.Value{Code: "urine", Number: 140, Unit: "mL"})
		}
		add(model.Vital, d.Add(-2*time.Minute), model.Value{Code: "weight", Number: 70, Unit: "kg"})
		for i := range 4 {
			add(model.Vital, d.Add(-time.Duration(i)*time.Minute), model.Value{Code: "systolic", Number: 128, Unit: "mm[Hg]"}, model.Value{Code: "diastolic", Number: 78, Unit: "mm[Hg]"})
		}
		add(model.Symptom, d, model.Value{Code: "tiredness", Number: 1})
	}
	model.SortEntries(r.Book.Entries)
	return r
}

// BenchmarkSaveToScreen keeps one drink and shows what the rules say of it; a
// write to disk is not in it. Its floor is to draw the page Today again.
func BenchmarkSaveToScreen(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		bk := newBook(busyYears(years))
		test.NewApp()
		d := &desk{book: bk, win: test.NewWindow(nil), size: fyne.NewSize(1280, 800)}
		d.win.Resize(d.size)
		d.w = New(d.win, bk, &tones{book: bk}, func(fyne.Theme) {}, Options{Machine: "en"})
		drink := func() {
			d.w.jotDown(&jot{person: bk.records().Book.Persons[0], settled: []string{"again"}, say: model.T("done.saved"), form: d.w.today,
				entries: []model.Entry{d.w.newEntry(bk.records().Book.Persons[0], model.Fluid, model.At(bk.Now()), model.Value{Code: "drink", Number: 200, Typed: "200", Unit: "mL"})}})
			d.settle()
		}
		b.Run(fmt.Sprintf("%d-years", years), func(b *testing.B) {
			for b.Loop() {
				drink()
				bk.past = bk.past[len(bk.past)-1:]
			}
		})
		b.Run(fmt.Sprintf("%d-years-floor", years), func(b *testing.B) {
			for b.Loop() {
				d.w.redraw()
				d.settle()
			}
		})
	}
}
