package exchange

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

var update = flag.Bool("update", false, "write the golden files anew")

// maker makes books at random, over the whole catalogue.
type maker struct {
	*rand.Rand
	newID func() model.ID
	taken map[string]bool // what must be there once only: names, labels, events
}

func newMaker(seed uint64) *maker {
	return &maker{rand.New(rand.NewPCG(seed, 0)), ids(), map[string]bool{}}
}

var scraps = []string{"a", "Ñ", "é", "日本", "=", "+", "-", "@", "'", "\"", ",", ";", "\t", "\r", "\n", "\r\n", " ", "1+", "-5", "5.0", "neg", "\ufeff", "👩‍⚕️", "SUM(A1)", "|", "''"}

// text is never empty and never longer than a label may be.
func (m *maker) text() string {
	var b strings.Builder
	for range 1 + m.IntN(6) {
		b.WriteString(scraps[m.IntN(len(scraps))])
	}
	return b.String()
}

func (m *maker) maybe(s string) string {
	if m.IntN(3) > 0 {
		return ""
	}
	return s
}

// once makes values until one is new.
func (m *maker) once(make func() string) string {
	for {
		if s := make(); !m.taken[s] {
			m.taken[s] = true
			return s
		}
	}
}

func (m *maker) number(u model.Unit, whole bool) string {
	if whole {
		return strconv.Itoa(int(u.Min) + m.IntN(int(u.Max-u.Min)+1))
	}
	for {
		v := u.Min + m.Float64()*(u.Max-u.Min)
		s := strconv.FormatFloat(v, 'f', m.IntN(5), 64)
		if f, ok := model.ParseNumber(s); ok && f >= u.Min && f <= u.Max {
			return strings.Repeat("0", m.IntN(2)) + s
		}
	}
}

func (m *maker) value(it model.Item) model.Value {
	v := model.Value{Code: it.Code, Note: m.maybe(m.text())}
	takes := it.Takes
	if takes == model.GradeOrNumber {
		takes = []model.Takes{model.Number, model.GradeWord}[m.IntN(2)]
	}
	switch takes {
	case model.Number:
		u := it.Units[m.IntN(len(it.Units))]
		v.Unit, v.Typed = u.UCUM, m.number(u, it.Whole)
		v.Number, _ = model.ParseNumber(v.Typed)
		if m.IntN(4) == 0 {
			v.Typed = "" // computed, not typed
		}
		if m.IntN(4) == 0 && u.UCUM == it.DefaultUnit() {
			v.Unit = ""
		}
	case model.GradeWord:
		v.Grade = model.Grades()[m.IntN(len(model.Grades()))]
	case model.Flag:
		v.Word = []string{"yes", "no", "unsure"}[m.IntN(3)]
	case model.Span:
		v.Word = []string{"start", "end"}[m.IntN(2)]
	case model.Words:
		v.Word = it.Words[m.IntN(len(it.Words))]
	case model.Day:
		v.Word = m.day().Format("2006-01-02")
	case model.DayOrMonth:
		v.Word = m.day().Format([]string{"2006-01-02", "2006-01"}[m.IntN(2)])
	case model.Language:
		v.Word = []string{"es", "en-GB", "zh-Hant-TW"}[m.IntN(3)]
	case model.Text:
		v.Word = m.text()
	}
	return v
}

func (m *maker) day() time.Time { return time.Date(1900, 1, 1+m.IntN(46000), 0, 0, 0, 0, madrid) }

func (m *maker) when() model.When {
	t := m.day()
	switch m.IntN(4) {
	case 0:
		return model.OnDay(t)
	case 1:
		return model.At(t.Add(time.Duration(m.Int64N(24 * int64(time.Hour)))))
	case 2:
		return model.At(t.Add(time.Duration(m.IntN(24*60)) * time.Minute))
	}
	zone := time.FixedZone("", 60*(m.IntN(28*60)-14*60))
	return model.At(t.Add(time.Duration(m.IntN(24*60*60)) * time.Second).In(zone))
}

func (m *maker) pack(owner model.ID) model.Pack {
	p := model.Pack{ID: m.newID(), Person: owner}
	p.Label = m.once(func() string { return "pack " + string(owner) + m.text() })[5+len(owner):]
	p.Sealed = []model.Sealing{model.Tub, model.Single, ""}[m.IntN(3)]
	if m.IntN(2) == 0 {
		p.UseByText = m.day().Format("2006-01")
		p.UseBy, _ = model.ParseDay(p.UseByText, true)
	}
	if m.IntN(2) == 0 {
		p.OpenedOn = model.OnDay(m.day())
	}
	p.DaysOpen, p.Strips = m.IntN(100), m.IntN(200)
	p.StripKind, p.Lot, p.Currency = m.maybe(m.text()), m.maybe(m.text()), m.maybe("EUR")
	p.Price = m.maybe("9.90")
	return p
}

func (m *maker) entry(kind model.Kind, b model.Book) model.Entry {
	e := model.Entry{ID: m.newID(), Person: b.Persons[m.IntN(len(b.Persons))].ID, Kind: kind}
	items := model.ItemsOf(kind)
	if kind == model.Answer {
		it, _ := model.ItemFor(kind, "dilute-sample")
		items = []model.Item{it}
	}
	m.once(func() string {
		e.When = m.when()
		if kind == model.Profile && m.IntN(2) == 0 {
			e.When = model.When{}
			return fmt.Sprint(m.Uint64())
		}
		return fmt.Sprint("event ", e.Person, kind, e.When)
	})
	for _, i := range m.Perm(len(items))[:1+m.IntN(len(items))] {
		v := m.value(items[i])
		if v.Code == "pack" && len(b.Packs) > 0 && m.IntN(2) == 0 {
			e.Pack = b.Packs[m.IntN(len(b.Packs))].ID
			if p := b.Packs[slices.IndexFunc(b.Packs, func(p model.Pack) bool { return p.ID == e.Pack })]; p.Person == "" || p.Person == e.Person {
				continue
			}
			e.Pack = ""
		}
		if v.Code == "diastolic" {
			v.Typed, v.Number, v.Unit = "50", 50, "mm[Hg]"
		}
		e.Values = append(e.Values, v)
	}
	if len(e.Values) == 0 {
		e.Values = []model.Value{{Code: "protein", Grade: model.Neg}}
	}
	return e
}

func (m *maker) book() model.Book {
	var b model.Book
	owners := []model.ID{""}
	for range 1 + m.IntN(3) {
		name := m.once(func() string { return "person " + m.text() })[7:]
		b.Persons = append(b.Persons, model.Person{ID: m.newID(), Name: name})
		owners = append(owners, b.Persons[len(b.Persons)-1].ID)
	}
	for range m.IntN(4) {
		b.Packs = append(b.Packs, m.pack(owners[m.IntN(len(owners))]))
	}
	for range 1 + m.IntN(20) {
		kind := model.Kinds()[m.IntN(len(model.Kinds()))]
		if kind != model.PackKind {
			b.Entries = append(b.Entries, m.entry(kind, b))
		}
	}
	return b
}

// Law: a book written, read into an empty book and written again gives the
// same table byte for byte; read once more into that book it adds nothing.
func TestBooksComeBackTheSame(t *testing.T) {
	used := map[string]bool{}
	for seed := range uint64(1500) {
		book := newMaker(seed).book()
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
		m := newMaker(seed)
		book := m.book()
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
		f.Add([]byte(write(f, newMaker(seed).book().Rows())))
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
