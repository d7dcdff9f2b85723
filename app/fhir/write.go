package fhir

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"quietwater/model"
)

// The parts of R4 that a book needs. Fields are R4's.
type (
	coding struct {
		System  string `json:"system,omitempty"`
		Code    string `json:"code,omitempty"`
		Display string `json:"display,omitempty"`
	}
	concept struct {
		Coding []coding `json:"coding,omitempty"`
		Text   string   `json:"text,omitempty"`
	}
	extension struct {
		URL         string `json:"url"`
		ValueString string `json:"valueString,omitempty"`
	}
	quantity struct {
		Extension  []extension `json:"extension,omitempty"`
		Value      json.Number `json:"value"`
		Comparator string      `json:"comparator,omitempty"`
		Unit       string      `json:"unit,omitempty"`
		System     string      `json:"system,omitempty"`
		Code       string      `json:"code,omitempty"`
	}
	reference struct {
		Reference string `json:"reference,omitempty"`
		Display   string `json:"display,omitempty"`
	}
	annotation struct {
		Extension []extension `json:"extension,omitempty"`
		Text      string      `json:"text"`
	}
	identifier struct {
		System string `json:"system"`
		Value  string `json:"value"`
	}
	period struct {
		Start string `json:"start,omitempty"`
		End   string `json:"end,omitempty"`
	}
	// anyValue is R4's value[x]: one of them speaks.
	anyValue struct {
		ValueQuantity        *quantity `json:"valueQuantity,omitempty"`
		ValueCodeableConcept *concept  `json:"valueCodeableConcept,omitempty"`
		ValueString          *string   `json:"valueString,omitempty"`
		ValueDateTime        string    `json:"valueDateTime,omitempty"`
	}
	component struct {
		Extension []extension `json:"extension,omitempty"`
		Code      concept     `json:"code"`
		anyValue
	}
	// base is what all our resources begin with.
	base struct {
		ResourceType string       `json:"resourceType"`
		ID           string       `json:"id"`
		Extension    []extension  `json:"extension,omitempty"`
		Identifier   []identifier `json:"identifier,omitempty"`
	}
	observation struct {
		base
		Status            string     `json:"status"`
		Category          []concept  `json:"category,omitempty"`
		Code              concept    `json:"code"`
		Subject           *reference `json:"subject,omitempty"`
		EffectiveDateTime string     `json:"effectiveDateTime,omitempty"`
		anyValue
		Note      []annotation `json:"note,omitempty"`
		Device    *reference   `json:"device,omitempty"`
		HasMember []reference  `json:"hasMember,omitempty"`
		Component []component  `json:"component,omitempty"`
	}
	report struct {
		base
		Status            string      `json:"status"`
		Category          []concept   `json:"category,omitempty"`
		Code              concept     `json:"code"`
		Subject           *reference  `json:"subject,omitempty"`
		EffectiveDateTime string      `json:"effectiveDateTime,omitempty"`
		Performer         []reference `json:"performer,omitempty"`
		Result            []reference `json:"result"`
	}
	humanName struct {
		Text string `json:"text"`
	}
	communication struct {
		Language  concept `json:"language"`
		Preferred bool    `json:"preferred,omitempty"`
	}
	patient struct {
		base
		Name          []humanName     `json:"name,omitempty"`
		Gender        string          `json:"gender,omitempty"`
		BirthDate     string          `json:"birthDate,omitempty"`
		Communication []communication `json:"communication,omitempty"`
	}
	condition struct {
		base
		ClinicalStatus    concept      `json:"clinicalStatus"`
		Code              concept      `json:"code"`
		Subject           reference    `json:"subject"`
		OnsetDateTime     string       `json:"onsetDateTime,omitempty"`
		OnsetString       string       `json:"onsetString,omitempty"`
		AbatementDateTime string       `json:"abatementDateTime,omitempty"`
		Note              []annotation `json:"note,omitempty"`
	}
	medication struct {
		base
		Status                    string       `json:"status"`
		MedicationCodeableConcept concept      `json:"medicationCodeableConcept"`
		Subject                   reference    `json:"subject"`
		EffectivePeriod           *period      `json:"effectivePeriod,omitempty"`
		Note                      []annotation `json:"note,omitempty"`
	}
	deviceName struct {
		Name string `json:"name"`
		Type string `json:"type"`
	}
	property struct {
		Type          concept    `json:"type"`
		ValueQuantity []quantity `json:"valueQuantity,omitempty"`
		ValueCode     []concept  `json:"valueCode,omitempty"`
	}
	device struct {
		base
		ExpirationDate string       `json:"expirationDate,omitempty"`
		LotNumber      string       `json:"lotNumber,omitempty"`
		DeviceName     []deviceName `json:"deviceName"`
		Type           concept      `json:"type"`
		Patient        *reference   `json:"patient,omitempty"`
		Property       []property   `json:"property,omitempty"`
	}
)

// Write writes a book as a bundle, made at the time now: patients, what was
// observed, conditions, medicines, packs, and a report for each strip test and
// laboratory sheet. What R4 has no field or code for stands under codes of our
// own, so that [Import] into an empty book gives the same plain table. The same
// book gives the same bytes.
func Write(w io.Writer, book model.Book, now time.Time) error {
	b := &writer{out: bufio.NewWriter(w), book: book, patients: map[model.ID]string{}, packs: map[model.ID]string{}}
	fmt.Fprintf(b.out, `{"resourceType":"Bundle","type":"collection","timestamp":%q`, now.Format(time.RFC3339))
	b.book.Entries = slices.Clone(book.Entries)
	model.SortEntries(b.book.Entries)
	b.rows = b.book.ByEntry()
	for _, p := range book.Persons {
		b.patients[p.ID] = urn("patient", string(p.ID))
	}
	for _, p := range book.Persons {
		b.patient(p)
	}
	for _, p := range book.Packs {
		b.packs[p.ID] = urn("pack", string(p.ID))
		b.pack(p)
	}
	b.spans()
	for i, e := range b.book.Entries {
		b.entry(e, b.rows[i])
	}
	b.sheets()
	if b.opened {
		b.out.WriteString("\n]")
	}
	b.out.WriteString("}\n")
	if err := b.out.Flush(); b.err == nil && err != nil {
		b.err = fmt.Errorf("writing the bundle: %w", err)
	}
	return b.err
}

type writer struct {
	out             *bufio.Writer
	book            model.Book
	rows            [][]model.Row // of each entry
	patients, packs map[model.ID]string
	results         []result
	opened          bool
	err             error
}

// result is a laboratory observation that a report will name.
type result struct {
	person                model.ID
	when, urn, laboratory string
}

// put writes one resource on a line of its own.
func (b *writer) put(id string, resource any) {
	if b.err != nil {
		return
	}
	// An unset bundle of nothing has no entry: R4 forbids empty lists.
	if b.opened {
		b.out.WriteString(",\n")
	} else {
		b.out.WriteString(`,"entry":[` + "\n")
	}
	b.opened = true
	fmt.Fprintf(b.out, `{"fullUrl":"urn:uuid:%s","resource":`, id)
	var text strings.Builder
	enc := json.NewEncoder(&text)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(resource); err != nil {
		b.err = fmt.Errorf("writing the bundle: %w", err)
	}
	b.out.WriteString(strings.TrimSuffix(text.String(), "\n") + "}")
}

// check refuses what a bundle cannot give back as it was.
func (b *writer) check(row model.Row) {
	for _, cell := range []string{row.Person, row.Value, row.Unit, row.Note} {
		if b.err == nil && (!utf8.ValidString(cell) || strings.ContainsRune(cell, 0)) {
			b.err = fmt.Errorf("%s %s %s: a NUL or invalid UTF-8 cannot stand in the file", row.When, row.Kind, row.What)
		}
	}
}

func ref(id string) reference { return reference{Reference: "urn:uuid:" + id} }

func (b *writer) subject(p model.ID) *reference {
	if id := b.patients[p]; id != "" {
		r := ref(id)
		return &r
	}
	return nil
}

// patient writes a person. The newest birth date, sex and language stand where
// other programs look for them; the rows themselves are observations.
func (b *writer) patient(p model.Person) {
	b.check(model.Row{Kind: "person", Person: p.Name})
	out := patient{base: base{ResourceType: "Patient", ID: b.patients[p.ID], Identifier: []identifier{{sysPerson, string(p.ID)}}}}
	if p.Name != "" {
		out.Name = []humanName{{p.Name}}
	}
	for _, e := range b.book.Entries {
		if e.Person != p.ID || e.Kind != model.Profile {
			continue
		}
		for _, v := range e.Values {
			switch v.Code {
			case "birth-date":
				out.BirthDate = v.Word
			case "sex":
				out.Gender = v.Word
			case "language":
				out.Communication = []communication{{concept{Coding: []coding{{System: bcp47, Code: v.Word}}}, true}}
			}
		}
	}
	b.put(b.patients[p.ID], out)
}

// pack writes a box of strips as the device it is.
func (b *writer) pack(p model.Pack) {
	d := device{base: base{ResourceType: "Device", ID: b.packs[p.ID], Identifier: []identifier{{sysPack, string(p.ID)}}},
		LotNumber: p.Lot, DeviceName: []deviceName{{p.Label, "user-friendly-name"}}, Patient: b.subject(p.Person),
		Type: concept{Coding: []coding{{System: sysWhat, Code: string(model.PackKind), Display: "urine test strips"}}}}
	if !p.UseBy.IsZero() {
		d.ExpirationDate = p.UseBy.String()
	}
	one := model.Book{Persons: b.book.Persons, Packs: []model.Pack{p}}
	for _, row := range one.Rows() {
		b.check(row)
		prop := property{Type: codeOf(row)}
		if isNumber(row) {
			prop.ValueQuantity = []quantity{quantityOf(row)}
		} else {
			prop.ValueCode = []concept{{Text: row.Value}}
		}
		d.Property = append(d.Property, prop)
	}
	b.put(d.ID, d)
}

func ownCoding(row model.Row) coding {
	return coding{System: sysWhat, Code: row.Kind + "/" + row.What}
}

// codeOf names a row by its published code, if it has one, and always by ours,
// which alone says where it belongs.
func codeOf(row model.Row) concept {
	out := concept{Text: strings.ReplaceAll(row.What, "-", " ")}
	if c, ok := published(row); ok {
		out.Coding = append(out.Coding, coding{System: loinc, Code: c.loinc, Display: c.name})
	}
	out.Coding = append(out.Coding, ownCoding(row))
	if row.Kind == string(model.Symptom) {
		out.Text += " (0 none, 1 mild, 2 moderate, 3 severe)"
	}
	return out
}

func quantityOf(row model.Row) quantity {
	typed := strings.TrimLeft(row.Value, "<>")
	q := quantity{Value: json.Number(plainDecimal(typed)), Comparator: row.Value[:len(row.Value)-len(typed)]}
	if string(q.Value) != typed {
		q.Extension = []extension{{extTyped, row.Value}}
	}
	unit := row.Unit
	if row.Kind == string(model.Symptom) {
		unit = score
	}
	if unit != "" {
		q.Unit, q.System, q.Code = unit, ucum, unit
	}
	return q
}

// isNumber reports that a row holds a number, bounded or not.
func isNumber(row model.Row) bool {
	it, known := model.ItemFor(model.Kind(row.Kind), model.Code(row.What))
	return known && (it.Takes == model.Number || it.Takes == model.GradeOrNumber) && decimal.MatchString(plainDecimal(strings.TrimLeft(row.Value, "<>")))
}

func valueOf(row model.Row) (v anyValue) {
	it, _ := model.ItemFor(model.Kind(row.Kind), model.Code(row.What))
	_, isGrade := model.ParseGrade(row.Value)
	switch {
	case isNumber(row):
		q := quantityOf(row)
		v.ValueQuantity = &q
	case it.Takes == model.Day && fhirTime.MatchString(row.Value):
		v.ValueDateTime = row.Value
	case it.Takes == model.Language:
		v.ValueCodeableConcept = &concept{Coding: []coding{{System: bcp47, Code: row.Value}}}
	case isGrade && it.Takes != model.Text, it.Takes == model.Flag, it.Takes == model.Words:
		v.ValueCodeableConcept = &concept{Coding: []coding{{System: sysValue, Code: row.Value}}}
		if i := map[string]string{"neg": "NEG", "pos": "POS"}[row.Value]; i != "" {
			v.ValueCodeableConcept.Coding = append(v.ValueCodeableConcept.Coding, coding{System: hl7 + "v3-ObservationInterpretation", Code: i})
		}
	default:
		v.ValueString = &row.Value
	}
	return v
}

// effective is a time as FHIR writes it, and where FHIR cannot, the same
// instant in UTC with the time as it is kept.
func effective(when model.When) (string, []extension) {
	s := when.String()
	if s == "" || fhirTime.MatchString(s) {
		return s, nil
	}
	return when.Time().UTC().Format(time.RFC3339Nano), []extension{{extWhen, s}}
}

func category(k model.Kind, what model.Code) []concept {
	word := ""
	switch {
	case k == model.Lab, k == model.Strip, what == "blood-ketones":
		word = "laboratory"
	case k == model.Vital:
		word = "vital-signs"
	case k == model.Symptom:
		word = "survey"
	default:
		return nil
	}
	return []concept{{Coding: []coding{{System: hl7 + "observation-category", Code: word}}}}
}

// entry writes one event. A strip test is a panel of its pads, the two
// pressures are one observation of two parts, and all else stands for itself.
func (b *writer) entry(e model.Entry, rows []model.Row) {
	if e.Kind == model.Condition || e.Kind == model.Medicine {
		return
	}
	var members []reference
	sys := slices.IndexFunc(rows, func(r model.Row) bool { return e.Kind == model.Vital && r.What == "systolic" })
	dia := slices.IndexFunc(rows, func(r model.Row) bool { return e.Kind == model.Vital && r.What == "diastolic" })
	for i, row := range rows {
		b.check(row)
		if i == dia && sys >= 0 {
			continue
		}
		o := b.observe(e, strconv.Itoa(i))
		o.Category = category(e.Kind, model.Code(row.What))
		if i == sys && dia >= 0 {
			o.Code = concept{Coding: []coding{{System: loinc, Code: pressurePanel, Display: pressureName}}, Text: "blood pressure"}
			for _, part := range []model.Row{row, rows[dia]} {
				c := component{Code: codeOf(part), anyValue: valueOf(part)}
				if part.Note != "" {
					c.Extension = []extension{{extNote, part.Note}}
				}
				o.Component = append(o.Component, c)
			}
		} else {
			o.Code, o.anyValue = codeOf(row), valueOf(row)
			if row.Note != "" {
				o.Note = []annotation{{Text: row.Note}}
			}
		}
		b.put(o.ID, o)
		members = append(members, ref(o.ID))
		if e.Kind == model.Lab {
			r := result{person: e.Person, when: o.EffectiveDateTime, urn: o.ID}
			if row.What == "laboratory" {
				r.laboratory = row.Value
			}
			b.results = append(b.results, r)
		}
	}
	if e.Kind == model.Strip && len(members) > 0 {
		b.stripTest(e, rows, members)
	}
}

// observe is an observation without what was observed.
func (b *writer) observe(e model.Entry, part string) observation {
	o := observation{base: base{ResourceType: "Observation", ID: urn("entry", string(e.ID), part),
		Identifier: []identifier{{sysEntry, string(e.ID) + "/" + part}}}, Status: "final", Subject: b.subject(e.Person)}
	o.EffectiveDateTime, o.Extension = effective(e.When)
	return o
}

// stripTest writes the panel of a test and its report.
func (b *writer) stripTest(e model.Entry, rows []model.Row, members []reference) {
	o := b.observe(e, "panel")
	own := coding{System: sysWhat, Code: string(model.Strip), Display: "urine strip test"}
	o.Code = concept{Coding: []coding{own}, Text: own.Display}
	if slices.ContainsFunc(rows, func(r model.Row) bool {
		return slices.Contains([]string{"leukocytes", "nitrite", "protein", "blood", "glucose", "ph"}, r.What)
	}) {
		o.Code.Coding = []coding{{System: loinc, Code: stripPanel, Display: stripName}, own}
	}
	o.Category, o.HasMember = category(model.Strip, ""), members
	if id := b.packs[e.Pack]; id != "" {
		r := ref(id)
		o.Device = &r
	}
	b.put(o.ID, o)
	r := b.report(o.Code, e.Person, o.EffectiveDateTime, "strip", string(e.ID))
	r.Result = []reference{ref(o.ID)}
	b.put(r.ID, r)
}

func (b *writer) report(code concept, person model.ID, when string, parts ...string) report {
	return report{base: base{ResourceType: "DiagnosticReport", ID: urn(append([]string{"report"}, parts...)...)}, Status: "final", Code: code,
		Category: []concept{{Coding: []coding{{System: hl7 + "v2-0074", Code: "LAB"}}}}, Subject: b.subject(person), EffectiveDateTime: when}
}

// sheets writes a report for each person's laboratory results of one time.
func (b *writer) sheets() {
	type sheet struct {
		person model.ID
		when   string
	}
	at := map[sheet]int{}
	var all []report
	for _, x := range b.results {
		key := sheet{x.person, x.when}
		i, begun := at[key]
		if !begun {
			i, at[key] = len(all), len(all)
			all = append(all, b.report(concept{Coding: []coding{{System: loinc, Code: labReport, Display: labName}}}, x.person, x.when,
				"lab", string(x.person), x.when))
		}
		all[i].Result = append(all[i].Result, ref(x.urn))
		if x.laboratory != "" {
			all[i].Performer = append(all[i].Performer, reference{Display: x.laboratory})
		}
	}
	for _, r := range all {
		b.put(r.ID, r)
	}
}

// spans pairs the start of each condition and medicine with the end that
// follows it.
func (b *writer) spans() {
	type key struct {
		person model.ID
		kind   model.Kind
		what   string
	}
	open := map[key]*span{}
	var all []*span
	for i, e := range b.book.Entries {
		if e.Kind != model.Condition && e.Kind != model.Medicine {
			continue
		}
		for j, row := range b.rows[i] {
			b.check(row)
			k := key{e.Person, e.Kind, row.What}
			side := &side{row, e, j}
			if s := open[k]; row.Value == "end" && s != nil {
				s.end = side
				delete(open, k)
				continue
			}
			s := &span{}
			if row.Value == "end" {
				s.end = side
			} else {
				s.start, open[k] = side, s
			}
			all = append(all, s)
		}
	}
	for _, s := range all {
		b.span(s)
	}
}

// span is a time somebody had a condition or took a medicine; either side may
// be unknown.
type span struct{ start, end *side }

type side struct {
	row   model.Row
	entry model.Entry
	part  int
}

func (b *writer) span(s *span) {
	begun := base{}
	var notes []annotation
	var of *side
	when := func(x *side) string {
		if x == nil {
			return ""
		}
		of = x
		at, ext := effective(x.entry.When)
		if x == s.start && b.sinceUnknown(x) {
			at, ext = "", []extension{{extWhen, x.entry.When.String()}}
		}
		for _, e := range ext {
			begun.Extension = append(begun.Extension, extension{e.URL + ":" + x.row.Value, e.ValueString})
		}
		if x.row.Note != "" {
			notes = append(notes, annotation{[]extension{{extOf, x.row.Value}}, x.row.Note})
		}
		begun.Identifier = append(begun.Identifier, identifier{sysEntry, string(x.entry.ID) + "/" + strconv.Itoa(x.part)})
		return at
	}
	from, to := when(s.start), when(s.end)
	said, during := "", &period{from, to}
	if s.start != nil && from == "" {
		said = s.start.row.Note
	}
	if from == "" && to == "" { // R4 forbids a period of nothing
		during = nil
	}
	first := s.start
	if first == nil {
		first = s.end
	}
	begun.ID = urn("entry", string(first.entry.ID), strconv.Itoa(first.part))
	subject := reference{}
	if p := b.subject(of.entry.Person); p != nil {
		subject = *p
	}
	if of.entry.Kind == model.Condition {
		begun.ResourceType = "Condition"
		status := "active"
		if s.end != nil {
			status = "resolved"
		}
		b.put(begun.ID, condition{base: begun, ClinicalStatus: concept{Coding: []coding{{System: hl7 + "condition-clinical", Code: status}}},
			Code: codeOf(of.row), Subject: subject, OnsetDateTime: from, OnsetString: said, AbatementDateTime: to, Note: notes})
		return
	}
	begun.ResourceType = "MedicationStatement"
	status := "active"
	if s.end != nil {
		status = "completed"
	}
	b.put(begun.ID, medication{base: begun, Status: status, MedicationCodeableConcept: codeOf(of.row), Subject: subject,
		EffectivePeriod: during, Note: notes})
}

// sinceUnknown reports a start of which nobody knows when it was: the day that
// stands for it in the book is no date to tell anybody.
func (b *writer) sinceUnknown(x *side) bool {
	if x.row.Note == "" {
		return false
	}
	facts := model.FactsAt(b.book.Entries, x.entry.Person, time.Date(9999, time.January, 1, 0, 0, 0, 0, time.UTC))
	return facts.ForYears([]model.Entry{x.entry}, x.entry.Kind, model.Code(x.row.What), x.entry.When, time.UTC)
}
