package ui

import (
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/numbers"
	"quietwater/model/renal"
)

// profileOf gives Anna what the equations need.
func profileOf(r household.Records, birth, sex string, more ...model.Value) household.Records {
	values := append([]model.Value{{Code: "birth-date", Word: birth}, {Code: "sex", Word: sex}}, more...)
	var c household.Changes
	for i, v := range values {
		c.Entries = append(c.Entries, model.Entry{ID: model.ID(strings.Repeat("0", 29) + "b" + string(rune('a'+i)) + "0"), Person: anna, Kind: model.Profile, Values: []model.Value{v}})
	}
	return r.Apply(c)
}

func switchedOn(r household.Records, c model.Code) household.Records {
	return r.Apply(household.Changes{Entries: []model.Entry{{ID: model.ID(strings.Repeat("0", 30) + "c0"), Person: anna, Kind: model.Condition,
		When: model.OnDay(morning.AddDate(-1, 0, 0)), Values: []model.Value{{Code: c, Word: "start"}}}}})
}

// courseOf is three sheets in mixed units over a year.
func courseOf(r household.Records) household.Records {
	return withSheets(r, "2024-07-20,creatinine,1.02,mg/dL", "2024-07-20,acr,45,mg/g", "2024-12-20,creatinine,101,umol/L", "2024-12-20,acr,9.1,mg/mmol",
		"2025-08-01,creatinine,1.40,mg/dL", "2025-08-01,egfr,45,mL/min/{1.73_m2}", "2025-08-01,acr,320,mg/g", "2025-08-01,sodium,139,mmol/L")
}

func openNumbers(t *testing.T, r household.Records) *desk {
	d := open(t, newBook(r))
	d.w.show("numbers")
	return d
}

func TestKidneyNumbers(t *testing.T) {
	d := openNumbers(t, courseOf(profileOf(smallBook(), "1948-03-09", "female")))
	d.shows("kidney.stage", "words", model.T("stage.G3b"), "stage", "G3b")
	d.shows("kidney.about", "value", model.Quantity{Typed: "39", UCUM: "mL/min/{1.73_m2}"})
	d.shows("kidney.laboratory-wrote", "value", model.Quantity{Typed: "45", UCUM: "mL/min/{1.73_m2}"})
	d.shows("kidney.stage", "words", model.T("stage.A3"), "stage", "A3")
	d.shows("lab.value", "value", model.Quantity{Typed: "320", UCUM: "mg/g"})
	d.shows("kidney.conflicts")
	d.shows("numbers.missing.region")
	if !strings.Contains(d.w.words.T(model.T("kidney.not-judged")), "not judged") {
		t.Fatal("no words")
	}
	// The findings about the sheets stand first.
	m, _ := d.book.State().Member(anna)
	if !slices.ContainsFunc(m.Result.Open, restsOnLab) {
		t.Error("320 mg/g raises nothing")
	}
	d.tap("result-sodium")
	d.shows("kidney.not-judged-why")
	d.tap("back", "result-creatinine")
	if got := d.text(); !strings.Contains(got, "1.02 mg/dL") || !strings.Contains(got, "101 µmol/L") || !strings.Contains(got, "1.40 mg/dL") {
		t.Errorf("all results as on the sheets: %s", got)
	}
}

// TestRegionIsAskedWhereOnlyItIsMissing, and is kept as a row of the profile.
func TestRegionIsAskedWhereOnlyItIsMissing(t *testing.T) {
	d := openNumbers(t, courseOf(profileOf(smallBook(), "1948-03-09", "female")))
	d.shows("renal.refused.region")
	d.tap("region-" + renal.Elsewhere)
	m, _ := d.book.State().Member(anna)
	if m.Facts.Region != renal.Elsewhere || !m.Result.History.Numbers.NoRisk.IsZero() {
		t.Errorf("%+v %v", m.Facts, m.Result.History.Numbers.NoRisk)
	}
	d.shows("kidney.risk-caution")
	if strings.Contains(d.text(), "%") {
		t.Error("a percentage stands in text for people")
	}
	if d := openNumbers(t, smallBook()); d.has("region-" + renal.Elsewhere) {
		t.Error("asked without need")
	}
}

func TestIntervalOfTheDoctor(t *testing.T) {
	d := openNumbers(t, courseOf(profileOf(smallBook(), "1948-03-09", "female")))
	d.tap("interval")
	d.fill("months", "many")
	d.tap("save")
	d.fill("months", "3")
	d.tap("save")
	m, _ := d.book.State().Member(anna)
	if m.Facts.LabMonths != 3 || !m.Result.History.Numbers.ByDoctor {
		t.Errorf("%+v", m.Facts)
	}
	d.shows("kidney.next-doctor", "when", model.OnDay(m.Result.History.Numbers.NextTest), "every", model.Quantity{Typed: "3", UCUM: "mo"})
	d.book.pass(time.Minute)
	d.tap("interval")
	d.fill("months", "")
	d.tap("save")
	if m, _ = d.book.State().Member(anna); m.Facts.LabMonths != 0 || m.Result.History.Numbers.ByDoctor {
		t.Errorf("not taken back: %+v", m.Facts)
	}
}

// TestNotValidStandsFirst: on dialysis, in pregnancy and after an amputation
// the number is shown only with that.
func TestNotValidStandsFirst(t *testing.T) {
	for _, c := range []model.Code{"dialysis", "pregnancy", "amputation"} {
		d := openNumbers(t, switchedOn(courseOf(profileOf(smallBook(), "1988-03-09", "female")), c))
		d.shows("numbers.caution." + string(c))
		if strings.Contains(d.text(), "For most people") {
			t.Errorf("%s: a range is given for a number that is not valid", c)
		}
		if c == "dialysis" && strings.Contains(d.text(), "(stage G") {
			t.Error("a stage on dialysis")
		}
	}
}

func TestALimitGivesNoFalseNumber(t *testing.T) {
	d := openNumbers(t, withSheets(profileOf(smallBook(), "1988-03-09", "female"), "2025-08-01,egfr,>60,mL/min/{1.73_m2}", "2025-08-01,acr,<3,mg/mmol"))
	got := d.text()
	if !strings.Contains(got, ">60 mL/min") || strings.Contains(got, "about 60") || strings.Contains(got, "(stage G") || !strings.Contains(got, "(stage A1)") {
		t.Errorf("%s", got)
	}
}

// TestNumbersNeverReassure: the best of numbers is never called so.
func TestNumbersNeverReassure(t *testing.T) {
	d := openNumbers(t, withSheets(profileOf(smallBook(), "1988-03-09", "female"), "2025-08-01,creatinine,0.7,mg/dL", "2025-08-01,acr,2,mg/g"))
	for _, word := range []string{"normal", "healthy", "fine", "no risk", "nothing to worry"} {
		if strings.Contains(strings.ToLower(d.text()), word) {
			t.Errorf("%q", word)
		}
	}
}

// Where creatinine and the sheet's own eGFR cannot both be right, that stands
// beside the number, and no equation is blamed.
func TestNumbersFarApart(t *testing.T) {
	d := openNumbers(t, withSheets(profileOf(smallBook(), "1948-03-09", "female"), "2025-08-01,creatinine,1.9,mg/dL", "2025-08-01,egfr,62,mL/min/{1.73_m2}"))
	m, _ := d.book.State().Member(anna)
	g, _ := m.Result.History.Numbers.Newest()
	d.shows(numbers.Gross, "when", g.When, "ours", renal.ShownEGFR(g.Value), "theirs", "62")
	d.hides("kidney.laboratory-wrote", "value", model.Quantity{Typed: "62", UCUM: "mL/min/{1.73_m2}"})
	d.hides("kidney.conflicts")
	if strings.Count(d.text(), "Another equation does not explain") != 1 || strings.Contains(d.text(), "uses another equation") {
		t.Errorf("%s", d.text())
	}
}

// While a result calls for a doctor, no interval has the first word.
func TestTheDoctorCalledDecidesFirst(t *testing.T) {
	who := profileOf(smallBook(), "1948-03-09", "female")
	sheet := []string{"2025-08-05,creatinine,1.2,mg/dL", "2025-08-05,potassium,"}
	for potassium, want := range map[string]bool{"4.4": false, "6.4": true} {
		d := openNumbers(t, withSheets(who, sheet[0], sheet[1]+potassium+",mmol/L"))
		if got := strings.Contains(d.text(), d.w.words.T(model.T("kidney.next-first"))); got != want {
			t.Errorf("potassium %s: %v", potassium, got)
		}
	}
}
