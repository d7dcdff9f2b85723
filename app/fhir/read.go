package fhir

import (
	"cmp"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"quietwater/model"
)

// Result is what a file holds and what is wrong with it. Nothing is saved.
type Result struct {
	Rows     int             // values in the file: taken, refused, unknown
	Accepted int             // Rows less those refused and unknown
	Refused  []model.Refusal // by the value's place in the file
	Unknown  []Unknown       // what we have no word for
	// Passed counts what else the file says and we do not keep: kinds of
	// resources, and fields of those we read.
	Passed   []Passed
	Patients []string   // whose results these are, as the file names them; "" when it does not
	Book     model.Book // new persons, entries and packs of the accepted rows
	// FileRefused is set when the file as a whole cannot be trusted; then
	// nothing else is.
	FileRefused *model.Msg
}

// Unknown is a code, or a code with a unit, that has no place in the book. It
// is named, never guessed.
type Unknown struct {
	System, Code, Display string
	Unit                  string // "" where the code itself is unknown
	Why                   model.Msg
	Count                 int
}

// Passed is something that was passed over, and how often.
type Passed struct {
	Name  string // as "Specimen" or "Observation.interpretation"
	Count int
}

// Target is the book a file is meant for.
type Target struct {
	Book model.Book
	Zone *time.Location // of days
	Now  time.Time      // rows after it are refused; zero accepts any
	// Person is whose results these are, where the household says so; then the
	// file may be of one patient only. "" goes by the names in the file.
	Person      string
	NewID       func() model.ID
	KnownAnswer func(id string) bool // nil accepts any
}

// Import reads a bundle, or a single resource, against the book it is meant
// for.
func Import(r io.Reader, to Target) Result {
	rd := &reader{patients: map[string]int{}, places: map[string]int{}, passed: map[string]int{}, lent: map[string]string{}}
	if err := parse(r, rd.resource); err != nil {
		return refusedWith(err)
	}
	rd.resolve()
	if err := rd.rename(to.Person); err != nil {
		return refusedWith(err)
	}
	patients := rd.names()
	fresh := rd.demographics(to.Book)
	table := model.Reader{Existing: to.Book, Zone: to.Zone, Now: to.Now, NewID: to.NewID, KnownAnswer: to.KnownAnswer}
	book, refused := table.Read(rd.rows)
	if rd.introduce(fresh, refused) {
		book, refused = table.Read(rd.rows)
	}
	refused = slices.Concat(rd.refused, refused)
	slices.SortStableFunc(refused, func(a, b model.Refusal) int { return cmp.Compare(a.Row, b.Row) })
	out := Result{Rows: rd.count, Refused: refused, Unknown: rd.unknown, Patients: patients, Book: book}
	out.Accepted = rd.count - len(refused)
	for _, u := range rd.unknown {
		out.Accepted -= u.Count
	}
	for _, name := range slices.Sorted(maps.Keys(rd.passed)) {
		out.Passed = append(out.Passed, Passed{name, rd.passed[name]})
	}
	return out
}

func refusedWith(err error) Result {
	why := model.T("problem.file-unreadable")
	if fe := (*FileError)(nil); errors.As(err, &fe) {
		why = fe.Why
	}
	return Result{FileRefused: &why}
}

// reader gathers what the resources say. Who and when can only be known when
// all of them are read.
type reader struct {
	people   []person
	patients map[string]int    // how it is referred to → people; -1 where two are
	places   map[string]int    // how an observation is referred to → found
	lent     map[string]string // a member or result → the time of its panel or report
	found    []found
	passed   map[string]int

	count   int
	rows    []model.Row
	whose   []int // of each row: people, -1 for none
	refused []model.Refusal
	unknown []Unknown
}

// person is a patient of the file.
type person struct {
	name, birth, sex string
	ours             bool
	used             bool
}

// found is an observation, or half a condition, of one time.
type found struct {
	keys             []string
	subject, display string
	scope            string // of references that begin with #
	when             string
	noTime           *model.Msg // why its time cannot be taken
	refusal          *model.Problem
	values           []value
}

// value is one value: a row without person and time, or why there is none.
type value struct {
	row     model.Row
	problem *model.Problem
	unknown *Unknown
}

// kept are the fields of each resource that are read, or say nothing about
// anybody's health: the narrative above all, which is never looked at.
var kept = map[string][]string{
	"":                    {"resourceType", "id", "meta", "implicitRules", "language", "text", "contained", "extension", "identifier"},
	"Patient":             {"name", "birthDate", "gender", "communication", "active"},
	"Observation":         {"status", "category", "code", "subject", "effectiveDateTime", "effectiveInstant", "effectivePeriod", "issued", "valueQuantity", "valueCodeableConcept", "valueString", "valueDateTime", "valueInteger", "note", "device", "hasMember", "component"},
	"component":           {"code", "valueQuantity", "valueCodeableConcept", "valueString", "valueDateTime", "valueInteger", "extension"},
	"DiagnosticReport":    {"status", "category", "code", "subject", "effectiveDateTime", "effectiveInstant", "effectivePeriod", "issued", "performer", "result"},
	"Condition":           {"clinicalStatus", "code", "subject", "onsetDateTime", "onsetString", "abatementDateTime", "note"},
	"MedicationStatement": {"status", "medicationCodeableConcept", "subject", "effectivePeriod", "note"},
	"Device":              {"expirationDate", "lotNumber", "deviceName", "type", "patient", "property"},
}

// pass counts the fields that are not read.
func (r *reader) pass(of string, n node) {
	for key := range n {
		if !slices.Contains(kept[of], key) && (of == "component" || !slices.Contains(kept[""], key)) && !strings.HasPrefix(key, "_") {
			r.passed[short(of+"."+key)]++
		}
	}
}

func (r *reader) resource(fullURL string, n node) { r.inside(fullURL, "", n) }

// inside takes one resource; scope names the resource it is contained in.
func (r *reader) inside(fullURL, scope string, n node) {
	kind, id := n.text("resourceType"), n.text("id")
	var keys []string
	switch {
	case scope != "":
		keys = []string{scope + "#" + id}
	default:
		if scope = cmp.Or(fullURL, kind+"/"+id); fullURL != "" {
			keys = []string{fullURL}
		}
		if id != "" {
			keys = append(keys, kind+"/"+id)
		}
		for _, c := range n.list("contained") {
			r.inside("", scope, c)
		}
	}
	if n.has("modifierExtension", "implicitRules") && kept[kind] != nil {
		// R4: who does not understand it must not go by the resource.
		r.found = append(r.found, found{scope: scope, values: []value{{problem: &model.Problem{Why: model.T("problem.fhir-modifier", "name", nameOf(n.object("code"), kind))}}}})
		return
	}
	switch kind {
	case "Patient":
		r.patient(keys, n)
	case "Observation":
		r.observation(keys, scope, n)
	case "DiagnosticReport":
		r.lend(n, "result", scope)
	case "Condition", "MedicationStatement":
		if !r.span(kind, scope, n) {
			r.passed[kind]++
			return
		}
	case "Device":
		if !r.device(scope, n) {
			r.passed[kind]++
			return
		}
	default:
		r.passed[short(cmp.Or(kind, "?"))]++
		return
	}
	r.pass(kind, n)
}

func (r *reader) patient(keys []string, n node) {
	p := person{birth: n.text("birthDate"), sex: n.text("gender")}
	for _, id := range n.list("identifier") {
		p.ours = p.ours || id.text("system") == sysPerson
	}
	for _, name := range n.list("name") {
		if name.text("use") == "old" || p.name != "" {
			continue
		}
		if p.name = name.text("text"); p.name == "" {
			given, _ := name["given"].([]any)
			var parts []string
			for _, g := range append(given, name["family"]) {
				if s, ok := g.(string); ok && s != "" {
					parts = append(parts, s)
				}
			}
			p.name = strings.Join(parts, " ")
		}
	}
	r.people = append(r.people, p)
	register(r.patients, keys, len(r.people)-1)
}

func register(in map[string]int, keys []string, at int) {
	for _, k := range keys {
		if _, twice := in[k]; twice {
			at = -1
		}
		in[k] = at
	}
}

// keysOf are the ways a reference may be registered. Nothing is fetched: what
// it points to stands in the file or is not known.
func keysOf(ref, scope string) []string {
	if strings.HasPrefix(ref, "#") {
		return []string{scope + ref}
	}
	ref, _, _ = strings.Cut(ref, "/_history/")
	keys := []string{ref}
	if parts := strings.Split(ref, "/"); len(parts) > 2 {
		keys = append(keys, strings.Join(parts[len(parts)-2:], "/"))
	}
	return keys
}

// lend gives the time of a panel or report to what it names, for those that
// have none of their own.
func (r *reader) lend(n node, list, scope string) {
	when, why := timeOf(n)
	if when == "" || why != nil {
		return
	}
	for _, m := range n.list(list) {
		for _, k := range keysOf(m.text("reference"), scope) {
			r.lent[k] = when
		}
	}
}

// timeOf is when something was observed: an instant, a day, or a span within
// one day. What was gathered over days has no one time.
func timeOf(n node) (string, *model.Msg) {
	if exact, ok := n.extension(extWhen); ok {
		return exact, nil
	}
	if when := cmp.Or(n.text("effectiveDateTime"), n.text("effectiveInstant")); when != "" {
		return when, nil
	}
	p := n.object("effectivePeriod")
	from, to := p.text("start"), p.text("end")
	if to == "" || len(from) >= 10 && len(to) >= 10 && from[:10] == to[:10] {
		return from, nil
	}
	why := model.T("problem.fhir-period", "from", short(from), "to", short(to))
	return "", &why
}

// good are the states of a result that stands.
var good = []string{"final", "amended", "corrected", "preliminary"}

func (r *reader) observation(keys []string, scope string, n node) {
	if len(keys) > 0 {
		if _, again := r.places[keys[0]]; again { // the same one, told twice
			r.passed["Observation, again"]++
			return
		}
	}
	f := found{keys: keys, scope: scope}
	f.subject, f.display = n.object("subject").text("reference"), n.object("subject").text("display")
	f.when, f.noTime = timeOf(n)
	r.lend(n, "hasMember", scope)
	if status := n.text("status"); !slices.Contains(good, status) {
		f.refusal = &model.Problem{Why: model.T("problem.fhir-status", "name", nameOf(n.object("code"), "?"), "status", short(status))}
	}
	note := noteOf(n, "")
	parts := n.list("component")
	switch {
	case n.hasValue():
		f.values = append(f.values, r.value(n, note))
	case len(parts) == 0 && !n.has("hasMember"):
		f.values = append(f.values, value{problem: &model.Problem{Why: model.T("problem.fhir-no-value", "name", nameOf(n.object("code"), "?"))}})
	}
	for _, c := range parts {
		r.pass("component", c)
		if !c.hasValue() {
			f.values = append(f.values, value{problem: &model.Problem{Why: model.T("problem.fhir-no-value", "name", nameOf(c.object("code"), "?"))}})
			continue
		}
		own, _ := c.extension(extNote)
		f.values = append(f.values, r.value(c, cmp.Or(own, note)))
	}
	register(r.places, keys, len(r.found))
	r.found = append(r.found, f)
}

// hasValue reports a value of any form.
func (n node) hasValue() bool {
	for key := range n {
		if strings.HasPrefix(key, "value") {
			return true
		}
	}
	return false
}

// noteOf joins the notes of a resource, or takes those marked as one side's.
func noteOf(n node, of string) string {
	var out []string
	for _, a := range n.list("note") {
		if side, marked := a.extension(extOf); marked && side != of {
			continue
		}
		if s := a.text("text"); s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, "\n")
}

// nameOf is what a code is called, for a reader.
func nameOf(code node, otherwise string) string {
	if t := code.text("text"); t != "" {
		return short(t)
	}
	for _, c := range code.list("coding") {
		if d := cmp.Or(c.text("display"), c.text("code")); d != "" {
			return short(d)
		}
	}
	return otherwise
}

// place finds where in our table a code belongs: by our own code, else by
// LOINC's. ok is false where neither is known, or two lead to different places.
func place(concept node) (c code, own, ok bool) {
	for _, k := range concept.list("coding") {
		switch k.text("system") {
		case sysWhat:
			if kind, what, has := strings.Cut(k.text("code"), "/"); has {
				return code{kind: model.Kind(kind), what: model.Code(what)}, true, true
			}
		case loinc:
			found, known := byLOINC(k.text("code"))
			if known && ok && (found.kind != c.kind || found.what != c.what) {
				return code{}, false, false
			}
			if known && !ok {
				c, ok = found, true
			}
		}
	}
	return c, false, ok
}

// value reads one value[x] with its code.
func (r *reader) value(n node, note string) value {
	concept := n.object("code")
	c, own, ok := place(concept)
	if !ok {
		return unknown(concept, "", model.T("fhir.unknown-code"))
	}
	row := model.Row{Kind: string(c.kind), What: string(c.what), Note: note}
	if c.named && note == "" {
		row.Note = c.name
	}
	if own {
		return ownValue(n, row)
	}
	if q := n.object("valueQuantity"); q != nil {
		return quantityValue(c, concept, q, row)
	}
	g, ok := gradeOf(n)
	if !ok || len(c.units) > 0 {
		return badForm(concept)
	}
	row.Value = g.String()
	return value{row: row}
}

func badForm(concept node) value {
	return value{problem: &model.Problem{Field: "value", Why: model.T("problem.fhir-form", "name", nameOf(concept, "?"))}}
}

func unknown(concept node, unit string, why model.Msg) value {
	u := Unknown{Display: nameOf(concept, "?"), Unit: short(unit), Why: why, Count: 1}
	for _, k := range concept.list("coding") {
		if u.Code == "" || k.text("system") == loinc {
			u.System, u.Code = short(k.text("system")), short(k.text("code"))
		}
	}
	return value{unknown: &u}
}

// number reads the digits of a quantity, as they were written.
func number(q node) (text string, ok bool) {
	n, ok := q["value"].(json.Number)
	return string(n), ok
}

// quantityValue takes a number only with a unit that stands in UCUM and that
// the code allows.
func quantityValue(c code, concept, q node, row model.Row) value {
	digits, ok := number(q)
	if !ok {
		return badForm(concept)
	}
	unit := q.text("code")
	switch {
	case len(c.units) == 0:
		return unknown(concept, cmp.Or(unit, q.text("unit"), "?"), model.T("fhir.unknown-unit"))
	case unit == "" || q.text("system") != ucum:
		return unknown(concept, cmp.Or(q.text("unit"), unit, "?"), model.T("fhir.unit-words"))
	}
	if row.Unit, ok = c.unit(unit); !ok {
		return unknown(concept, unit, model.T("fhir.unknown-unit"))
	}
	bound := q.text("comparator")
	if bound != "" && bound != "<" && bound != ">" {
		return value{problem: &model.Problem{Field: "value", Why: model.T("problem.fhir-bound", "name", nameOf(concept, "?"), "value", short(bound+digits))}}
	}
	row.Value = bound + digits
	return value{row: row}
}

// gradeOf reads a grade that somebody else wrote, in one of the few words that
// can mean but one.
func gradeOf(n node) (model.Grade, bool) {
	if s, ok := n["valueString"].(string); ok {
		g, ok := gradeWords[strings.ToLower(strings.TrimSpace(s))]
		return g, ok
	}
	concept := n.object("valueCodeableConcept")
	said := map[model.Grade]bool{}
	for _, c := range concept.list("coding") {
		g, ok := gradeCodes[[2]string{c.text("system"), c.text("code")}]
		if !ok {
			g, ok = gradeWords[strings.ToLower(c.text("display"))]
		}
		if ok {
			said[g] = true
		}
	}
	if len(said) == 0 {
		g, ok := gradeWords[strings.ToLower(strings.TrimSpace(concept.text("text")))]
		return g, ok
	}
	for g := range said {
		return g, len(said) == 1
	}
	return model.NoGrade, false
}

// ownValue reads back what Write wrote, to the letter.
func ownValue(n node, row model.Row) value {
	if s, ok := n["valueString"].(string); ok {
		row.Value = s
		return value{row: row}
	}
	if s := n.text("valueDateTime"); s != "" {
		row.Value = s
		return value{row: row}
	}
	if q := n.object("valueQuantity"); q != nil {
		if row.Value, row.Unit = ownQuantity(q); row.Value != "" {
			return value{row: row}
		}
		return badForm(n.object("code"))
	}
	concept := n.object("valueCodeableConcept")
	for _, c := range concept.list("coding") {
		if s := c.text("system"); s == sysValue || s == bcp47 {
			row.Value = c.text("code")
			return value{row: row}
		}
	}
	if row.Value = concept.text("text"); row.Value != "" {
		return value{row: row}
	}
	return badForm(n.object("code"))
}

// ownQuantity is a number as it was typed. Digits and typed text that do not
// say the same are neither believed.
func ownQuantity(q node) (text, unit string) {
	digits, ok := number(q)
	if !ok {
		return "", ""
	}
	text = q.text("comparator") + digits
	if typed, has := q.extension(extTyped); has {
		if q.text("comparator")+plainDecimal(strings.TrimLeft(typed, "<>")) != text {
			return "", ""
		}
		text = typed
	}
	if unit = q.text("code"); unit == score {
		unit = ""
	}
	return text, unit
}

// span takes a condition or medicine of ours apart into its start and end.
func (r *reader) span(kind, scope string, n node) bool {
	concept, from, to := n.object("code"), n.text("onsetDateTime"), n.text("abatementDateTime")
	if kind == "MedicationStatement" {
		p := n.object("effectivePeriod")
		concept, from, to = n.object("medicationCodeableConcept"), p.text("start"), p.text("end")
	}
	c, own, _ := place(concept)
	if !own || c.kind != model.Condition && c.kind != model.Medicine {
		return false
	}
	for _, side := range []struct{ word, when string }{{"start", from}, {"end", to}} {
		exact, ok := n.extension(extWhen + ":" + side.word)
		if side.when == "" && !ok {
			continue
		}
		f := found{scope: scope, subject: n.object("subject").text("reference"), when: side.when}
		if ok {
			f.when = exact
		}
		f.values = []value{{row: model.Row{Kind: string(c.kind), What: string(c.what), Value: side.word, Note: noteOf(n, side.word)}}}
		r.found = append(r.found, f)
	}
	return true
}

// device takes a pack of ours.
func (r *reader) device(scope string, n node) bool {
	label := ""
	for _, d := range n.list("deviceName") {
		label = cmp.Or(label, d.text("name"))
	}
	var values []value
	for _, p := range n.list("property") {
		c, own, _ := place(p.object("type"))
		if !own || c.kind != model.PackKind {
			continue
		}
		row := model.Row{Kind: string(c.kind), What: string(c.what), Note: label}
		for _, q := range p.list("valueQuantity") {
			row.Value, row.Unit = ownQuantity(q)
		}
		for _, v := range p.list("valueCode") {
			row.Value = v.text("text")
		}
		values = append(values, value{row: row})
	}
	if len(values) > 0 {
		r.found = append(r.found, found{scope: scope, subject: n.object("patient").text("reference"), values: values})
	}
	return len(values) > 0
}

// whoIs finds the patient a reference means: -1 for none.
func (r *reader) whoIs(f found) int {
	for _, k := range keysOf(f.subject, f.scope) {
		if i, ok := r.patients[k]; ok && f.subject != "" {
			return i
		}
	}
	if f.display != "" { // only named, not described
		i := slices.IndexFunc(r.people, func(p person) bool { return p.name == f.display })
		if i < 0 {
			r.people = append(r.people, person{name: f.display})
			i = len(r.people) - 1
		}
		return i
	}
	return -1
}

// resolve turns what was found into rows, in the order of the file.
func (r *reader) resolve() {
	for _, f := range r.found {
		who := r.whoIs(f)
		when := f.when
		for _, k := range f.keys {
			if when == "" && f.noTime == nil {
				when = r.lent[k]
			}
		}
		for _, v := range f.values {
			r.count++
			problem := cmp.Or(f.refusal, v.problem)
			if problem == nil && v.unknown == nil && f.noTime != nil {
				problem = &model.Problem{Field: "when", Why: *f.noTime}
			}
			switch {
			case problem != nil:
				r.refused = append(r.refused, model.Refusal{Row: r.count, Problem: *problem})
			case v.unknown != nil:
				r.name(*v.unknown)
			default:
				row := v.row
				row.Number, row.When = r.count, when
				if who >= 0 {
					row.Person, r.people[who].used = r.people[who].name, true
				}
				r.rows, r.whose = append(r.rows, row), append(r.whose, who)
			}
		}
	}
}

// name lists an unknown code once for each unit.
func (r *reader) name(u Unknown) {
	i := slices.IndexFunc(r.unknown, func(o Unknown) bool {
		return o.System == u.System && o.Code == u.Code && o.Display == u.Display && o.Unit == u.Unit && o.Why.Key == u.Why.Key
	})
	if i < 0 {
		r.unknown = append(r.unknown, u)
		return
	}
	r.unknown[i].Count++
}

// names are whose results there are.
func (r *reader) names() (out []string) {
	for i, row := range r.rows {
		name := row.Person
		if r.whose[i] >= 0 {
			name = r.people[r.whose[i]].name
		}
		if row.Kind != string(model.PackKind) && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// rename gives all rows to the person the household named.
func (r *reader) rename(to string) error {
	if to == "" {
		return nil
	}
	if len(r.names()) > 1 {
		return refuse("problem.fhir-many-patients", "names", strings.Join(r.names(), ", "))
	}
	for i := range r.rows {
		if r.rows[i].Kind != string(model.PackKind) || r.rows[i].Person != "" {
			r.rows[i].Person = to
		}
	}
	return nil
}

// demographics guards against the wrong person: a name in the file that is
// somebody in the book with another birth date, or two patients of one name,
// takes nothing in. It gives birth date and sex of those whose are not known.
func (r *reader) demographics(book model.Book) []model.Row {
	why := make([]*model.Problem, len(r.people))
	var fresh []model.Row
	for i, p := range r.people {
		at := slices.Index(r.whose, i)
		if !p.used || at < 0 {
			continue
		}
		name := r.rows[at].Person
		for _, q := range r.people {
			if q.used && q.name == p.name && q.birth != p.birth {
				why[i] = &model.Problem{Field: "person", Why: model.T("problem.fhir-two-persons", "name", p.name)}
			}
		}
		for _, c := range []struct {
			what  model.Code
			value string
		}{{"birth-date", p.birth}, {"sex", p.sex}} {
			has := profileOf(book, name, c.what)
			it, _ := model.Find(model.Profile, c.what)
			_, bad := model.ParseValue(it, c.value, "", "")
			switch {
			case bad != nil || slices.Contains(has, c.value):
			case len(has) == 0 && p.ours: // its rows say so themselves
			case len(has) == 0:
				fresh = append(fresh, model.Row{Person: name, Kind: string(model.Profile), What: string(c.what), Value: c.value})
			case c.what == "birth-date":
				why[i] = &model.Problem{Field: "person", Why: model.T("problem.fhir-other-birth", "name", name, "file", c.value, "book", has[len(has)-1])}
			}
		}
	}
	var rows []model.Row
	for i, row := range r.rows {
		if w := r.whose[i]; w >= 0 && why[w] != nil {
			r.refused = append(r.refused, model.Refusal{Row: row.Number, Problem: *why[w]})
			continue
		}
		rows = append(rows, row)
	}
	r.rows = rows
	return fresh
}

// introduce adds what is known of somebody of whom anything else is taken and
// who does not say it otherwise; false where there is nothing to add.
func (r *reader) introduce(fresh []model.Row, refused []model.Refusal) (added bool) {
	bad, taken, says := map[int]bool{}, map[string]bool{}, map[string]bool{}
	for _, p := range refused {
		bad[p.Row] = true
	}
	for _, row := range r.rows {
		if !bad[row.Number] {
			taken[row.Person], says[row.Person+"|"+row.Kind+"|"+row.What] = true, true
		}
	}
	for _, row := range fresh {
		if key := row.Person + "|" + row.Kind + "|" + row.What; taken[row.Person] && !says[key] {
			says[key], added = true, true
			r.count++
			row.Number = r.count
			r.rows = append(r.rows, row)
		}
	}
	return added
}

// profileOf are the words of somebody's profile in the book.
func profileOf(b model.Book, name string, what model.Code) (words []string) {
	i := slices.IndexFunc(b.Persons, func(p model.Person) bool { return p.Name == name })
	if i < 0 {
		return nil
	}
	for _, e := range b.Entries {
		if v, ok := e.Value(what); ok && e.Person == b.Persons[i].ID && e.Kind == model.Profile {
			words = append(words, v.Word)
		}
	}
	return words
}
