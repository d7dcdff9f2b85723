package ui

import (
	"fmt"
	"strings"
	"testing"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/sheet"
	"quietwater/ui/kit"
)

// sheetFile is what a laboratory's file holds: for Rosa where she is named, or
// for somebody new.
func sheetFile(b *book, person string) Incoming {
	in := Incoming{Accepted: 2, Patients: []string{"Rosa Maria Berg"}}
	id := model.ID("")
	for _, p := range b.records().Book.Persons {
		if p.Name == person {
			id = p.ID
		}
	}
	if id == "" {
		id = b.NewID()
		in.Changes.Persons = []model.Person{{ID: id, Name: "Rosa Maria Berg", Mark: 4}}
	}
	for _, v := range []model.Value{{Code: "potassium", Number: 4.2, Typed: "4.20", Unit: "mmol/L"}, {Code: "sodium", Number: 139, Typed: "139", Unit: "mmol/L"}} {
		in.Changes.Entries = append(in.Changes.Entries, model.Entry{ID: b.NewID(), Person: id, Kind: model.Lab, When: model.OnDay(morning.AddDate(0, 0, -3)), Values: []model.Value{v}})
	}
	for i := range mostLines + 7 {
		in.Refused = append(in.Refused, model.Refusal{Row: i + 3, Problem: model.Problem{Why: model.T("problem.fhir-no-value", "name", fmt.Sprint("Chloride ", i))}})
	}
	in.Refused = append(in.Refused, model.Refusal{Row: 60, Problem: model.Problem{Why: model.T("problem.already-there")}})
	in.Unknown = []UnknownCode{{Name: "Creatinine [Moles/volume] in Serum or Plasma", Code: "14682-9", Unit: "mmol/L", Why: model.T("fhir.unit-words")},
		{Name: "Alkaline phosphatase", Code: "6768-6", Why: model.T("fhir.unknown-code")}}
	in.Passed = []string{"Specimen", "Observation.referenceRange"}
	return in
}

// exchangeBook holds the files of these tests.
func exchangeBook(r household.Records) *book {
	b := newBook(r)
	rosa := b.state.Members[0].Person.Name
	b.incoming = map[string]Incoming{
		"/in/lab.json": sheetFile(b, ""), "/in/lab.json" + rosa: sheetFile(b, rosa),
		"/in/old.csv": {Numbered: true, Refused: []model.Refusal{{Row: 4, Problem: model.Problem{Field: "when", Why: model.T("problem.when-missing")}}, {Row: 5, Problem: model.Problem{Why: model.T("problem.already-there")}}}},
	}
	return b
}

// takeIn drops a file onto the page that takes one in.
func (d *desk) takeIn(path string) {
	d.w.show("household")
	d.tap("take-in")
	d.w.Dropped([]string{path})
	d.settle()
}

// A laboratory's file, by keyboard: seen before it is saved, said to be Rosa's,
// saved as one step, taken back as one.
func TestTakeIn(t *testing.T) {
	b := exchangeBook(demoBook())
	rosa := b.state.Members[0].Person
	d := open(t, b)
	before, steps := len(b.records().Book.Entries), len(b.past)
	d.w.show("household")
	d.tap("take-in")
	d.fill("path", ` "/in/nothing.json" `)
	d.key("look")
	d.shows("problem.fhir-not-json")
	d.fill("path", "file:///in/lab.json")
	d.key("look")
	d.shows("exchange.nothing-yet")
	d.shows("exchange.new-person")
	d.shows("exchange.values", "n", 2)
	d.shows("exchange.there", "n", 1)
	d.shows("problem.fhir-no-value", "name", "Chloride 39")
	d.shows("exchange.more", "n", 7)
	d.hides("problem.fhir-no-value", "name", "Chloride 40")
	d.shows("exchange.unknown-line", "name", "Creatinine [Moles/volume] in Serum or Plasma", "code", "14682-9 mmol/L", "why", model.T("fhir.unit-words"))
	d.shows("exchange.passed", "what", "Specimen, Observation.referenceRange")
	if len(b.past) != steps {
		t.Fatal("something was saved by looking")
	}
	if d.has("take-all") {
		t.Error("nobody said whose these are, and they can be taken in")
	}
	d.tap("whose-file")
	if !d.has("take-all") {
		t.Error("it was said, and they cannot be taken in")
	}
	d.tap("whose-0")
	d.hides("exchange.new-person")
	d.key("take-all")
	d.shows("exchange.saved", "n", 2)
	r := b.records()
	if len(b.past) != steps+1 || len(r.Book.Entries) != before+2 || len(r.Book.Persons) != len(demoBook().Book.Persons) {
		t.Fatalf("%d steps, %d entries", len(b.past)-steps, len(r.Book.Entries)-before)
	}
	for _, e := range r.Book.Entries {
		if v, ok := e.Value("potassium"); ok && v.Typed == "4.20" && e.Person != rosa.ID {
			t.Errorf("%v is not Rosa's", e)
		}
	}
	d.tap("undo")
	if len(b.records().Book.Entries) != before {
		t.Error("undo did not take all of it back")
	}
}

// Leaving, another file, a file of which nothing can be taken, and a save that
// fails lose nothing.
func TestTakeInLosesNothing(t *testing.T) {
	b := exchangeBook(demoBook())
	d := open(t, b)
	steps := len(b.past)
	d.takeIn("/in/old.csv")
	d.shows("exchange.none")
	d.shows("exchange.row", "row", 4, "why", model.T("problem.when-missing"))
	if d.has("take-all") || d.has("whose") {
		t.Error("nothing can be taken in, and it is offered")
	}
	d.tap("other-file")
	d.w.Dropped([]string{"/in/lab.json"})
	d.settle()
	d.tap("whose-file")
	b.fails = told{model.T("trouble.disk-full")}
	d.tap("take-all")
	d.shows("trouble.disk-full")
	d.shows("exchange.nothing-yet")
	b.fails = nil
	d.tap("back")
	d.shows("exchange.section-help")
	if len(b.past) != steps {
		t.Error("something was saved")
	}
	d.tap("take-in")
	d.hides("exchange.nothing-yet")
}

// A file gone to while another page is open does not come back over it.
func TestTakeInBeside(t *testing.T) {
	b := exchangeBook(demoBook())
	d := open(t, b)
	var then func()
	d.w.beside = func(work, after func()) { then = func() { work(); after() } }
	d.w.show("household")
	d.tap("take-in")
	d.fill("path", "/in/lab.json")
	d.tap("look")
	d.shows("exchange.looking")
	d.tap("back")
	then()
	d.settle()
	d.shows("exchange.section-help")
}

// Somebody opens the help while it is being saved: it is saved once, and cannot
// be taken in a second time on coming back.
func TestTakeInSavesOnce(t *testing.T) {
	b := exchangeBook(demoBook())
	d := open(t, b)
	d.takeIn("/in/lab.json")
	d.tap("whose-file")
	steps := len(b.past)
	var then func()
	d.w.beside = func(work, after func()) { then = func() { work(); after() } }
	d.tap("take-all")
	d.shows("exchange.saving")
	if d.has("take-all") {
		t.Errorf("while it is saved there is %v", d.ids())
	}
	d.tap("help")
	then()
	d.settle()
	if len(b.past) != steps+1 {
		t.Fatalf("%d saves", len(b.past)-steps)
	}
	d.shows("exchange.saved", "n", 2)
	d.tap("back")
	d.shows("exchange.take-how")
	if d.has("take-all") {
		t.Error("it can be taken in again")
	}
}

func TestWriteOut(t *testing.T) {
	b := exchangeBook(demoBook())
	d := open(t, b)
	d.w.show("household")
	d.tap("write-out")
	d.shows("exchange.write-how")
	d.key("write")
	d.shows("exchange.written", "path", "/home/rosa/Documents/sheets/household.table")
	d.tap("write-out", "form-fhir")
	if !strings.Contains(d.text(), "LOINC") || !strings.Contains(d.text(), "UCUM") {
		t.Error("the notices of the codes cannot be read")
	}
	d.fill("where", "/out/book.json")
	d.key("write")
	d.shows("exchange.written", "path", "/home/rosa/Documents/sheets/household.fhir")
	d.tap("write-out", "form-fhir")
	d.fill("where", "/out/book.json")
	d.key("write")
	d.shows("exchange.exists", "path", "/out/book.json")
	if got := fmt.Sprint(b.written); got != "[table  fhir /out/book.json]" {
		t.Error(got)
	}
}

// Where nothing can be saved, nothing is offered to take in; writing out is.
func TestFilesOfAReadOnlyBook(t *testing.T) {
	b := exchangeBook(demoBook())
	b.closed = model.T("trouble.read-only")
	d := open(t, b)
	d.w.show("household")
	if d.has("take-in") || !d.has("write-out") {
		t.Errorf("offered: %v", d.ids())
	}
}

// againstBook has every result of got already, with another number, as the book
// would have it.
func againstBook(b *book, got Incoming) []sheet.SameDay {
	var there []model.Entry
	for _, e := range got.Changes.Entries {
		e.Values = []model.Value{{Code: e.Values[0].Code, Number: 5.1, Typed: "5.1", Unit: "mmol/L"}}
		there = append(there, e)
	}
	return sheet.SameDays(there, got.Changes.Entries, b.Now().Location())
}

// A result of a day that has one is shown beside it, and nothing is saved before
// somebody has said whether it is another sample.
func TestTakeInOfADayThatHasOne(t *testing.T) {
	for choice, added := range map[string]int{leaveOut: 1, takeToo: 2} {
		r := demoBook()
		rosa := r.Book.Persons[0]
		r.Book.Entries = append(r.Book.Entries, model.Entry{ID: "00000000000000000000000000000e0e", Person: rosa.ID, Kind: model.Lab, When: model.OnDay(morning.AddDate(0, 0, -3)),
			Values: []model.Value{{Code: "potassium", Number: 6.1, Typed: "6.1", Unit: "mmol/L"}}})
		model.SortEntries(r.Book.Entries)
		b := newBook(r)
		b.incoming = map[string]Incoming{"/in/lab.json": sheetFile(b, rosa.Name)}
		in := b.incoming["/in/lab.json"]
		in.Patients = []string{rosa.Name}
		b.incoming["/in/lab.json"] = in
		d := open(t, b)
		before := len(b.records().Book.Entries)
		d.takeIn("/in/lab.json")
		d.shows("exchange.same-day", "n", 1)
		d.shows("exchange.same-day-line", "when", model.OnDay(morning.AddDate(0, 0, -3)),
			"coming", d.w.valueLine(model.Lab, in.Changes.Entries[0].Values[0]), "there", d.w.valueLine(model.Lab, model.Value{Code: "potassium", Number: 6.1, Typed: "6.1", Unit: "mmol/L"}))
		d.shows("exchange.contents") // the values stand there before they are saved
		if d.has("take-all") {
			t.Error("nobody said what to do with them, and they can be taken in")
		}
		d.key("same-day-" + choice)
		d.shows("exchange.save", "n", added)
		d.tap("take-all")
		if got := len(b.records().Book.Entries) - before; got != added {
			t.Errorf("%s: %d were added, want %d", choice, got, added)
		}
	}
}

// A name the book does not know is pointed out before anything else.
func TestTakeInStrangers(t *testing.T) {
	b := exchangeBook(demoBook())
	d := open(t, b)
	d.takeIn("/in/lab.json")
	d.hides("exchange.strangers", "names", "Rosa Maria Berg") // whose they are is asked first
	d.tap("whose-file")
	d.shows("exchange.strangers", "names", "Rosa Maria Berg")
	d.tap("whose-0")
	d.hides("exchange.strangers", "names", "Rosa Maria Berg")
}

// What lies where files arrive is offered, and taken by one tap.
func TestFilesThatLieAbout(t *testing.T) {
	b := exchangeBook(demoBook())
	b.disks = []string{"/media/home/RED-STICK"}
	b.lying = map[Sort][]FoundFile{Results: {{"/in/lab.json", morning}}, Books: {{"/in/other.book", morning}, {"/in/quietwater-2026-01-01.zip.age", morning}}}
	d := open(t, b)
	d.w.show("household")
	d.key("take-in", "file-0")
	d.shows("exchange.nothing-yet")
	d.key("back")
	d.key("write-out", "place-0")
	if d.w.focusedID() != "write" {
		t.Errorf("after a place was chosen the keyboard is at %q", d.w.focusedID())
	}
	if box := d.find("where").(*kit.Entry); box.Text != "/media/home/RED-STICK" {
		t.Errorf("the place is %q", box.Text)
	}
	d.key("back")
	d.key("bring-in", "file-1")
	if d.w.focusedID() != "secret" || d.find("path").(*kit.Entry).Text != "/in/quietwater-2026-01-01.zip.age" {
		t.Errorf("a locked backup was chosen, and the keyboard is at %q", d.w.focusedID())
	}
}
