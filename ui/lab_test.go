package ui

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/sheet"
)

// labPlaces are the pages of a laboratory sheet: empty, with problems, with
// each kind of question, the last look, the sheets on record.
func labPlaces(add func(string, func(*desk)), p, long model.Person) {
	full := func(d *desk, of model.Person) *labForm {
		f := newLabForm(of)
		f.marks, f.all = true, true
		f.draft.Day, f.draft.Laboratory, f.draft.Fasting, f.draft.Ill = model.OnDay(morning.AddDate(0, 0, -1)), "Laboratory of the hospital by the old bridge", "yes", "unsure"
		f.draft.Note = "The nurse rang: come back in two weeks."
		for _, g := range sheet.Groups() {
			for _, c := range g.Codes {
				it, _ := model.Find(model.Lab, c)
				u := it.Units[len(it.Units)-1]
				typed := model.FormatNumber((u.Min + u.Max) / 2)
				f.typed[c] = typed
				f.draft.Set(sheet.Line{Code: c, Typed: typed, Unit: u.UCUM, Mark: "H*"})
			}
		}
		return f
	}
	page := func(name string, f func(d *desk) view) {
		add(name, func(d *desk) { d.w.turn(func() view { return f(d) }) })
	}
	page("sheet: empty", func(d *desk) view { return d.w.sheetPage(newLabForm(long)) })
	page("sheet: full", func(d *desk) view { return d.w.sheetPage(full(d, p)) })
	add("sheet: with problems", func(d *desk) {
		f := newLabForm(p)
		f.typed["creatinine"], f.typed["acr"] = "1,1,1", "45"
		d.w.turn(func() view { return d.w.sheetPage(f) })
		d.w.nextDoubt(f)
	})
	page("sheet: two readings", func(d *desk) view { return d.w.readingPage(full(d, p), "haemoglobin", "1,234") })
	for _, l := range []sheet.Line{{Code: "creatinine", Typed: "97", Unit: "mg/dL"}, {Code: "potassium", Typed: "47", Unit: "mmol/L"},
		{Code: "acr", Typed: "30", Unit: "mg/g"}, {Code: "urea", Typed: "40", Unit: "mg/dL"}, {Code: "creatinine", Typed: "11.3", Unit: "mg/dL"}} {
		page("sheet: question about "+string(l.Code)+" "+l.Typed, func(d *desk) view {
			f := newLabForm(p)
			f.draft.Day = model.OnDay(morning)
			f.draft.Set(l)
			return d.w.doubtPage(f, sheet.Check(f.draft, d.w.entriesOf(p.ID), morning)[0])
		})
	}
	page("sheet: question about an old day", func(d *desk) view {
		f := newLabForm(p)
		f.draft.Day = model.OnDay(morning.AddDate(-1, 0, 0))
		return d.w.doubtPage(f, sheet.Check(f.draft, nil, morning)[0])
	})
	page("sheet: last look", func(d *desk) view { return d.w.sheetReview(full(d, long)) })
	page("sheet: on record", func(d *desk) view { return d.w.earlierSheets(p) })
	page("sheet: none on record", func(d *desk) view { return d.w.earlierSheets(long) })
	page("sheet: result", func(d *desk) view {
		s := sheet.Sheets(d.w.entriesOf(p.ID))[0]
		return d.w.sheetResult(p, s.Entries)
	})
	add("sheet: changed", func(d *desk) { d.w.changeSheet(p, sheet.Sheets(d.w.entriesOf(p.ID))[0]) })
}

// labs are the laboratory entries kept.
func (d *desk) labs() []model.Entry {
	var out []model.Entry
	for _, e := range d.book.records().Book.Entries {
		if e.Kind == model.Lab {
			out = append(out, e)
		}
	}
	return out
}

// keptAs is a sheet in a line.
func keptAs(e model.Entry) string {
	var out []string
	for _, v := range e.Values {
		out = append(out, strings.TrimSpace(string(v.Code)+" "+v.Text()+" "+v.Unit+" "+v.Note))
	}
	return e.When.String() + ": " + strings.Join(out, ", ")
}

func TestCopyASheet(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.tap("enter-sheet")
	d.shows("lab.how")
	d.tap("next")
	d.shows("lab.day-missing")
	d.tap("day-yesterday")
	d.fill("laboratory", "Bridge")
	d.tap("next")
	d.shows("lab.nothing")
	d.fill("creatinine", "1,10")
	d.tap("next")
	d.shows("problem.unit-missing", "what", model.T("name.lab.creatinine"))
	d.tap("creatinine-unit-mg/dL")
	d.tap("marks")
	d.fill("creatinine-mark", "H")
	d.tap("ill-then-no")
	d.tap("next")
	d.shows("lab.review")
	if d.has("next") || len(d.labs()) != 0 {
		t.Fatal("kept before the last look")
	}
	d.tap("save")
	if got := d.labs(); len(got) != 1 || keptAs(got[0]) != "2025-08-05: creatinine 1.10 mg/dL H, laboratory Bridge, ill-then no" {
		t.Fatalf("kept %v", got)
	}
	d.shows("done.saved-for", "name", d.book.state.Members[0].Person.Name)
	d.shows("lab.result-none")
	d.w.undo()
	d.shows("done.undone")
	if len(d.labs()) != 0 {
		t.Error("undo leaves the sheet")
	}
}

// TestUnitsComeBackForTheSameLaboratoryOnly: no unit is chosen for anybody the
// first time, nor for another laboratory.
func TestUnitsComeBackForTheSameLaboratoryOnly(t *testing.T) {
	d := open(t, newBook(withSheets(smallBook(), "2025-05-01,creatinine,1.10,mg/dL", "2025-05-01,laboratory,Bridge,")))
	d.tap("enter-sheet")
	if d.w.sheets[anna].boxes["creatinine"].Unit() != "" {
		t.Error("a unit is chosen before the laboratory is known")
	}
	d.tap("lab-Bridge")
	if got := d.w.sheets[anna].boxes["creatinine"].Unit(); got != "mg/dL" {
		t.Errorf("remembered %q", got)
	}
	d.fill("laboratory", "Elsewhere")
	d.w.redraw()
	if got := d.w.sheets[anna].boxes["creatinine"].Unit(); got != "" {
		t.Errorf("taken over from another laboratory: %q", got)
	}
}

// withSheets adds rows of Anna's sheets: when,code,value,unit.
func withSheets(r household.Records, rows ...string) household.Records {
	var c household.Changes
	for i, row := range rows {
		f := strings.Split(row, ",")
		it, _ := model.Find(model.Lab, model.Code(f[1]))
		v, ps := model.ParseValue(it, f[2], f[3], "")
		if ps != nil {
			panic(ps)
		}
		when, _ := model.ParseWhen(f[0], morning.Location())
		c.Entries = append(c.Entries, model.Entry{ID: model.ID(strings.Repeat("0", 28) + "a" + string(rune('a'+i/26)) + string(rune('a'+i%26)) + "0"), Person: anna, Kind: model.Lab, When: when, Values: []model.Value{v}})
	}
	return r.Apply(c)
}

func TestDoubtsAreAskedOneByOne(t *testing.T) {
	d := open(t, newBook(withSheets(smallBook(), "2025-05-01,potassium,4.4,mmol/L")))
	d.tap("enter-sheet", "day-today")
	d.fill("creatinine", "97")
	d.tap("creatinine-unit-mg/dL")
	d.fill("acr", "30")
	d.tap("acr-unit-mg/g")
	d.fill("potassium", "44")
	d.tap("next")
	d.shows("lab.doubt")
	d.tap("answer-unit-umol/L")
	d.shows("lab.doubt")
	d.tap("answer-yes") // the ACR
	d.shows("lab.doubt")
	d.tap("answer-look") // potassium of 44 cannot be kept
	d.fill("potassium", "5.4")
	d.tap("next")
	d.shows("lab.review")
	d.tap("back")
	if got := d.w.sheets[anna].draft.Line("creatinine"); got.Unit != "umol/L" || got.Typed != "97" {
		t.Errorf("after the answer: %+v", got)
	}
	d.tap("next", "save")
	if got := keptAs(d.labs()[1]); got != "2025-08-06: creatinine 97 umol/L, acr 30 mg/g, potassium 5.4 mmol/L" {
		t.Errorf("kept %s", got)
	}
}

// TestANumberKeptAsANoteIsNeverQuiet: no rule sees it, and it may be the
// dangerous one.
func TestANumberKeptAsANoteIsNeverQuiet(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.tap("enter-sheet", "day-today")
	d.fill("potassium", "44")
	if d.has("potassium-unit-mmol/L") {
		d.tap("potassium-unit-mmol/L")
	}
	d.fill("creatinine", "0.9")
	d.tap("creatinine-unit-mg/dL")
	d.tap("next")
	if d.focused() != "answer-look" {
		t.Errorf("the keyboard stands on %s", d.focused())
	}
	d.tap("answer-note", "save")
	d.shows("lab.result-note")
	d.hides("lab.result-none")
}

func TestTwoReadingsAreAsked(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.tap("enter-sheet", "day-today")
	d.fill("creatinine", "1.234")
	d.tap("creatinine-unit-umol/L")
	d.tap("next")
	d.shows("lab.reading-help")
	if len(d.labs()) != 0 {
		t.Fatal("guessed")
	}
	d.tap("whole")
	d.shows("lab.review")
	d.tap("save")
	if got := keptAs(d.labs()[0]); got != "2025-08-06: creatinine 1234 umol/L" {
		t.Errorf("kept %s", got)
	}
}

func TestALimitIsKeptAsPrinted(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.tap("enter-sheet", "day-today")
	d.fill("acr", "< 0,7")
	d.tap("acr-unit-mg/mmol")
	d.tap("next")
	for d.has("answer-yes") {
		d.tap("answer-yes")
	}
	d.tap("save")
	if got := keptAs(d.labs()[0]); got != "2025-08-06: acr <0.7 mg/mmol" {
		t.Errorf("kept %s", got)
	}
}

// TestNothingTypedIsLost: by help, another page, Back, or more boxes.
func TestNothingTypedIsLost(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.tap("enter-sheet", "day-today")
	d.fill("creatinine", "1,1")
	d.fill("laboratory", "Bridge")
	d.fill("note", "come back")
	d.tap("more")
	d.press(fyne.KeyF1)
	d.tap("back")
	d.tap("back")
	d.press(fyne.KeyF6, fyne.KeyF2)
	d.shows("lab.go-on")
	d.tap("enter-sheet")
	f := d.w.sheets[anna]
	if f.typed["creatinine"] != "1,1" || f.draft.Laboratory != "Bridge" || f.draft.Note != "come back" || f.draft.Day.IsZero() {
		t.Errorf("lost: %+v", f)
	}
	d.tap("drop-sheet")
	d.tap("confirm")
	d.shows("lab.enter")
	if d.w.sheets[anna] != nil {
		t.Error("thrown away and still there")
	}
}

// TestASheetOutlivesTheProgram: what was copied is there again after the
// lights went out, and nothing of it stands in the way of undo.
func TestASheetOutlivesTheProgram(t *testing.T) {
	b := newBook(smallBook())
	d := open(t, b)
	d.tap("enter-sheet", "day-yesterday")
	d.fill("laboratory", "Bridge")
	d.fill("creatinine", "1,10")
	d.tap("creatinine-unit-mg/dL")
	d.fill("acr", "45")
	again := open(t, newBook(b.records()))
	again.shows("lab.go-on")
	again.tap("enter-sheet")
	f := again.w.sheets[anna]
	if f.typed["creatinine"] != "1,10" || f.draft.Line("creatinine").Unit != "mg/dL" || f.draft.Laboratory != "Bridge" || f.draft.Day.String() != "2025-08-05" {
		t.Fatalf("after the restart: %+v", f)
	}
	again.fill("acr", "")
	again.tap("next", "save")
	if len(again.labs()) != 1 || again.book.records().Settings[household.SetSheets] != "" {
		t.Fatalf("kept %v, draft %q", again.labs(), again.book.records().Settings[household.SetSheets])
	}
	again.w.undo()
	if f := again.w.sheets[anna]; len(again.labs()) != 0 || f == nil || f.typed["creatinine"] != "1,10" {
		t.Errorf("taken back, the sheet is lost: %+v", f)
	}
}

func TestChangeAndDeleteASheet(t *testing.T) {
	d := open(t, newBook(withSheets(smallBook(), "2025-05-01,creatinine,1.10,mg/dL", "2025-05-01,potassium,4.4,mmol/L", "2025-05-01,laboratory,Bridge,")))
	d.tap("enter-sheet", "earlier-sheets", "sheet-2025-05-01")
	d.fill("creatinine", "1.2")
	d.tap("next")
	d.shows("lab.review")
	d.tap("save")
	if got := d.labs(); len(got) != 1 || keptAs(got[0]) != "2025-05-01: creatinine 1.2 mg/dL, potassium 4.4 mmol/L, laboratory Bridge" {
		t.Fatalf("kept %v", got)
	}
	d.w.undo()
	if len(d.labs()) != 3 {
		t.Fatalf("undo gives %v", d.labs())
	}
	d.w.show("today")
	d.tap("enter-sheet", "earlier-sheets", "sheet-2025-05-01", "delete-sheet", "confirm")
	if len(d.labs()) != 0 {
		t.Errorf("deleted, but %v", d.labs())
	}
}
