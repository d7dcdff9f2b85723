// Package sheet owns how a laboratory sheet is copied into the book: which
// boxes are offered, which units are remembered, every doubt that must be
// asked before a number is kept, and what a sheet becomes when it is.
//
// It refuses to know how a box is drawn, any language, and what a number means.
package sheet

import (
	"cmp"
	"slices"
	"strings"

	"quietwater/model"
)

// Line is one result as it is being copied.
type Line struct {
	Code  model.Code
	Typed string // a plain number with a point, or "<3" and ">90" as sheets print
	Unit  string // UCUM; "" while nobody chose one
	Mark  string // the sheet's own mark beside it: H, L, an asterisk
}

// Draft is a sheet that is being copied.
type Draft struct {
	Person     model.ID
	Day        model.When `json:"-"`
	Laboratory string
	Fasting    string // yes, no, unsure; "" where nobody said
	Ill        string // during an acute illness; as Fasting
	Lines      []Line
	Note       string          // what could not be kept as a number
	Sure       map[string]bool // doubts somebody has answered with "it says so", by their key

	replaces []model.Entry // a sheet of the book that is being changed
}

// Line finds a line by its code; a copy, empty where there is none.
func (d Draft) Line(c model.Code) Line {
	if i := d.find(c); i >= 0 {
		return d.Lines[i]
	}
	return Line{Code: c}
}

func (d Draft) find(c model.Code) int {
	return slices.IndexFunc(d.Lines, func(l Line) bool { return l.Code == c })
}

// Set keeps a line; one without a number falls away.
func (d *Draft) Set(l Line) {
	i := d.find(l.Code)
	switch {
	case l.Typed == "" && i >= 0:
		d.Lines = slices.Delete(d.Lines, i, i+1)
	case l.Typed == "":
	case i >= 0:
		d.Lines[i] = l
	default:
		d.Lines = append(d.Lines, l)
	}
}

// Empty reports that nothing was copied yet.
func (d Draft) Empty() bool { return len(d.Lines) == 0 && strings.TrimSpace(d.Note) == "" }

// Group is what stands together on a sheet.
type Group struct {
	ID    string
	Codes []model.Code
}

// Groups lists every result a sheet can have, in the order sheets print them.
func Groups() []Group {
	return []Group{
		{"kidneys", []model.Code{"creatinine", "egfr", "cystatin-c", "urea"}},
		{"urine", []model.Code{"acr", "pcr", "rbc-hpf"}},
		{"salts", []model.Code{"potassium", "sodium", "bicarbonate", "calcium", "phosphate"}},
		{"blood", []model.Code{"haemoglobin", "albumin", "glucose", "hba1c"}},
		{"collection", []model.Code{"urine-volume", "urine-hours", "urine-creatinine", "urine-protein"}},
	}
}

// first are the results nearly every sheet of the kidneys has.
var first = []model.Code{"creatinine", "egfr", "acr", "potassium", "haemoglobin"}

// Usual lists what to offer first: the results nearly every sheet has, and
// those that earlier sheets of the person had, in the order of Groups.
func Usual(entries []model.Entry) []model.Code {
	had := map[model.Code]bool{}
	for _, c := range first {
		had[c] = true
	}
	for _, e := range labs(entries) {
		for _, v := range e.Values {
			had[v.Code] = true
		}
	}
	var out []model.Code
	for _, g := range Groups() {
		for _, c := range g.Codes {
			if had[c] {
				out = append(out, c)
			}
		}
	}
	return out
}

func labs(entries []model.Entry) []model.Entry {
	out := make([]model.Entry, 0, len(entries))
	for _, e := range entries {
		if e.Kind == model.Lab {
			out = append(out, e)
		}
	}
	model.SortEntries(out)
	return out
}

// Sheet is what the book holds of one time of one person: one entry as we save
// it, several as a table brings them.
type Sheet struct {
	When       model.When
	Laboratory string
	Entries    []model.Entry
}

// Values lists the results of the sheet, about the sheet itself left out.
func (s Sheet) Values() []model.Value {
	var out []model.Value
	for _, e := range s.Entries {
		for _, v := range e.Values {
			if it, ok := model.Find(model.Lab, v.Code); ok && it.Takes == model.Number {
				out = append(out, v)
			}
		}
	}
	return out
}

// Sheets lists the sheets among one person's entries, newest first.
func Sheets(entries []model.Entry) []Sheet {
	var out []Sheet
	for _, e := range labs(entries) {
		n := len(out)
		if n == 0 || out[n-1].When.String() != e.When.String() {
			out = append(out, Sheet{When: e.When})
			n++
		}
		s := &out[n-1]
		s.Entries = append(s.Entries, e)
		if v, ok := e.Value("laboratory"); ok {
			s.Laboratory = v.Word
		}
	}
	slices.Reverse(out)
	return out
}

// Laboratories lists the laboratories of earlier sheets, the newest first.
func Laboratories(entries []model.Entry) []string {
	var out []string
	for _, s := range Sheets(entries) {
		if s.Laboratory != "" && !slices.ContainsFunc(out, func(o string) bool { return same(o, s.Laboratory) }) {
			out = append(out, s.Laboratory)
		}
	}
	return out
}

// same takes a laboratory's name as people write it twice.
func same(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// Remembered is the unit each result had last on a sheet of the same person
// and laboratory. Another laboratory's units are never taken over.
func Remembered(entries []model.Entry, laboratory string) map[model.Code]string {
	out := map[model.Code]string{}
	for _, s := range Sheets(entries) {
		if !same(s.Laboratory, laboratory) {
			continue
		}
		for _, v := range s.Values() {
			if _, newer := out[v.Code]; !newer && v.Unit != "" {
				out[v.Code] = v.Unit
			}
		}
	}
	return out
}

// Open makes a draft of a sheet of the book, to be changed.
func Open(person model.ID, s Sheet) Draft {
	d := Draft{Person: person, Day: s.When, Laboratory: s.Laboratory, replaces: s.Entries, Sure: map[string]bool{}}
	for _, e := range s.Entries {
		for _, v := range e.Values {
			switch it, ok := model.Find(model.Lab, v.Code); {
			case v.Code == "fasting":
				d.Fasting = v.Word
			case v.Code == "ill-then":
				d.Ill = v.Word
			case ok && it.Takes == model.Number:
				d.Lines = append(d.Lines, Line{v.Code, v.Text(), v.Unit, v.Note})
			}
		}
	}
	return d
}

// Changing reports that the draft is of a sheet that is in the book.
func (d Draft) Changing() bool { return len(d.replaces) > 0 }

// Replaces lists the entries of the sheet that is being changed.
func (d Draft) Replaces() []model.ID {
	var out []model.ID
	for _, e := range d.replaces {
		out = append(out, e.ID)
	}
	return out
}

// Missing lists the results whose unit nobody has chosen.
func (d Draft) Missing() []model.Code {
	var out []model.Code
	for _, l := range d.Lines {
		if it, ok := model.Find(model.Lab, l.Code); ok && len(it.Units) > 0 && l.Unit == "" {
			out = append(out, l.Code)
		}
	}
	return out
}

// value reads a line; ok is false for one that cannot be kept.
func (l Line) value() (v model.Value, why []model.Problem) {
	it, _ := model.Find(model.Lab, l.Code)
	return model.ParseValue(it, l.Typed, l.Unit, l.Mark)
}

// Entries is what the sheet becomes in the book, and what it takes the place
// of: one entry with all results; a result that stands on the sheet twice, and
// the note, in entries of their own. It must have no problem and no open doubt.
func (d Draft) Entries(author string, newID func() model.ID) (keep []model.Entry, remove []model.ID) {
	remove = d.Replaces()
	id := func() model.ID {
		if len(remove) > 0 { // the first keeps its identity
			was := remove[0]
			remove = remove[1:]
			return was
		}
		return newID()
	}
	var sheets []model.Entry
	add := func(v model.Value) {
		for i := range sheets {
			if _, has := sheets[i].Value(v.Code); !has {
				sheets[i].Values = append(sheets[i].Values, v)
				return
			}
		}
		sheets = append(sheets, model.Entry{ID: id(), Person: d.Person, Kind: model.Lab, When: d.Day, Author: author, Values: []model.Value{v}})
	}
	for _, l := range d.ordered() {
		if v, why := l.value(); why == nil {
			add(v)
		}
	}
	if len(sheets) > 0 {
		for _, w := range []model.Value{{Code: "laboratory", Word: strings.TrimSpace(d.Laboratory)}, {Code: "fasting", Word: d.Fasting}, {Code: "ill-then", Word: d.Ill}} {
			if w.Word != "" {
				add(w)
			}
		}
	}
	if note := strings.TrimSpace(d.Note); note != "" {
		sheets = append(sheets, model.Entry{ID: newID(), Person: d.Person, Kind: model.Note, When: d.Day, Author: author,
			Values: []model.Value{{Code: "text", Word: note}}})
	}
	return sheets, remove
}

// ordered puts the lines in the order of the catalogue.
func (d Draft) ordered() []Line {
	place := map[model.Code]int{}
	for i, it := range model.ItemsOf(model.Lab) {
		place[it.Code] = i
	}
	out := slices.Clone(d.Lines)
	slices.SortStableFunc(out, func(a, b Line) int { return cmp.Compare(place[a.Code], place[b.Code]) })
	return out
}
