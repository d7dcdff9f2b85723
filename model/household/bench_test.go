package household

import (
	"fmt"
	"runtime"
	"slices"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
)

var benchNow = time.Date(2027, 3, 1, 9, 0, 0, 0, time.FixedZone("", 3600))

// diary is a book of years in which somebody writes 30 entries a day down: a
// strip test, weight and pressure, another pressure, symptoms, ten drinks, ten
// portions of urine, and goes to the laboratory four times a year; 110 000
// entries in ten years.
func diary(years int) Records {
	var b model.Book
	n := 0
	id := func() model.ID { n++; return model.ID(fmt.Sprintf("%032x", n)) }
	p := model.Person{ID: id(), Name: "Rosa"}
	b.Persons = append(b.Persons, p)
	add := func(k model.Kind, at time.Time, vs ...model.Value) *model.Entry {
		for i, v := range vs {
			if v.IsNumber() { // every number in a book was typed
				vs[i].Typed = model.FormatNumber(v.Number)
			}
		}
		b.Entries = append(b.Entries, model.Entry{ID: id(), Person: p.ID, Kind: k, When: model.At(at), Values: vs})
		return &b.Entries[len(b.Entries)-1]
	}
	symptoms := []model.Code{"tiredness", "foamy-urine", "ankle-swelling", "itching", "night-urination"}
	first := benchNow.AddDate(-years, 0, 0)
	add(model.Condition, first.AddDate(-1, 0, 0), model.Value{Code: "diabetes", Word: "start"})
	add(model.Medicine, first.AddDate(-1, 0, 0), model.Value{Code: "acei-or-arb", Word: "start"})
	var pack model.ID
	for i, d := 0, first; d.Before(benchNow); i, d = i+1, d.AddDate(0, 0, 1) {
		if i%90 == 0 {
			pack = id()
			b.Packs = append(b.Packs, model.Pack{ID: pack, Label: "Tub", StripKind: "ten-pads", OpenedOn: model.OnDay(d), DaysOpen: 90, Strips: 100})
			add(model.Lab, d, model.Value{Code: "creatinine", Number: 120, Unit: "umol/L"})
			add(model.Lab, d, model.Value{Code: "acr", Number: 12, Unit: "mg/mmol"})
		}
		grade := []model.Grade{model.Neg, model.Neg, model.Trace, model.Plus1, model.Plus1}[i%5]
		add(model.Strip, d.Add(-90*time.Minute), model.Value{Code: model.Protein, Grade: grade}, model.Value{Code: model.Blood, Grade: model.Neg},
			model.Value{Code: model.Glucose, Grade: model.Plus1}, model.Value{Code: model.Ketones, Grade: model.Neg}, model.Value{Code: model.Nitrite, Grade: model.Neg},
			model.Value{Code: model.Leukocytes, Grade: model.Neg}, model.Value{Code: model.SpecificGravity, Number: 1.015, Unit: "{SG}"}).Pack = pack
		add(model.Vital, d.Add(-time.Hour), model.Value{Code: "weight", Number: 70 + float64(i%7)/10, Unit: "kg"},
			model.Value{Code: "systolic", Number: float64(125 + i%10), Unit: "mm[Hg]"}, model.Value{Code: "diastolic", Number: 78, Unit: "mm[Hg]"})
		add(model.Vital, d.Add(-59*time.Minute), model.Value{Code: "systolic", Number: float64(123 + i%10), Unit: "mm[Hg]"},
			model.Value{Code: "diastolic", Number: 77, Unit: "mm[Hg]"}, model.Value{Code: "pulse", Number: 66, Unit: "/min"})
		for j := range 7 {
			add(model.Symptom, d, model.Value{Code: symptoms[(i+j)%len(symptoms)], Number: float64((i + j) % 3)})
		}
		for j := range 10 {
			add(model.Fluid, d.Add(-time.Duration(j)*83*time.Minute), model.Value{Code: "drink", Number: 150, Unit: "mL"})
			add(model.Fluid, d.Add(-time.Duration(j)*97*time.Minute), model.Value{Code: "urine", Number: 140, Unit: "mL"})
		}
	}
	model.SortEntries(b.Entries) // as a book is read
	return Records{Book: b}
}

// BenchmarkDerive shows how the work grows with the years; its floor is to copy
// the entries and put them in order.
func BenchmarkDerive(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		r := diary(years)
		b.Run(fmt.Sprintf("%d-years", years), func(b *testing.B) {
			for b.Loop() {
				Derive(r, benchNow)
			}
		})
		b.Run(fmt.Sprintf("%d-years-floor", years), func(b *testing.B) {
			for b.Loop() {
				model.SortEntries(slices.Clone(r.Book.Entries))
			}
		})
	}
}

// BenchmarkRules applies all rules to a history that is there already.
func BenchmarkRules(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		r := diary(years)
		h := finding.NewHistory(finding.Input{Book: r.Book, Kinds: r.Kinds(), Now: benchNow}, r.Book.Persons[0])
		b.Run(fmt.Sprintf("%d-years", years), func(b *testing.B) {
			for b.Loop() {
				h.Judge()
			}
		})
	}
}

// BenchmarkSave applies one new entry to the records and derives the state. A
// save stands alone: what the one before has left is swept away first.
func BenchmarkSave(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		r := diary(years)
		c := Changes{Entries: []model.Entry{{ID: "new", Person: r.Book.Persons[0].ID, Kind: model.Fluid, When: model.At(benchNow),
			Values: []model.Value{{Code: "drink", Number: 200, Unit: "mL"}}}}}
		b.Run(fmt.Sprintf("%d-years", years), func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				runtime.GC()
				b.StartTimer()
				Derive(r.Apply(c), benchNow)
			}
		})
	}
}

// sheets is a book of years of monthly laboratory sheets of twelve results in
// two laboratories' units, slowly falling, with an illness now and then.
func sheets(years int) Records {
	var b model.Book
	n := 0
	id := func() model.ID { n++; return model.ID(fmt.Sprintf("%032x", n)) }
	p := model.Person{ID: id(), Name: "Rosa"}
	b.Persons = append(b.Persons, p)
	add := func(k model.Kind, when model.When, vs ...model.Value) {
		b.Entries = append(b.Entries, model.Entry{ID: id(), Person: p.ID, Kind: k, When: when, Values: vs})
	}
	first := benchNow.AddDate(-years, 0, 0)
	add(model.Profile, model.When{}, model.Value{Code: "birth-date", Word: "1950-05-05"})
	add(model.Profile, model.When{}, model.Value{Code: "sex", Word: "female"})
	add(model.Profile, model.When{}, model.Value{Code: "risk-region", Word: "other"})
	add(model.Medicine, model.OnDay(first), model.Value{Code: "acei-or-arb", Word: "start"})
	for m, d := 0, first; d.Before(benchNow); m, d = m+1, d.AddDate(0, 1, 0) {
		crea := model.Value{Code: "creatinine", Number: 90 + float64(m)/4 + float64(m%5), Unit: "umol/L"}
		if m%2 == 1 {
			crea = model.Value{Code: "creatinine", Number: crea.Number / 88.4, Unit: "mg/dL"}
		}
		num := func(c model.Code, x float64, unit string) model.Value {
			return model.Value{Code: c, Number: x, Unit: unit}
		}
		add(model.Lab, model.OnDay(d), crea, num("egfr", 62-float64(m)/10, "mL/min/{1.73_m2}"), num("acr", 10+float64(m)/3, "mg/mmol"),
			num("potassium", 4.2+float64(m%8)/10, "mmol/L"), num("sodium", 139, "mmol/L"), num("bicarbonate", 22+float64(m%3), "mmol/L"),
			num("calcium", 2.3, "mmol/L"), num("phosphate", 1.2, "mmol/L"), num("albumin", 40, "g/L"), num("haemoglobin", 118+float64(m%6), "g/L"),
			num("urea", 9, "mmol/L"), num("glucose", 6, "mmol/L"), model.Value{Code: "laboratory", Word: "Bridge"},
			model.Value{Code: "ill-then", Word: []string{"no", "yes"}[min(1, m%17/16)]})
	}
	return Records{Book: b}
}

// BenchmarkSheets derives a person's kidney numbers and laboratory findings;
// its floor is to copy the entries and put them in order.
func BenchmarkSheets(b *testing.B) {
	for _, years := range []int{1, 10, 30} {
		r := sheets(years)
		b.Run(fmt.Sprintf("%d-years", years), func(b *testing.B) {
			for b.Loop() {
				Derive(r, benchNow)
			}
		})
		b.Run(fmt.Sprintf("%d-years-floor", years), func(b *testing.B) {
			for b.Loop() {
				model.SortEntries(slices.Clone(r.Book.Entries))
			}
		})
	}
}
