package model

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Row is one row of the plain table, as text: one value of one event.
type Row struct {
	Number                                      int // data rows from 1; 0 when made by us
	Person, When, Kind, What, Value, Unit, Note string
}

// Refusal is a row that was not taken, with the column and the reason.
type Refusal struct {
	Row int
	Problem
}

// Book is all that the plain table can carry: persons, their entries, packs.
type Book struct {
	Persons []Person
	Entries []Entry
	Packs   []Pack
}

// Reader turns rows into a Book. Existing persons and packs are recognised by
// name and label; what is already in Existing is refused rather than doubled,
// so that reading the same table twice changes nothing.
type Reader struct {
	Existing Book
	Zone     *time.Location // of times written without an offset
	Now      time.Time      // entries after it are refused; zero accepts any time
	NewID    func() ID
	// KnownAnswer reports whether an id is a finding's; nil accepts any.
	KnownAnswer func(id string) bool

	out     Book
	refused []Refusal
	persons map[string]ID
	events  map[string]int  // person, kind, time → index in out.Entries
	rowOf   map[string]int  // event and code → the row it was taken from
	packs   map[string]int  // person and label → index in out.Packs
	packHas map[string]bool // person, label and what
	had     map[string]int  // what Existing holds: events, and how many of each value
}

// Read takes the good rows and names the refused ones. It saves nothing.
func (r *Reader) Read(rows []Row) (Book, []Refusal) {
	r.persons, r.events, r.packs = map[string]ID{}, map[string]int{}, map[string]int{}
	r.packHas, r.had = map[string]bool{}, map[string]int{}
	r.rowOf = map[string]int{}
	r.out, r.refused = Book{}, nil
	for _, p := range r.Existing.Persons {
		r.persons[p.Name] = p.ID
	}
	labels := map[ID]string{}
	for _, p := range r.Existing.Packs {
		labels[p.ID] = p.Label
	}
	for _, e := range r.Existing.Entries {
		if e.Kind.OneEvent() {
			r.had[eventKey(e)]++
		}
		for _, v := range e.Values {
			r.had[valueKey(e, v)]++
		}
		if e.Pack != "" {
			r.had[valueKey(e, Value{Code: "pack", Word: labels[e.Pack]})]++
		}
	}
	for _, row := range rows {
		if ps := r.take(row); len(ps) > 0 {
			r.refused = append(r.refused, Refusal{row.Number, ps[0]})
		}
	}
	r.out.Entries = slices.DeleteFunc(r.out.Entries, func(e Entry) bool { return len(e.Values) == 0 }) // all of it was withdrawn
	slices.SortStableFunc(r.refused, func(a, b Refusal) int { return cmp.Compare(a.Row, b.Row) })
	r.linkPacks()
	return r.out, r.refused
}

func (r *Reader) take(row Row) []Problem {
	kind := Kind(row.Kind)
	if !slices.Contains(Kinds(), kind) {
		return problem("kind", "problem.kind-unknown", "kind", clip(row.Kind))
	}
	it, ok := ItemFor(kind, Code(row.What))
	if !ok || kind == Answer && r.KnownAnswer != nil && !r.KnownAnswer(row.What) {
		return problem("what", "problem.what-unknown", "what", clip(row.What))
	}
	if row.Person == "" && kind != PackKind {
		return problem("person", "problem.person-missing")
	}
	if p := checkText("person", row.Person, MaxLabel); p != nil {
		return p
	}
	when, p := r.when(row, kind)
	if p != nil {
		return p
	}
	v, p := ParseValue(it, row.Value, row.Unit, row.Note)
	if p != nil {
		return p
	}
	if p := it.checkFuture(v, r.Now); p != nil {
		return p
	}
	if kind == PackKind {
		return r.takePack(row, v)
	}
	return r.takeValue(row, kind, when, v)
}

func (r *Reader) when(row Row, kind Kind) (When, []Problem) {
	if row.When == "" {
		if kind == Profile || kind == PackKind {
			return When{}, nil
		}
		return When{}, problem("when", "problem.when-missing")
	}
	w, err := ParseWhen(row.When, r.Zone)
	if err != nil {
		return When{}, problem("when", "problem.when-form", "value", clip(row.When))
	}
	if !r.Now.IsZero() && w.After(r.Now.Add(5*time.Minute)) {
		return When{}, problem("when", "problem.in-the-future")
	}
	return w, nil
}

func (r *Reader) takeValue(row Row, kind Kind, when When, v Value) []Problem {
	e := Entry{Person: r.person(row.Person), Kind: kind, When: when, Values: []Value{v}, Origin: FromTable}
	if !kind.OneEvent() {
		// A second drink at the same time is a drink; the one that is in the
		// book already is not.
		if key := valueKey(e, v); r.had[key] > 0 {
			r.had[key]--
			return problem("when", "problem.already-there")
		}
		e.ID = r.NewID()
		r.out.Entries = append(r.out.Entries, e)
		return nil
	}
	key := eventKey(e)
	i, open := r.events[key]
	if !open {
		if r.had[key] > 0 {
			if r.had[valueKey(e, v)] == 0 {
				// Neither a second event nor a change of the one that is there.
				return problem("when", "problem.other-there")
			}
			return problem("when", "problem.already-there")
		}
		e.ID = r.NewID()
		r.events[key] = len(r.out.Entries)
		r.rowOf[key+"|"+string(v.Code)] = row.Number
		r.out.Entries = append(r.out.Entries, e)
		return nil
	}
	ev := &r.out.Entries[i]
	if _, twice := ev.Value(v.Code); twice {
		return problem("what", "problem.twice", "what", v.Code)
	}
	grown := *ev
	grown.Values = append(slices.Clone(ev.Values), v)
	if p := grown.checkPressure(); p != nil {
		r.withdraw(i, p)
		return p
	}
	*ev = grown
	r.rowOf[key+"|"+string(v.Code)] = row.Number
	return nil
}

// withdraw takes back the pressure of an event whose other one contradicts it:
// which of the two is wrong nobody can know, and half a pair would be judged.
func (r *Reader) withdraw(event int, why []Problem) {
	e := &r.out.Entries[event]
	for _, c := range []Code{"systolic", "diastolic"} {
		if _, there := e.Value(c); there {
			r.refused = append(r.refused, Refusal{r.rowOf[eventKey(*e)+"|"+string(c)], why[0]})
		}
	}
	e.Values = slices.DeleteFunc(slices.Clone(e.Values), func(v Value) bool { return v.Code == "systolic" || v.Code == "diastolic" })
}

func eventKey(e Entry) string { return string(e.Person) + "|" + string(e.Kind) + "|" + e.When.String() }

func valueKey(e Entry, v Value) string {
	row := valueRow(Row{}, e.Kind, v)
	return strings.Join([]string{eventKey(e), row.What, row.Value, row.Unit, row.Note}, "|")
}

func (r *Reader) person(name string) ID {
	if id, ok := r.persons[name]; ok {
		return id
	}
	p := Person{ID: r.NewID(), Name: name, Mark: len(r.persons)}
	r.persons[name] = p.ID
	r.out.Persons = append(r.out.Persons, p)
	return p.ID
}

func (r *Reader) takePack(row Row, v Value) []Problem {
	if row.Note == "" {
		return problem("note", "problem.pack-label-missing")
	}
	if len(row.Note) > MaxLabel {
		return problem("note", "problem.too-long", "limit", MaxLabel)
	}
	var owner ID
	if row.Person != "" {
		owner = r.person(row.Person)
	}
	key := string(owner) + "|" + row.Note
	i, open := r.packs[key]
	if !open {
		if slices.ContainsFunc(r.Existing.Packs, func(p Pack) bool { return p.Person == owner && p.Label == row.Note }) {
			return problem("note", "problem.already-there")
		}
		i = len(r.out.Packs)
		r.packs[key] = i
		r.out.Packs = append(r.out.Packs, Pack{ID: r.NewID(), Label: row.Note, Person: owner, Sealed: Tub})
	}
	has := key + "|" + row.What
	if r.packHas[has] {
		return problem("what", "problem.twice", "what", v.Code)
	}
	r.packHas[has] = true
	r.out.Packs[i].set(v)
	return nil
}

func (p *Pack) set(v Value) {
	switch v.Code {
	case "use-by":
		p.UseBy, _ = ParseDay(v.Word, true)
		p.UseByText = v.Word
	case "opened-on":
		p.OpenedOn, _ = ParseDay(v.Word, false)
	case "days-after-opening":
		p.DaysOpen = int(v.Number)
	case "strips":
		p.Strips = int(v.Number)
	case "sealed":
		p.Sealed = Sealing(v.Word)
	case "kind-of-strip":
		p.StripKind = v.Word
	case "lot":
		p.Lot = v.Word
	case "price":
		p.Price = v.Typed
	case "currency":
		p.Currency = v.Word
	}
}

// linkPacks replaces the label on a strip test by the pack it names, the
// person's own before the household's. A label of no pack stays as it is.
func (r *Reader) linkPacks() {
	all := slices.Concat(r.Existing.Packs, r.out.Packs)
	for i := range r.out.Entries {
		e := &r.out.Entries[i]
		v, ok := e.Value("pack")
		if e.Kind != Strip || !ok {
			continue
		}
		for _, owner := range []ID{e.Person, ""} {
			j := slices.IndexFunc(all, func(p Pack) bool { return p.Label == v.Word && p.Person == owner })
			if j >= 0 && v.Note == "" {
				e.Pack = all[j].ID
				e.Values = slices.DeleteFunc(e.Values, func(v Value) bool { return v.Code == "pack" })
				break
			}
		}
	}
	// A test that carried nothing but its pack is no test; keep the label.
	for i := range r.out.Entries {
		if e := &r.out.Entries[i]; e.Kind == Strip && len(e.Values) == 0 {
			j := slices.IndexFunc(all, func(p Pack) bool { return p.ID == e.Pack })
			e.Values = []Value{{Code: "pack", Word: all[j].Label}}
			e.Pack = ""
		}
	}
}

// Rows writes a book as plain-table rows in an order that depends on nothing
// but the content, so that equal books give equal tables.
func (b Book) Rows() []Row {
	names := map[ID]string{}
	for _, p := range b.Persons {
		names[p.ID] = p.Name
	}
	var rows []Row
	for _, p := range b.Packs {
		rows = append(rows, packRows(p, names[p.Person])...)
	}
	for _, e := range b.ByEntry() {
		rows = append(rows, e...)
	}
	return sortRows(rows)
}

// ByEntry gives the rows of each entry, in the order of Entries.
func (b Book) ByEntry() [][]Row {
	names, labels := map[ID]string{}, map[ID]string{}
	for _, p := range b.Persons {
		names[p.ID] = p.Name
	}
	for _, p := range b.Packs {
		labels[p.ID] = p.Label
	}
	out := make([][]Row, len(b.Entries))
	for i, e := range b.Entries {
		base := Row{Person: names[e.Person], When: e.When.String(), Kind: string(e.Kind)}
		if e.Pack != "" && labels[e.Pack] != "" {
			row := base
			row.What, row.Value = "pack", labels[e.Pack]
			out[i] = append(out[i], row)
		}
		for _, v := range e.Values {
			out[i] = append(out[i], valueRow(base, e.Kind, v))
		}
	}
	return out
}

func valueRow(row Row, k Kind, v Value) Row {
	row.What, row.Value, row.Note = string(v.Code), v.Text(), v.Note
	if v.IsNumber() {
		row.Unit = v.Unit
		if it, ok := Find(k, v.Code); ok && v.Unit == "" {
			row.Unit = it.DefaultUnit()
		}
	}
	return row
}

func packRows(p Pack, owner string) []Row {
	useBy := p.UseByText
	if useBy == "" {
		useBy = p.UseBy.String()
	}
	cells := []struct{ what, value, unit string }{
		{"use-by", useBy, ""},
		{"opened-on", p.OpenedOn.String(), ""},
		{"days-after-opening", positive(p.DaysOpen), "d"},
		{"strips", positive(p.Strips), "{count}"},
		{"sealed", string(cmp.Or(p.Sealed, Tub)), ""},
		{"kind-of-strip", p.StripKind, ""},
		{"lot", p.Lot, ""},
		{"price", p.Price, ""},
		{"currency", p.Currency, ""},
	}
	var rows []Row
	for _, c := range cells {
		if c.value != "" {
			rows = append(rows, Row{Person: owner, Kind: string(PackKind), What: c.what, Value: c.value, Unit: c.unit, Note: p.Label})
		}
	}
	return rows
}

func positive(n int) string {
	if n <= 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// sortRows orders by instant, then by text, so that the same instant written
// with two offsets still has one place.
func sortRows(rows []Row) []Row {
	type placed struct {
		Row
		when        When
		kind, place int
	}
	kinds := map[string]int{}
	for i, k := range Kinds() {
		kinds[string(k)] = i
	}
	places := map[[2]string]int{}
	for i, it := range Items() {
		places[[2]string{string(it.Kind), string(it.Code)}] = i
	}
	all := make([]placed, len(rows))
	for i, r := range rows {
		when, _ := ParseWhen(r.When, time.UTC)
		all[i] = placed{r, when, kinds[r.Kind], places[[2]string{r.Kind, r.What}]}
	}
	slices.SortStableFunc(all, func(a, b placed) int {
		return cmp.Or(
			cmp.Compare(a.Person, b.Person),
			a.when.Compare(b.when), cmp.Compare(a.When, b.When),
			cmp.Compare(a.kind, b.kind),
			packNote(a.Row, b.Row),
			cmp.Compare(a.place, b.place),
			cmp.Compare(a.What, b.What),
			cmp.Compare(a.Value, b.Value),
			cmp.Compare(a.Unit, b.Unit),
			cmp.Compare(a.Note, b.Note),
		)
	})
	for i := range all {
		rows[i] = all[i].Row
	}
	return rows
}

// packNote keeps the rows of one pack together: its label stands in the note.
func packNote(a, b Row) int {
	if a.Kind != string(PackKind) || b.Kind != string(PackKind) {
		return 0
	}
	return cmp.Compare(a.Note, b.Note)
}
