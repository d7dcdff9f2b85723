// Package booktest makes books at random for tests of what carries a book out
// and in: names and notes of the worst letters, every item of the catalogue.
package booktest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"

	"quietwater/model"
)

var madrid = func() *time.Location {
	z, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		panic(err)
	}
	return z
}()

// IDs counts identities up.
func IDs() func() model.ID {
	n := 0
	return func() model.ID {
		n++
		return model.ID(fmt.Sprintf("%032x", n))
	}
}

// Maker makes books at random, over the whole catalogue.
type Maker struct {
	*rand.Rand
	newID func() model.ID
	taken map[string]bool // what must be there once only: names, labels, events
}

// New makes the same books for the same seed.
func New(seed uint64) *Maker {
	return &Maker{rand.New(rand.NewPCG(seed, 0)), IDs(), map[string]bool{}}
}

var scraps = []string{"a", "Ñ", "é", "日本", "=", "+", "-", "@", "'", "\"", ",", ";", "\t", "\r", "\n", "\r\n", " ", "1+", "-5", "5.0", "neg", "\ufeff", "👩‍⚕️", "SUM(A1)", "|", "''"}

// text is never empty and never longer than a label may be.
func (m *Maker) text() string {
	var b strings.Builder
	for range 1 + m.IntN(6) {
		b.WriteString(scraps[m.IntN(len(scraps))])
	}
	return b.String()
}

func (m *Maker) maybe(s string) string {
	if m.IntN(3) > 0 {
		return ""
	}
	return s
}

// once makes values until one is new.
func (m *Maker) once(make func() string) string {
	for {
		if s := make(); !m.taken[s] {
			m.taken[s] = true
			return s
		}
	}
}

func (m *Maker) number(u model.Unit, whole bool) string {
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

func (m *Maker) value(it model.Item) model.Value {
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

func (m *Maker) day() time.Time { return time.Date(1900, 1, 1+m.IntN(46000), 0, 0, 0, 0, madrid) }

func (m *Maker) when() model.When {
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

func (m *Maker) pack(owner model.ID) model.Pack {
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

func (m *Maker) entry(kind model.Kind, b model.Book) model.Entry {
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

// Book is one book: up to three persons, some packs and entries.
func (m *Maker) Book() model.Book {
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
