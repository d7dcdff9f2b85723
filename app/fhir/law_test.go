package fhir

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange"
	"quietwater/app/exchange/booktest"
	"quietwater/model"
	"quietwater/model/household"
)

var (
	madrid, _ = time.LoadLocation("Europe/Madrid")
	noon      = time.Date(2026, 11, 25, 12, 0, 0, 0, madrid)
)

func bundle(t testing.TB, b model.Book) string {
	t.Helper()
	var out strings.Builder
	if err := Write(&out, b, noon); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func table(t testing.TB, b model.Book) string {
	t.Helper()
	var out bytes.Buffer
	if err := exchange.WriteTable(&out, b.Rows()); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// into is an empty book, or one that is there.
func into(existing model.Book) Target {
	return Target{Book: existing, Zone: madrid, Now: noon, NewID: booktest.IDs(), KnownAnswer: func(id string) bool { return id == "dilute-sample" }}
}

func read(text string, existing model.Book) Result {
	return Import(strings.NewReader(text), into(existing))
}

// outcome is "ok", or all that was not taken.
func outcome(r Result) string {
	if r.FileRefused != nil {
		return "file " + r.FileRefused.Key
	}
	var out []string
	for _, p := range r.Refused {
		out = append(out, fmt.Sprintf("%d %s %s", p.Row, p.Field, strings.TrimPrefix(p.Why.Key, "problem.")))
	}
	for _, u := range r.Unknown {
		out = append(out, fmt.Sprintf("%s %s %q %s ×%d", strings.TrimPrefix(u.Why.Key, "fhir."), u.Code, u.Display, u.Unit, u.Count))
	}
	if len(out) == 0 {
		return "ok"
	}
	return strings.Join(out, "\n")
}

// Law: a book written as a bundle and read into an empty book gives the same
// plain table byte for byte; read once more into that book it adds nothing.
func TestBooksComeBackTheSame(t *testing.T) {
	used := map[string]bool{}
	for seed := range uint64(600) {
		book := booktest.New(seed).Book()
		want := table(t, book)
		text := bundle(t, book)
		got := read(text, model.Book{})
		if outcome(got) != "ok" || len(got.Passed) > 0 {
			t.Fatalf("seed %d: %s %v\n%s", seed, outcome(got), got.Passed, text)
		}
		if back := table(t, got.Book); back != want {
			t.Fatalf("seed %d:\n%s\ncame back as\n%s\nfrom\n%s", seed, want, back, text)
		}
		if got.Accepted != len(book.Rows()) {
			t.Fatalf("seed %d: %d of %d rows", seed, got.Accepted, len(book.Rows()))
		}
		again := read(text, got.Book)
		if again.Accepted != 0 || len(again.Book.Entries)+len(again.Book.Packs)+len(again.Book.Persons) > 0 {
			t.Fatalf("seed %d: read twice, %d were taken twice", seed, again.Accepted)
		}
		for _, r := range book.Rows() {
			used[r.Kind+"/"+r.What] = true
		}
	}
	for _, it := range model.Items() {
		if !used[ownCode(it.Kind, it.Code)] {
			t.Errorf("the books never held %s %s", it.Kind, it.Code)
		}
	}
}

// A start nobody knows is no date in the file: it says so in words, and the day
// that stands for it in the book comes back.
func TestSinceUnknownIsNoDate(t *testing.T) {
	who := model.ID(strings.Repeat("0", 31) + "1")
	birth := model.OnDay(time.Date(1948, 3, 9, 12, 0, 0, 0, time.UTC))
	entry := func(n int, k model.Kind, when model.When, v model.Value) model.Entry {
		return model.Entry{ID: model.ID(fmt.Sprintf("%032x", 100+n)), Person: who, Kind: k, When: when, Values: []model.Value{v}}
	}
	note := "For years. Since when is not known."
	book := model.Book{Persons: []model.Person{{ID: who, Name: "Rosa"}}, Entries: []model.Entry{
		entry(1, model.Profile, model.When{}, model.Value{Code: "birth-date", Word: "1948-03-09"}),
		entry(2, model.Condition, birth, model.Value{Code: "diabetes", Word: "start", Note: note}),
		entry(3, model.Medicine, birth, model.Value{Code: "metformin", Word: "start", Note: note}),
		entry(4, model.Condition, birth, model.Value{Code: "kidney-disease", Word: "start"}), // really since birth
	}}
	model.SortEntries(book.Entries)
	text := bundle(t, book)
	for _, want := range []string{`"onsetString":"` + note + `"`, `"onsetDateTime":"1948-03-09"`} {
		if strings.Count(text, want) != 1 {
			t.Errorf("%s stands there %d times in\n%s", want, strings.Count(text, want), text)
		}
	}
	if strings.Contains(text, "effectivePeriod") {
		t.Errorf("a medicine since nobody knows when has a time:\n%s", text)
	}
	got := read(text, model.Book{})
	if back, want := table(t, got.Book), table(t, book); back != want || len(got.Passed) > 0 {
		t.Errorf("%s\ncame back as\n%s%v", want, back, got.Passed)
	}
}

// The invented household, and one written for the plain table, as they are.
func TestHouseholds(t *testing.T) {
	demo := household.Demo(noon).Book
	got := Import(strings.NewReader(bundle(t, demo)), Target{Zone: madrid, Now: noon, NewID: booktest.IDs()})
	if outcome(got) != "ok" || table(t, got.Book) != table(t, demo) {
		t.Errorf("the invented household: %s", outcome(got))
	}
	file, err := os.Open("../exchange/testdata/household.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	book := exchange.Import(file, model.Book{}, madrid, noon, booktest.IDs(), nil).Book
	got = Import(strings.NewReader(bundle(t, book)), Target{Zone: madrid, Now: noon, NewID: booktest.IDs()})
	if outcome(got) != "ok" || table(t, got.Book) != table(t, book) {
		t.Errorf("the table's household: %s", outcome(got))
	}
	if first, second := bundle(t, book), bundle(t, book); first != second {
		t.Error("written twice, it is not the same")
	}
}

// What nobody can write in R4 as it stands, or types as we would not.
func TestOddValues(t *testing.T) {
	r4 := schema(t)
	for _, row := range []string{
		"Rosa,2026-01-02,lab,creatinine,<0.30,mg/dL,", "Rosa,2026-01-02,lab,egfr,>90,mL/min/{1.73_m2},",
		"Rosa,2026-01-02,lab,creatinine,0097.10,umol/L,", "Rosa,2026-01-02,lab,acr,<03.0,mg/g,",
		"Rosa,2026-01-02T08:00:00+18:30,vital,weight,061.50,kg,x", "Rosa,2026-01-02T08:00:00.123456789-23:59,condition,stones,end,,left",
		"Rosa,2026-01-02,symptom,itching,2.0,,", "Rosa,,profile,height,1.60,m,", "Rosa,2026-01-02,note,text,\" \t1+ \r\n\",,",
		"Rosa,2026-01-02,strip,ph,unclear,,", "Rosa,2026-01-02,strip,pack,neg,,a label that is a grade",
	} {
		book := exchange.Import(strings.NewReader("person,when,kind,what,value,unit,note\n"+row+"\n"), model.Book{}, madrid, noon, booktest.IDs(), nil)
		if book.Accepted != 1 {
			t.Fatalf("%s: %+v", row, book.Refused)
		}
		text := bundle(t, book.Book)
		if err := valid(r4, text); err != nil {
			t.Errorf("%s: %v", row, err)
		}
		got := read(text, model.Book{})
		if outcome(got) != "ok" || table(t, got.Book) != table(t, book.Book) {
			t.Errorf("%s: %s, came back as %s\n%s", row, outcome(got), table(t, got.Book), text)
		}
	}
}

// What another program finds in a book: published codes, the two pressures as
// one, a strip test as a panel with its report and its pack, a sheet as a
// report with its laboratory, a condition with its end.
func TestShapes(t *testing.T) {
	rows := `person,when,kind,what,value,unit,note
,,pack,lot,A-7,,Tub
Rosa,,profile,sex,female,,
Rosa,,profile,language,es,,
Rosa,2026-01-02,condition,stones,start,,
Rosa,2026-03-02,condition,stones,end,,
Rosa,2026-01-03,medicine,diuretic,start,,
Rosa,2026-01-04,lab,creatinine,1.10,mg/dL,
Rosa,2026-01-04,lab,laboratory,At the market,,
Rosa,2026-01-05 08:00,strip,protein,neg,,
Rosa,2026-01-05 08:00,strip,pack,Tub,,
Rosa,2026-01-06 08:00,vital,systolic,141,mm[Hg],
Rosa,2026-01-06 08:00,vital,diastolic,88,mm[Hg],
Rosa,2026-01-07,symptom,itching,2,,
`
	got := exchange.Import(strings.NewReader(rows), model.Book{}, madrid, noon, booktest.IDs(), nil)
	if got.Accepted != 13 {
		t.Fatal(got.Refused)
	}
	text := bundle(t, got.Book)
	for _, want := range []string{
		`"gender":"female","communication":[{"language":{"coding":[{"system":"urn:ietf:bcp:47","code":"es"}]},"preferred":true}]`,
		`"clinicalStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"resolved"}]}`,
		`"onsetDateTime":"2026-01-02","abatementDateTime":"2026-03-02"`, `"status":"active","medicationCodeableConcept":`, `"effectivePeriod":{"start":"2026-01-03"}`,
		`{"system":"http://loinc.org","code":"2160-0","display":"Creatinine [Mass/volume] in Serum or Plasma"}`,
		`"valueQuantity":{"value":1.10,"unit":"mg/dL","system":"http://unitsofmeasure.org","code":"mg/dL"}`,
		`"code":"11502-2","display":"Laboratory report"}]},"subject"`, `"performer":[{"display":"At the market"}]`,
		`"code":"24357-6"`, `"device":{"reference":"urn:uuid:`, `"lotNumber":"A-7"`, `"code":"NEG"`,
		`"code":"85354-9"`, `"component":[{"code":{"coding":[{"system":"http://loinc.org","code":"8480-6"`, `"value":2,"unit":"{score}"`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%s is not in\n%s", want, text)
		}
	}
	kinds := map[string]int{}
	parse(strings.NewReader(text), func(_ string, n node) { kinds[n.text("resourceType")]++ })
	if have := fmt.Sprint(kinds); have != "map[Condition:1 Device:1 DiagnosticReport:2 MedicationStatement:1 Observation:9 Patient:1]" {
		t.Error(have)
	}
}

// What cannot be given back is an error, not a bundle that says something else.
func TestWriteRefuses(t *testing.T) {
	for _, name := range []string{"a\x00b", "\xff"} {
		var out strings.Builder
		if err := Write(&out, model.Book{Persons: []model.Person{{ID: "1", Name: name}}}, noon); err == nil {
			t.Errorf("%q was written as %s", name, out.String())
		}
	}
}

func TestEmptyBook(t *testing.T) {
	if got := read(bundle(t, model.Book{}), model.Book{}); outcome(got) != "ok" || got.Rows != 0 {
		t.Error(outcome(got))
	}
}

// Law: whatever a file holds, what is taken of it can be written and comes back.
func FuzzRead(f *testing.F) {
	for seed := range uint64(40) {
		if text := bundle(f, booktest.New(seed).Book()); len(text) < 10_000 {
			f.Add([]byte(text))
		}
	}
	f.Add([]byte(bundleOf(anna, quantityText("14682-9", "97.10", "umol/L", ""), stripText(`"valueString":"trace"`))))
	for _, name := range published4(f) {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if len(b) < 10_000 { // the engine would spend its time on making long ones short
			f.Add(b)
		}
	}
	f.Add([]byte(`{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Observation","id":1,"code":{"coding":[{}]},"component":[{"valueQuantity":{"value":1e400}}]}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		got := Import(bytes.NewReader(data), into(model.Book{}))
		if got.FileRefused != nil {
			return
		}
		unknown := 0
		for _, u := range got.Unknown {
			unknown += u.Count
		}
		if got.Accepted < 0 || got.Accepted+len(got.Refused)+unknown != got.Rows {
			t.Fatalf("%d rows, %d accepted, %d refused, %d unknown", got.Rows, got.Accepted, len(got.Refused), unknown)
		}
		first := table(t, got.Book)
		again := read(bundle(t, got.Book), model.Book{})
		if outcome(again) != "ok" || table(t, again.Book) != first {
			t.Fatalf("%q: %s: came back as %q", first, outcome(again), table(t, again.Book))
		}
	})
}
