package fhir

import (
	"fmt"
	"strings"
	"testing"

	"quietwater/app/exchange"
	"quietwater/app/exchange/booktest"
	"quietwater/model"
)

const anna = `{"resource":{"resourceType":"Patient","id":"1","name":[{"family":"Berg","given":["Anna","M."]}],"birthDate":"1950-02-03","gender":"female"}}`

// quantityText is an observation of Anna with a number.
func quantityText(loinc, number, unit string, more string) string {
	return `{"resource":{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/1"},"effectiveDateTime":"2026-03-01","code":{"coding":[{"system":"http://loinc.org","code":"` +
		loinc + `"}]},"valueQuantity":{"value":` + number + `,"system":"http://unitsofmeasure.org","code":"` + unit + `"}` + more + `}}`
}

func stripText(value string) string {
	return `{"resource":{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/1"},"effectiveDateTime":"2026-03-01T08:00:00Z","code":{"coding":[{"system":"http://loinc.org","code":"20454-5"}]},` + value + `}}`
}

func bundleOf(entries ...string) string {
	return `{"resourceType":"Bundle","type":"collection","entry":[` + strings.Join(entries, ",") + `]}`
}

// What a portal may write, and what becomes of it. All of it is Anna's, of
// whom birth date and sex are taken besides.
func TestPortals(t *testing.T) {
	const known = ",profile,birth-date,1950-02-03,,\n,profile,sex,female,,\n"
	for _, c := range []struct{ name, entry, rows, outcome string }{
		{"digits are kept", quantityText("14682-9", "97.10", "umol/L", ""), "2026-03-01,lab,creatinine,97.10,umol/L,", "ok"},
		{"a litre in small letters", quantityText("2160-0", "1.10", "mg/dl", ""), "2026-03-01,lab,creatinine,1.10,mg/dL,", "ok"},
		{"a day", quantityText("2889-4", "150", "mg/d", ""), "2026-03-01,lab,urine-protein,150,mg/(24.h),", "ok"},
		{"a bound", strings.Replace(quantityText("98979-8", "90", "mL/min/{1.73_m2}", ""), `"value":90`, `"value":90,"comparator":">"`, 1),
			"2026-03-01,lab,egfr,>90,mL/min/{1.73_m2},eGFR by Creatinine-based formula (CKD-EPI 2021)", "ok"},
		{"a bound we cannot keep", strings.Replace(quantityText("9318-7", "3", "mg/g", ""), `"value":3`, `"value":3,"comparator":"<="`, 1), "", "1 value fhir-bound"},
		{"the unit of another property", quantityText("2160-0", "97", "umol/L", ""), "", `unknown-unit 2160-0 "2160-0" umol/L ×1`},
		{"urea nitrogen keeps its name", quantityText("3094-0", "20", "mg/dL", ""), "2026-03-01,lab,urea,20,mg/dL,Urea nitrogen [Mass/volume] in Serum or Plasma (BUN)", "ok"},
		{"a note is kept", quantityText("2823-3", "4.2", "mmol/L", `,"note":[{"text":"haemolysed"}]`), "2026-03-01,lab,potassium,4.2,mmol/L,haemolysed", "ok"},
		{"an exponent", quantityText("2823-3", "42e-1", "mmol/L", ""), "", "1 value not-a-number"},
		{"out of all bounds", quantityText("2823-3", "42", "mmol/L", ""), "", "1 value out-of-range"},
		{"an unknown modifier", quantityText("2823-3", "4.2", "mmol/L", `,"modifierExtension":[{"url":"http://x","valueBoolean":true}]`), "", "1  fhir-modifier"},
		{"preliminary", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), "final", "preliminary", 1), "2026-03-01,lab,potassium,4.2,mmol/L,", "ok"},
		{"registered", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), "final", "registered", 1), "", "1  fhir-status"},
		{"no status", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), `"status":"final",`, "", 1), "", "1  fhir-status"},
		{"only a month", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), "2026-03-01", "2026-03", 1), "", "1 when when-form"},
		{"no time", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), `"effectiveDateTime":"2026-03-01",`, "", 1), "", "1 when when-missing"},
		{"two days", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), `"effectiveDateTime":"2026-03-01"`, `"effectivePeriod":{"start":"2026-03-01","end":"2026-03-02"}`, 1), "", "1 when fhir-period"},
		{"one day", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), `"effectiveDateTime":"2026-03-01"`, `"effectivePeriod":{"start":"2026-03-01T07:00:00Z","end":"2026-03-01T09:00:00Z"}`, 1),
			"2026-03-01T07:00:00Z,lab,potassium,4.2,mmol/L,", "ok"},
		{"not yet", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), "2026-03-01", "2027-03-01", 1), "", "1 when in-the-future"},
		{"two codes that do not agree", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), `"coding":[`, `"coding":[{"system":"http://loinc.org","code":"2951-2"},`, 1), "", `unknown-code 2823-3 "2951-2" mmol/L ×1`},
		{"another system's code", strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), "http://loinc.org", "http://acme.example", 1), "", `unknown-code 2823-3 "2823-3"  ×1`},
		{"a grade in words", stripText(`"valueString":" Trace "`), "2026-03-01T08:00:00Z,strip,protein,trace,,", "ok"},
		{"a grade by code", stripText(`"valueCodeableConcept":{"coding":[{"system":"http://snomed.info/sct","code":"260385009"}]}`), "2026-03-01T08:00:00Z,strip,protein,neg,,", "ok"},
		{"two grades", stripText(`"valueCodeableConcept":{"coding":[{"display":"Negative"},{"display":"2+"}]}`), "", "1 value fhir-form"},
		{"a grade nobody knows", stripText(`"valueString":"++"`), "", "1 value fhir-form"},
		{"a number where a grade belongs", stripText(`"valueQuantity":{"value":30,"system":"http://unitsofmeasure.org","code":"mg/dL"}`), "", `unknown-unit 20454-5 "20454-5" mg/dL ×1`},
		{"a picture", stripText(`"valueSampledData":{}`), "", "1 value fhir-form"},
	} {
		got := read(bundleOf(anna, c.entry), model.Book{})
		want := c.rows
		if want != "" {
			want = known + want
		}
		if have := cells(t, got.Book); have != want {
			t.Errorf("%s: taken:\n%s\nwant:\n%s", c.name, have, want)
		}
		if c.name == "two codes that do not agree" { // its unit is of no interest
			c.outcome = strings.Replace(c.outcome, "mmol/L", "", 1)
		}
		if outcome(got) != c.outcome {
			t.Errorf("%s: %s\nwant %s", c.name, outcome(got), c.outcome)
		}
	}
}

// Whose results these are.
func TestWhose(t *testing.T) {
	potassium := quantityText("2823-3", "4.2", "mmol/L", "")
	other := strings.ReplaceAll(strings.Replace(anna, `"1"`, `"2"`, 1), "1950", "1980")
	named := strings.Replace(potassium, `{"reference":"Patient/1"}`, `{"reference":"Patient/9","display":"Emil"}`, 1)
	nobody := strings.Replace(potassium, `{"reference":"Patient/1"}`, `{"reference":"Patient/9"}`, 1)
	table := func(rows string) model.Book {
		return exchange.Import(strings.NewReader("person,when,kind,what,value,unit,note\n"+rows), model.Book{}, madrid, noon, booktest.IDs(), nil).Book
	}
	for _, c := range []struct {
		name, text, person string
		book               model.Book
		want               string // names of new persons and the outcome
	}{
		{"as named", bundleOf(potassium, anna), "", model.Book{}, "[Anna M. Berg] ok"},
		{"by its address", bundleOf(strings.Replace(anna, `{"resource"`, `{"fullUrl":"urn:uuid:a","resource"`, 1), strings.Replace(potassium, "Patient/1", "urn:uuid:a", 1)), "", model.Book{}, "[Anna M. Berg] ok"},
		{"at another server", bundleOf(anna, strings.Replace(potassium, "Patient/1", "https://x.example/fhir/Patient/1/_history/3", 1)), "", model.Book{}, "[Anna M. Berg] ok"},
		{"only named", bundleOf(named), "", model.Book{}, "[Emil] ok"},
		{"nobody", bundleOf(anna, nobody), "", model.Book{}, "[] 1 person person-missing"},
		{"nobody, said to be Rosa's", bundleOf(nobody), "Rosa", model.Book{}, "[Rosa] ok"},
		{"Anna's, said to be Rosa's", bundleOf(anna, potassium), "Rosa", model.Book{}, "[Rosa] ok"},
		{"Rosa is born on that day", bundleOf(anna, potassium), "Rosa", table("Rosa,,profile,birth-date,1950-02-03,,\n"), "[] ok"},
		{"Rosa is born on another", bundleOf(anna, potassium), "Rosa", table("Rosa,,profile,birth-date,1948-02-03,,\n"), "[] 1 person fhir-other-birth"},
		{"two people, one named", bundleOf(anna, potassium, named), "Rosa", model.Book{}, "[] file problem.fhir-many-patients"},
		{"two patients of one name and two birth dates", bundleOf(anna, other, potassium, strings.Replace(potassium, "Patient/1", "Patient/2", 1)), "", model.Book{},
			"[] 1 person fhir-two-persons\n2 person fhir-two-persons"},
		{"two patients in one place", bundleOf(anna, strings.ReplaceAll(anna, "Anna", "Emma"), potassium), "", model.Book{}, "[] 1 person person-missing"},
		{"contained", `{"resourceType":"Observation","contained":[{"resourceType":"Patient","id":"p","name":[{"text":"Anna"}]}],` + strings.TrimPrefix(strings.TrimSuffix(strings.Replace(potassium, "Patient/1", "#p", 1), "}"), `{"resource":{"resourceType":"Observation",`), "", model.Book{}, "[Anna] ok"},
	} {
		to := into(c.book)
		to.Person = c.person
		got := Import(strings.NewReader(c.text), to)
		names := []string{}
		for _, p := range got.Book.Persons {
			names = append(names, p.Name)
		}
		if have := fmt.Sprint(names, " ", outcome(got)); have != c.want {
			t.Errorf("%s: %s\nwant %s", c.name, have, c.want)
		}
	}
}

// Another household's Rosa is not ours, though both wrote their own files.
func TestAnotherHouseholdsRosa(t *testing.T) {
	rosa := func(birth string) model.Book {
		rows := "person,when,kind,what,value,unit,note\nRosa,,profile,birth-date," + birth + ",,\nRosa,2026-03-01,vital,weight,61,kg,\n"
		return exchange.Import(strings.NewReader(rows), model.Book{}, madrid, noon, booktest.IDs(), nil).Book
	}
	got := read(bundle(t, rosa("1948-03-09")), rosa("1950-01-01"))
	if outcome(got) != "1 person fhir-other-birth\n2 person fhir-other-birth" || len(got.Book.Entries) > 0 {
		t.Error(outcome(got))
	}
	if got := read(bundle(t, rosa("1948-03-09")), rosa("1948-03-09")); outcome(got) != "1 when already-there\n2 when already-there" {
		t.Error(outcome(got))
	}
}

// A result that is told twice under one name is taken once; the same file read
// again adds nothing.
func TestTwice(t *testing.T) {
	one := strings.Replace(quantityText("2823-3", "4.2", "mmol/L", ""), `"status"`, `"id":"k","status"`, 1)
	got := read(bundleOf(anna, one, one), model.Book{})
	if got.Accepted != 3 || outcome(got) != "ok" || got.Passed[0] != (Passed{"Observation, again", 1}) {
		t.Errorf("%d taken, %s, %v", got.Accepted, outcome(got), got.Passed)
	}
	again := read(bundleOf(anna, one), got.Book)
	if again.Accepted != 0 || outcome(again) != "1 when already-there" {
		t.Errorf("again: %d taken, %s", again.Accepted, outcome(again))
	}
}

// Files that are refused whole.
func TestHostileFiles(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", "file-empty"}, {"spaces", " \n", "file-empty"}, {"XML", "<Bundle/>", "fhir-xml"}, {"a table", "person,when\n", "fhir-not-json"},
		{"a list", "[]", "fhir-not-json"}, {"cut off", `{"resourceType":"Bundle","entry":[{"resource":{`, "fhir-not-json"},
		{"more behind", bundleOf() + "{}", "fhir-not-json"}, {"rubbish behind", bundleOf() + "]", "fhir-not-json"},
		{"not UTF-8", "{\"resourceType\":\"\xff\"}", "fhir-not-json"}, {"a bundle of something else", `{"resourceType":"Bundle","entry":5}`, "fhir-not-json"},
		{"another resource", `{"resourceType":"Spoon"}`, "fhir-no-bundle"}, {"no resource", `{}`, "fhir-no-bundle"},
		{"said twice", `{"resourceType":"Bundle","type":"a","type":"b"}`, "fhir-named-twice"},
		{"said twice, deep", bundleOf(`{"resource":{"status":"final","status":"entered-in-error"}}`), "fhir-named-twice"},
		{"deep", `{"resourceType":"Bundle","x":` + strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth) + `}`, "fhir-too-deep"},
		{"deep and endless", `{"a":` + strings.Repeat(`{"a":`, 1_000_000), "fhir-too-deep"},
		{"a long text", `{"resourceType":"Bundle","x":"` + strings.Repeat("é", MaxString+1) + `"}`, "fhir-long-text"},
		{"too big", strings.Repeat(" ", MaxBytes) + bundleOf(), "file-too-big"},
	} {
		if got := outcome(read(c.text, model.Book{})); got != "file problem."+c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
	for _, c := range []struct{ name, text string }{
		{"a mark in front", "\ufeff" + bundleOf()}, {"no entry", `{"resourceType":"Bundle"}`}, {"its kind last", `{"entry":[],"resourceType":"Bundle"}`},
		{"as deep as may be", `{"resourceType":"Bundle","x":` + strings.Repeat("[", MaxDepth-1) + strings.Repeat("]", MaxDepth-1) + `}`},
		{"as long as may be", `{"resourceType":"Bundle","x":"` + strings.Repeat("é", MaxString) + `"}`},
		{"entries of nothing", `{"resourceType":"Bundle","entry":[1,null,"",{},{"resource":3},[]]}`},
	} {
		if got := outcome(read(c.text, model.Book{})); got != "ok" {
			t.Errorf("%s: %s", c.name, got)
		}
	}
}
