package exchange

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange/booktest"
	"quietwater/model"
)

var update = flag.Bool("update", false, "write the golden files anew")

// Law: a book written, read into an empty book and written again gives the
// same table byte for byte; read once more into that book it adds nothing.
func TestBooksComeBackTheSame(t *testing.T) {
	used := map[string]bool{}
	for seed := range uint64(1500) {
		book := booktest.New(seed).Book()
		rows := book.Rows()
		first := write(t, rows)
		back, refused := read(t, first)
		if len(refused) > 0 || !slices.Equal(bare(back), rows) {
			t.Fatalf("seed %d: rows came back otherwise: %v\n%+v\n%+v", seed, refused, rows, back)
		}
		got := importText(first, model.Book{})
		if outcome(got) != "ok" {
			t.Fatalf("seed %d: %s\n%s", seed, outcome(got), first)
		}
		if second := write(t, got.Book.Rows()); second != first {
			t.Fatalf("seed %d:\n%s\ncame back as\n%s", seed, first, second)
		}
		again := importText(first, got.Book)
		if again.Accepted != 0 || len(again.Book.Entries)+len(again.Book.Packs)+len(again.Book.Persons) > 0 {
			t.Fatalf("seed %d: read twice, %d of %d rows were taken twice\n%s", seed, again.Accepted, again.Rows, first)
		}
		for _, r := range rows {
			used[r.Kind+" "+r.What] = true
		}
	}
	for _, it := range model.Items() {
		if !used[string(it.Kind)+" "+string(it.Code)] {
			t.Errorf("the books never held %s %s", it.Kind, it.Code)
		}
	}
}

// Law: the order in which a book holds its entries does not reach the table.
func TestOrderDoesNotMatter(t *testing.T) {
	for seed := range uint64(100) {
		m := booktest.New(seed)
		book := m.Book()
		want := write(t, book.Rows())
		m.Shuffle(len(book.Entries), func(i, j int) { book.Entries[i], book.Entries[j] = book.Entries[j], book.Entries[i] })
		m.Shuffle(len(book.Packs), func(i, j int) { book.Packs[i], book.Packs[j] = book.Packs[j], book.Packs[i] })
		for _, e := range book.Entries {
			m.Shuffle(len(e.Values), func(i, j int) { e.Values[i], e.Values[j] = e.Values[j], e.Values[i] })
		}
		if got := write(t, book.Rows()); got != want {
			t.Fatalf("seed %d: %s\nis not\n%s", seed, got, want)
		}
	}
}

// Law: what is accepted of any file exports to a table that is accepted
// whole, and that exports to itself.
func FuzzImport(f *testing.F) {
	for seed := range uint64(20) {
		f.Add([]byte(write(f, booktest.New(seed).Book().Rows())))
	}
	f.Add([]byte("person;when;kind;what;value;unit;note\nR;2026-05-01;vital;weight;61,5;;\nR;2026-05-01;vital;weight;61,5;;\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got := importFrom(bytes.NewReader(data), model.Book{})
		if got.FileRefused != nil {
			return
		}
		if got.Accepted < 0 || got.Accepted+len(got.Refused) != got.Rows {
			t.Fatalf("%d rows, %d accepted, %d refused", got.Rows, got.Accepted, len(got.Refused))
		}
		first := write(t, got.Book.Rows())
		again := importText(first, model.Book{})
		if outcome(again) != "ok" {
			t.Fatalf("%q: exported as %q: %s", data, first, outcome(again))
		}
		if second := write(t, again.Book.Rows()); second != first {
			t.Fatalf("%q: exported as %q, then as %q", data, first, second)
		}
	})
}

// The invented household's table, as somebody may read it: taken whole, and
// written back to the letter.
func TestHousehold(t *testing.T) {
	const path = "testdata/household.csv"
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got := importText(string(file), model.Book{})
	if outcome(got) != "ok" {
		t.Fatal(outcome(got))
	}
	out := write(t, got.Book.Rows())
	if *update {
		if err := os.WriteFile(path, []byte(out), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if out != string(file) {
		t.Errorf("%s is written as\n%s", path, out)
	}
	seen := map[model.Kind]bool{}
	for _, r := range got.Book.Rows() {
		seen[model.Kind(r.Kind)] = true
	}
	for _, k := range model.Kinds() {
		if !seen[k] {
			t.Errorf("the household shows no %s", k)
		}
	}
}

func BenchmarkImport(b *testing.B) {
	var rows strings.Builder
	rows.WriteString(header)
	at := time.Date(2016, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 100_000 {
		fmt.Fprintf(&rows, "Rosa,%s,vital,weight,61.5,kg,\n", at.Add(time.Duration(i)*time.Hour).Format(time.RFC3339))
	}
	text := rows.String()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if got := importText(text, model.Book{}); got.Rows != 100_000 {
			b.Fatal(got.Rows)
		}
	}
}
