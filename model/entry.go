package model

import (
	"cmp"
	"slices"
	"sort"
)

// Kind is the first word of a plain-table row: what sort of thing happened.
type Kind string

// The kinds of the plain table.
const (
	Profile   Kind = "profile"
	Condition Kind = "condition"
	Medicine  Kind = "medicine"
	Strip     Kind = "strip"
	Lab       Kind = "lab"
	Vital     Kind = "vital"
	Symptom   Kind = "symptom"
	Fluid     Kind = "fluid"
	PackKind  Kind = "pack"
	Answer    Kind = "answer"
	Note      Kind = "note"
)

// Kinds lists every kind in the order of the plain table.
func Kinds() []Kind {
	return []Kind{Profile, Condition, Medicine, Strip, Lab, Vital, Symptom, Fluid, PackKind, Answer, Note}
}

// OneEvent reports whether rows of this kind with equal person and time are
// one entry with several values.
func (k Kind) OneEvent() bool { return k == Strip || k == Vital }

// Code names what was recorded within a kind: "protein", "systolic".
type Code string

// Origin says how a strip reading or another entry came into the book.
type Origin string

// How an entry was made. ReadAtTone means each pad was read at its own time,
// so no single number of seconds describes it.
const (
	ByHand     Origin = ""
	ReadAtTone Origin = "tone"
	FromPhoto  Origin = "photo"
	ReadLater  Origin = "later"
	FromTable  Origin = "table"
)

// Value is one coded result. Exactly one of Number, Grade and Word speaks:
// Grade when it is set, else Word when it is not empty, else Number.
type Value struct {
	Code       Code
	Number     float64 // in Unit
	Grade      Grade
	Word       string  // yes/no/unsure, start/end, a date, a listed word, free text
	Typed      string  // the number as it was written ("1.10"), never reformatted
	Unit       string  // UCUM
	Confidence float64 // of a photo reading, 0 to 1; 0 when read by eye
	Note       string
}

// IsNumber reports whether Number speaks.
func (v Value) IsNumber() bool { return v.Grade == NoGrade && v.Word == "" }

// Bound tells of a laboratory value that is only a limit, as sheets print
// "<3" and ">90": '<' where the true number lies below Number, '>' where it
// lies above, 0 where Number is the result itself.
func (v Value) Bound() byte {
	if v.IsNumber() && v.Typed != "" && (v.Typed[0] == '<' || v.Typed[0] == '>') {
		return v.Typed[0]
	}
	return 0
}

// Text gives the value as the plain table writes it.
func (v Value) Text() string {
	switch {
	case v.Grade != NoGrade:
		return v.Grade.String()
	case v.Word != "":
		return v.Word
	case v.Typed != "":
		return v.Typed
	}
	return FormatNumber(v.Number)
}

// Entry is one dated event of one person with its coded values. Entries that were
// read from a book share equal lists of values: whoever changes one, clones it.
type Entry struct {
	ID     ID
	Person ID
	Kind   Kind
	When   When
	Values []Value
	Author string // who typed it; "" when unknown
	Pack   ID     // the pack a strip came from
	Origin Origin
}

// Value finds the value of a code.
func (e Entry) Value(c Code) (Value, bool) {
	if v := e.Find(c); v != nil {
		return *v, true
	}
	return Value{}, false
}

// Find gives the value of a code where it stands, to be read only; nil for none.
func (e Entry) Find(c Code) *Value {
	for i := range e.Values { // without a copy of each: strips ask for every pad there may be
		if e.Values[i].Code == c {
			return &e.Values[i]
		}
	}
	return nil
}

// Says reports whether the yes/no/unsure value of a code is word.
func (e Entry) Says(c Code, word string) bool {
	v, ok := e.Value(c)
	return ok && v.Word == word
}

// SortEntries puts entries in time order, then by content and last by
// identity, so that nothing later depends on the order in which they were
// read. Of a start and an end on one day, the start comes last and holds.
func SortEntries(es []Entry) {
	n := sortedUpTo(es)
	if len(es)-n > fewLoose {
		sortMany(es)
		return
	}
	for i := n; i < len(es); i++ { // a book with a new entry at its end
		e := es[i]
		at := sort.Search(i, func(j int) bool { return compareEntries(&es[j], &e) > 0 })
		copy(es[at+1:i+1], es[at:i])
		es[at] = e
	}
}

// sortMany sorts seconds, which are small, and moves each entry once.
func sortMany(es []Entry) {
	type place struct {
		second int64
		from   int
	}
	places := make([]place, len(es))
	for i := range es {
		places[i] = place{es[i].When.t.Unix(), i}
	}
	slices.SortFunc(places, func(a, b place) int {
		if c := cmp.Compare(a.second, b.second); c != 0 {
			return c
		}
		return compareEntries(&es[a.from], &es[b.from])
	})
	const done = -1
	for i := range es { // each begins the round of those that stand in each other's places
		first, to := es[i], i
		for from := places[to].from; from != done; from = places[to].from {
			places[to].from = done
			if from == i {
				es[to] = first
				break
			}
			es[to], to = es[from], from
		}
	}
}

// fewLoose is how many entries are put into their places one by one.
const fewLoose = 8

// EntriesSorted reports that entries stand as SortEntries would put them.
func EntriesSorted(es []Entry) bool { return sortedUpTo(es) == len(es) }

// sortedUpTo is how many entries at the beginning are in order.
func sortedUpTo(es []Entry) int {
	for i := 1; i < len(es); i++ {
		if compareEntries(&es[i-1], &es[i]) > 0 {
			return i
		}
	}
	return len(es)
}

// compareEntries looks at no more than it must: it is asked of many thousands at
// each save.
func compareEntries(a, b *Entry) int {
	if c := a.When.Compare(b.When); c != 0 {
		return c
	}
	if c := cmp.Compare(a.Kind, b.Kind); c != 0 {
		return c
	}
	if c := compareValues(a.Values, b.Values); c != 0 {
		return c
	}
	return cmp.Compare(a.ID, b.ID)
}

func compareValues(a, b []Value) int {
	for i := range min(len(a), len(b)) {
		if c := cmp.Compare(a[i].Code, b[i].Code); c != 0 {
			return c
		}
		if c := cmp.Compare(a[i].Text(), b[i].Text()); c != 0 {
			return c
		}
	}
	return cmp.Compare(len(a), len(b))
}

// Person is somebody whose kidneys are watched in this book.
type Person struct {
	ID   ID
	Name string
	Mark int // which leaf pattern stands beside the name, from 0
}

// Sealing says how strips are packed, which decides what opening does to them.
type Sealing string

// A tub ages as a whole once opened; single strips age only by their date.
const (
	Tub    Sealing = "tub"
	Single Sealing = "single"
)

// Pack is one box or tub of strips in the house.
type Pack struct {
	ID        ID
	Label     string // what the household calls it
	Person    ID     // "" for the whole household
	StripKind string // id of its strip kind
	Lot       string
	UseBy     When // day-only; a printed month is its last day
	UseByText string
	OpenedOn  When
	// DaysOpen is how many days the leaflet allows after opening; 0 when
	// nobody entered it, then strip.PresetDaysOpen is assumed and said so.
	DaysOpen int
	Strips   int // in the box when full; 0 when unknown
	Price    string
	Currency string // ISO 4217
	Sealed   Sealing
}
