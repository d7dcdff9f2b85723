package store

import (
	"crypto/sha256"
	"database/sql/driver"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"quietwater/model"
)

// nullable is a text whose empty form is NULL in the file.
type nullable string

// Scan implements sql.Scanner.
func (n *nullable) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*n = ""
	case string:
		*n = nullable(v)
	case []byte:
		*n = nullable(v)
	default:
		return fmt.Errorf("%T where a text was expected", src)
	}
	return nil
}

// Value implements driver.Valuer.
func (n nullable) Value() (driver.Value, error) {
	if n == "" {
		return nil, nil
	}
	return string(n), nil
}

// stamp is what every row carries besides its content.
type stamp struct {
	Created string   `json:"created"`
	Changed string   `json:"changed"`
	Deleted nullable `json:"deleted_at,omitempty"`
}

func (s *stamp) stamps() *stamp { return s }

// row is one record as it lies in the file. The same fields, in the order of
// the table's columns, are read, written, summed and kept for undo.
type row interface {
	table() *table
	key() string
	owner() string // the person it belongs to, "" for the household
	fields() []any // pointers
	stamps() *stamp
}

// table names the columns of one kind of row; the first is its key.
type table struct {
	name    string
	columns []string
	blank   func() row

	selectAll, selectOne, upsert, remove string
}

func newTable(name string, blank func() row, columns ...string) *table {
	columns = append(columns, "created", "changed", "deleted_at")
	list := strings.Join(columns, ", ")
	var set []string
	for _, c := range columns[1:] {
		set = append(set, c+" = excluded."+c)
	}
	return &table{
		name: name, columns: columns, blank: blank,
		selectAll: fmt.Sprintf(`SELECT %s, sum, rowid FROM %s`, list, name),
		selectOne: fmt.Sprintf(`SELECT %s, sum FROM %s WHERE %s = ?`, list, name, columns[0]),
		upsert: fmt.Sprintf(`INSERT INTO %s(%s, sum) VALUES(?%s) ON CONFLICT(%s) DO UPDATE SET %s, sum = excluded.sum`,
			name, list, strings.Repeat(", ?", len(columns)), columns[0], strings.Join(set, ", ")),
		remove: fmt.Sprintf(`DELETE FROM %s WHERE %s = ?`, name, columns[0]),
	}
}

var (
	persons  = newTable("person", func() row { return new(personRow) }, "id", "name", "mark")
	kinds    = newTable("strip_kind", func() row { return new(kindRow) }, "id", "json")
	settings = newTable("setting", func() row { return new(settingRow) }, "key", "value")
	packs    = newTable("pack", func() row { return new(packRow) }, "id", "label", "person", "strip_kind", "lot",
		"use_by", "use_by_text", "opened_on", "days_open", "strips", "price", "currency", "sealed")
	versions = newTable("version", func() row { return new(versionRow) }, "id", "what", "key", "owner", "json")
	sames    = newTable("same_person", func() row { return new(sameRow) }, "id", "person")
	entries  = newTable("entry", func() row { return new(entryRow) }, "id", "person", "kind", "at", "author", "origin", "pack")
)

func tables() []*table { return []*table{persons, sames, kinds, packs, entries, settings, versions} }

func tableNamed(name string) (*table, bool) {
	for _, t := range tables() {
		if t.name == name {
			return t, true
		}
	}
	return nil, false
}

type personRow struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Mark int    `json:"mark"`
	stamp
}

type kindRow struct {
	ID   string `json:"id"`
	JSON string `json:"json"`
	stamp
}

type settingRow struct {
	Key   string `json:"key"`
	Value string `json:"value"`
	stamp
}

// versionRow is what another copy of the book had where a row of this one
// stands: see [Book.Merge].
type versionRow struct {
	ID    string `json:"id"`
	What  string `json:"what"`
	Key   string `json:"key"`
	Owner string `json:"owner"`
	JSON  string `json:"json"`
	stamp
}

// sameRow says that the person ID is the same as another.
type sameRow struct {
	ID     string `json:"id"`
	Person string `json:"person"`
	stamp
}

type packRow struct {
	ID        string   `json:"id"`
	Label     string   `json:"label"`
	Person    nullable `json:"person,omitempty"`
	StripKind string   `json:"strip_kind"`
	Lot       string   `json:"lot"`
	UseBy     string   `json:"use_by"`
	UseByText string   `json:"use_by_text"`
	OpenedOn  string   `json:"opened_on"`
	DaysOpen  int      `json:"days_open"`
	Strips    int      `json:"strips"`
	Price     string   `json:"price"`
	Currency  string   `json:"currency"`
	Sealed    string   `json:"sealed"`
	stamp
}

type entryRow struct {
	ID     string   `json:"id"`
	Person string   `json:"person"`
	Kind   string   `json:"kind"`
	At     string   `json:"at"`
	Author string   `json:"author"`
	Origin string   `json:"origin"`
	Pack   nullable `json:"pack,omitempty"`
	stamp
	Values []valueRow `json:"values"`
}

type valueRow struct {
	Code       string   `json:"code"`
	Num        *float64 `json:"num,omitempty"`
	Grade      nullable `json:"grade,omitempty"`
	Word       nullable `json:"word,omitempty"`
	Typed      string   `json:"typed"`
	Unit       string   `json:"unit"`
	Confidence float64  `json:"confidence"`
	Note       string   `json:"note"`
}

const valueColumns = `code, num, grade, word, typed, unit, confidence, note`

func (r *personRow) table() *table  { return persons }
func (r *kindRow) table() *table    { return kinds }
func (r *settingRow) table() *table { return settings }
func (r *packRow) table() *table    { return packs }
func (r *entryRow) table() *table   { return entries }

func (r *versionRow) table() *table { return versions }
func (r *sameRow) table() *table    { return sames }
func (r *versionRow) key() string   { return r.ID }
func (r *sameRow) key() string      { return r.ID }
func (r *versionRow) owner() string { return r.Owner }
func (r *sameRow) owner() string    { return r.ID }

func (r *versionRow) fields() []any {
	return []any{&r.ID, &r.What, &r.Key, &r.Owner, &r.JSON, &r.Created, &r.Changed, &r.Deleted}
}

func (r *sameRow) fields() []any {
	return []any{&r.ID, &r.Person, &r.Created, &r.Changed, &r.Deleted}
}

func (r *personRow) key() string  { return r.ID }
func (r *kindRow) key() string    { return r.ID }
func (r *settingRow) key() string { return r.Key }
func (r *packRow) key() string    { return r.ID }
func (r *entryRow) key() string   { return r.ID }

func (r *personRow) owner() string  { return r.ID }
func (r *kindRow) owner() string    { return "" }
func (r *settingRow) owner() string { return "" }
func (r *packRow) owner() string    { return string(r.Person) }
func (r *entryRow) owner() string   { return r.Person }

func (r *personRow) fields() []any {
	return []any{&r.ID, &r.Name, &r.Mark, &r.Created, &r.Changed, &r.Deleted}
}

func (r *kindRow) fields() []any { return []any{&r.ID, &r.JSON, &r.Created, &r.Changed, &r.Deleted} }

func (r *settingRow) fields() []any {
	return []any{&r.Key, &r.Value, &r.Created, &r.Changed, &r.Deleted}
}

func (r *packRow) fields() []any {
	return []any{&r.ID, &r.Label, &r.Person, &r.StripKind, &r.Lot, &r.UseBy, &r.UseByText, &r.OpenedOn,
		&r.DaysOpen, &r.Strips, &r.Price, &r.Currency, &r.Sealed, &r.Created, &r.Changed, &r.Deleted}
}

func (r *entryRow) fields() []any {
	return []any{&r.ID, &r.Person, &r.Kind, &r.At, &r.Author, &r.Origin, &r.Pack, &r.Created, &r.Changed, &r.Deleted}
}

func (v *valueRow) fields() []any {
	return []any{&v.Code, &v.Num, &v.Grade, &v.Word, &v.Typed, &v.Unit, &v.Confidence, &v.Note}
}

// sumOf is the checksum of a row with its values: the first 64 bits of the
// SHA-256 of every field in order, each with its length. SQLite's own check
// does not see a flipped bit inside a text; this does.
func sumOf(r row) int64 {
	var space [512]byte
	buf := appendText(space[:0], r.table().name)
	if e, ok := r.(*entryRow); !ok {
		buf = appendFields(buf, r.fields())
	} else { // called by its type, its list of fields needs no memory; a book has many
		buf = appendFields(buf, e.fields())
		for i := range e.Values {
			buf = appendFields(buf, e.Values[i].fields())
		}
	}
	h := sha256.Sum256(buf)
	return int64(binary.BigEndian.Uint64(h[:8]))
}

func appendFields(buf []byte, fields []any) []byte {
	for _, f := range fields {
		switch v := f.(type) {
		case *string:
			buf = appendText(buf, *v)
		case *nullable:
			buf = appendText(buf, string(*v))
		case *int:
			buf = binary.BigEndian.AppendUint64(buf, uint64(*v))
		case *float64:
			buf = binary.BigEndian.AppendUint64(buf, math.Float64bits(*v))
		case **float64:
			if *v == nil {
				buf = append(buf, 0)
			} else {
				buf = binary.BigEndian.AppendUint64(append(buf, 1), math.Float64bits(**v))
			}
		default:
			panic(fmt.Sprintf("no canonical form for %T", f)) // a programmer's error, met by every test
		}
	}
	return buf
}

func appendText(buf []byte, s string) []byte {
	return append(binary.AppendUvarint(buf, uint64(len(s))), s...)
}

// fits refuses what the file could not give back exactly.
func fits(r row) error {
	fields := r.fields()
	if e, ok := r.(*entryRow); ok {
		for i := range e.Values {
			fields = append(fields, e.Values[i].fields()...)
		}
	}
	for _, f := range fields {
		var text string
		var number float64
		switch v := f.(type) {
		case *string:
			text = *v
		case *nullable:
			text = string(*v)
		case *float64:
			number = *v
		case **float64:
			if *v != nil {
				number = **v
			}
		}
		if !utf8.ValidString(text) || strings.ContainsRune(text, 0) {
			return fmt.Errorf("%w: %s %q has a text that is not UTF-8", ErrInvalid, r.table().name, r.key())
		}
		if math.IsNaN(number) || math.IsInf(number, 0) {
			return fmt.Errorf("%w: %s %q has a number that is none", ErrInvalid, r.table().name, r.key())
		}
	}
	return nil
}

func toJSON(r row) (string, error) {
	b, err := json.Marshal(r)
	return string(b), err
}

func fromPerson(p model.Person) *personRow {
	return &personRow{ID: string(p.ID), Name: p.Name, Mark: p.Mark}
}

func (r *personRow) model() model.Person {
	return model.Person{ID: model.ID(r.ID), Name: r.Name, Mark: r.Mark}
}

func fromPack(p model.Pack) *packRow {
	return &packRow{ID: string(p.ID), Label: p.Label, Person: nullable(p.Person), StripKind: p.StripKind, Lot: p.Lot,
		UseBy: p.UseBy.String(), UseByText: p.UseByText, OpenedOn: p.OpenedOn.String(), DaysOpen: p.DaysOpen,
		Strips: p.Strips, Price: p.Price, Currency: p.Currency, Sealed: string(p.Sealed)}
}

func (r *packRow) model(zone *time.Location) (model.Pack, error) {
	useBy, err1 := parseWhen(r.UseBy, zone, newShared())
	opened, err2 := parseWhen(r.OpenedOn, zone, newShared())
	if err1 == nil {
		err1 = err2
	}
	return model.Pack{ID: model.ID(r.ID), Label: r.Label, Person: model.ID(r.Person), StripKind: r.StripKind, Lot: r.Lot,
		UseBy: useBy, UseByText: r.UseByText, OpenedOn: opened, DaysOpen: r.DaysOpen, Strips: r.Strips,
		Price: r.Price, Currency: r.Currency, Sealed: model.Sealing(r.Sealed)}, err1
}

func fromEntry(e model.Entry) *entryRow {
	r := &entryRow{ID: string(e.ID), Person: string(e.Person), Kind: string(e.Kind), At: e.When.String(),
		Author: e.Author, Origin: string(e.Origin), Pack: nullable(e.Pack), Values: make([]valueRow, len(e.Values))}
	for i, v := range e.Values {
		r.Values[i] = fromValue(v)
	}
	return r
}

// fromValue keeps the one of number, grade and word that speaks.
func fromValue(v model.Value) valueRow {
	r := valueRow{Code: string(v.Code), Typed: v.Typed, Unit: v.Unit, Confidence: plain(v.Confidence), Note: v.Note}
	switch {
	case v.Grade != model.NoGrade:
		r.Grade = nullable(v.Grade.String())
	case v.Word != "":
		r.Word = nullable(v.Word)
	default:
		n := plain(v.Number)
		r.Num = &n
	}
	return r
}

// plain drops the sign of zero, which SQLite does not keep.
func plain(f float64) float64 {
	if f == 0 {
		return 0
	}
	return f
}

// shared keeps one copy of what thousands of rows say in the same words: half
// of the memory of a long book.
type shared struct {
	words  map[string]string
	zones  map[int]*time.Location      // by their offset in seconds
	values map[*valueRow][]model.Value // by the first of the rows
	ids    strings.Builder             // identities of entries, apart from what was read with them and goes again
}

func newShared() *shared {
	return &shared{words: map[string]string{}, zones: map[int]*time.Location{}, values: map[*valueRow][]model.Value{}}
}

func (s *shared) id(id string) model.ID {
	from := s.ids.Len()
	s.ids.WriteString(id)
	return model.ID(s.ids.String()[from:])
}

// list gives entries that share their rows of values one list.
func (s *shared) list(rows []valueRow) []model.Value {
	if len(rows) == 0 {
		return []model.Value{}
	}
	list, had := s.values[&rows[0]]
	if !had {
		list = make([]model.Value, len(rows))
		for i := range rows {
			list[i] = rows[i].model(s)
		}
		s.values[&rows[0]] = list
	}
	return list
}

func (s *shared) word(w string) string {
	if w == "" {
		return ""
	}
	if had, ok := s.words[w]; ok {
		return had
	}
	w = strings.Clone(w)
	s.words[w] = w
	return w
}

// zoned gives times of one offset one location.
func (s *shared) zoned(t time.Time) time.Time {
	_, offset := t.Zone()
	if s.zones[offset] == nil {
		s.zones[offset] = model.At(t).Time().Location()
	}
	return t.In(s.zones[offset])
}

func (r *entryRow) model(zone *time.Location, s *shared) (model.Entry, error) {
	when, err := parseWhen(r.At, zone, s)
	e := model.Entry{ID: s.id(r.ID), Person: model.ID(s.word(r.Person)), Kind: model.Kind(s.word(r.Kind)), When: when,
		Author: s.word(r.Author), Origin: model.Origin(s.word(r.Origin)), Pack: model.ID(s.word(string(r.Pack))), Values: s.list(r.Values)}
	return e, err
}

// model shows a grade this program does not know as the word it is.
func (r *valueRow) model(s *shared) model.Value {
	v := model.Value{Code: model.Code(s.word(r.Code)), Word: s.word(string(r.Word)), Typed: s.word(r.Typed), Unit: s.word(r.Unit),
		Confidence: r.Confidence, Note: s.word(r.Note)}
	if r.Num != nil {
		v.Number = *r.Num
	}
	if r.Grade != "" {
		g, known := model.ParseGrade(string(r.Grade))
		if v.Grade = g; !known {
			v.Word = string(r.Grade)
		}
	}
	return v
}

// parseWhen reads what When.String wrote; model.ParseWhen tries more forms,
// which a hundred thousand entries feel.
func parseWhen(text string, zone *time.Location, s *shared) (model.When, error) {
	if text == "" {
		return model.When{}, nil
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return model.At(s.zoned(t)), nil
	}
	return model.ParseWhen(text, zone)
}
