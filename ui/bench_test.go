package ui

import (
	"fmt"
	"image"
	"image/draw"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/timeline"
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

// benchDesk is a desk without a test to report to.
func benchDesk(b *book) *desk {
	test.NewApp()
	d := &desk{book: b, win: test.NewWindow(nil), size: fyne.NewSize(1280, 800)}
	d.win.Resize(d.size)
	d.w = New(d.win, b, &tones{book: b}, func(fyne.Theme) {}, Options{Machine: "en"})
	return d
}

// BenchmarkSaveToScreen keeps one drink and shows what the rules say of it; a
// write to disk is not in it. Its floor is to draw the page Today again.
func BenchmarkSaveToScreen(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		bk := newBook(busyYears(years))
		d := benchDesk(bk)
		drink := func() {
			d.w.jotDown(&jot{person: bk.records().Book.Persons[0], settled: []string{"again"}, form: d.w.today,
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

// BenchmarkTimelinePage moves the timeline of so many years, 30 entries a day:
// what the window does itself (the page with its list of days), what is drawn
// beside it (the picture), and as the floor a blank picture of the same size.
func BenchmarkTimelinePage(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		bk := newBook(busyYears(years))
		d := benchDesk(bk)
		d.w.show("timeline")
		bk.state.Version = 1 // as in the program: courses are gathered once for a state
		m, _ := d.w.member()
		for _, zoom := range []timeline.Zoom{timeline.Month, timeline.Quarter, timeline.All} {
			d.w.see(timeline.View{Zoom: zoom})
			first, now := d.w.firstOf(m), bk.Now()
			from, to := d.w.span.Window(first, now)
			p := d.w.lanes(m, from, to, model.When{})
			look := d.w.chartLook()
			high := charts.Pads(p, d.w.words, look, d.w.pageWidth()).Height
			run := func(part string, do func()) {
				b.Run(fmt.Sprintf("%d-years/%s/%s", years, zoom, part), func(b *testing.B) {
					for b.Loop() {
						do()
					}
				})
			}
			steps := []float64{-half, half}
			run("page", func() {
				d.w.see(d.w.span.Pan(steps[0], first, now))
				steps[0], steps[1] = steps[1], steps[0]
				d.settle()
			})
			run("picture", func() {
				p := d.w.lanes(m, from, to, model.When{})
				onPaper(charts.Pads(p, d.w.words, look, d.w.pageWidth()), d.w.pageWidth(), high, 1, look)
			})
			run("blank", func() {
				paper := image.NewRGBA(image.Rect(0, 0, d.w.pageWidth(), high))
				draw.Draw(paper, paper.Bounds(), image.NewUniform(look.Paper), image.Point{}, draw.Src)
			})
		}
	}
}
