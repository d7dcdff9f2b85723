package fhir

import (
	"fmt"
	"io"
	"testing"
	"time"

	"quietwater/app/exchange"
	"quietwater/model"
)

// BenchmarkExport writes a book of 110,000 values as FHIR, beside the plain
// table of the same book, and beside its bare texts.
func BenchmarkExport(b *testing.B) {
	now := time.Date(2026, 11, 28, 10, 0, 0, 0, time.UTC)
	p := model.Person{ID: "0001", Name: "Rosa"}
	book := model.Book{Persons: []model.Person{p}}
	for i := range 55_000 {
		book.Entries = append(book.Entries, model.Entry{ID: model.ID(fmt.Sprintf("%032x", i)), Person: p.ID, Kind: model.Vital, When: model.At(now.Add(-time.Duration(i) * time.Hour)),
			Values: []model.Value{{Code: "systolic", Number: 130, Typed: "130", Unit: "mm[Hg]"}, {Code: "diastolic", Number: 80, Typed: "80", Unit: "mm[Hg]"}}})
	}
	model.SortEntries(book.Entries)
	rows := book.Rows()
	b.Run("floor", func(b *testing.B) {
		for b.Loop() {
			for _, r := range rows {
				fmt.Fprintln(io.Discard, r.Person, r.When, r.Kind, r.What, r.Value, r.Unit, r.Note)
			}
		}
	})
	b.Run("table", func(b *testing.B) {
		for b.Loop() {
			if err := exchange.WriteTable(io.Discard, book.Rows()); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(len(rows)), "rows")
	})
	b.Run("fhir", func(b *testing.B) {
		for b.Loop() {
			if err := Write(io.Discard, book, now); err != nil {
				b.Fatal(err)
			}
		}
	})
}
