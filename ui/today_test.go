package ui

import (
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
)

// Of several that call, each is named at the top, and a tap leads to it.
func TestSeveralCallsAreListedFirst(t *testing.T) {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	d := open(t, rosas(t, ",profile,birth-date,1948-03-09", "2020-01-01,condition,diabetes,start", "2020-01-01,medicine,acei-or-arb,start",
		when+",symptom,passing-none,1", morning.Add(-2*time.Hour).Format(time.RFC3339)+",lab,potassium,6.2,mmol/L"))
	none, potassium := d.book.today(t, "passing-none"), d.book.today(t, "potassium")
	d.shows("today.calls", "n", 2)
	for _, f := range []finding.Finding{none, potassium} {
		if !d.has("to-" + f.Rule) {
			t.Errorf("%s is not named at the top", f.Rule)
		}
	}
	before := d.w.page.Offset()
	d.tap("to-" + d.book.state.Members[0].Result.Open[1].Rule)
	if d.w.page.Offset() <= before {
		t.Error("a tap on the second leads nowhere")
	}
	// What a doctor on the phone asks: the values, the age, what else is known.
	d.shows("finding.script-values", "list", []model.Observation{{When: potassium.Since, Kind: model.Lab, Value: potassium.Evidence[len(potassium.Evidence)-1].Value}})
	d.shows("finding.script-lab", "name", "Rosa", "title", potassium.Title, "when", potassium.Since)
	d.shows("finding.script-about", "name", "Rosa", "list", []model.Msg{model.T("finding.script-age", "n", morning.Year()-1948),
		model.T("name.condition.diabetes"), model.T("name.medicine.acei-or-arb")})
	if !d.has("start-test") {
		t.Error("a test cannot be started")
	}
}

// An emergency leaves nothing else to begin: the main button says it was rung.
func TestAnEmergencyHasItsOwnMainButton(t *testing.T) {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	d := open(t, rosas(t, when+",symptom,passing-none,1", when+",symptom,belly-pain,2"))
	if f := d.book.today(t, "passing-none"); f.Urgency != finding.Emergency {
		t.Fatalf("%v", f.Urgency)
	}
	if d.has("start-test") || d.has("to-passing-none") {
		t.Error("a test is offered in an emergency, or one call is named twice")
	}
	d.tap("called")
	d.shows("finding.answer-title")
}

// That somebody called does not take away what is to be measured again.
func TestMeasuredAgainAfterTheCall(t *testing.T) {
	at := morning.Add(-30 * time.Minute)
	d := open(t, rosas(t, "2020-01-01,condition,diabetes,start", at.Format(time.RFC3339)+",strip,ketones,2+"))
	f := d.book.today(t, "ketones")
	d.tap("answer-called-ketones")
	d.fill("answer-what", "come at noon")
	d.tap("answer-whom-doctor", "save")
	if d.has("answer-called-ketones") {
		t.Error("the call is still asked for")
	}
	d.shows("todo.again", "title", f.Title)
	d.shows("todo.when", "from", model.At(at.Add(2*time.Hour)), "to", model.At(at.Add(3*time.Hour)))
	d.shows("quiet.answered-again")
	d.hides("quiet.answered")
}

// A second pressure reading is due in minutes: it stands before what can wait
// for the next visit, and for as long as it can still be taken.
func TestAgainInMinutesStandsAmongTheCalls(t *testing.T) {
	at := func(ago time.Duration) string { return morning.Add(-ago).Format(time.RFC3339) }
	for _, c := range []struct {
		rule  string
		rows  []string
		first bool
	}{
		{"pressure-crisis", []string{at(2*time.Minute) + ",vital,systolic,188", at(2*time.Minute) + ",vital,diastolic,124"}, true},
		{"protein-once", []string{at(30*time.Hour) + ",strip,protein,1+"}, false},
		{"dilute-sample", []string{at(time.Minute) + ",strip,protein,neg", at(time.Minute) + ",strip,specific-gravity,1.005"}, false},
	} {
		d := open(t, rosas(t, c.rows...))
		calls, _ := d.w.pressing([]finding.Finding{d.book.today(t, c.rule)})
		if got := len(calls) == 1; got != c.first {
			t.Errorf("%s stands among the calls: %v", c.rule, got)
		}
	}
}

// Conditions and medicines are no observations: of a book with nothing else no
// rule could say anything, and the page does not speak as if one had.
func TestABookWithConditionsOnlyIsEmpty(t *testing.T) {
	d := open(t, rosas(t, "2020-01-01,condition,diabetes,start", "2020-01-01,medicine,metformin,start"))
	d.shows("quiet.nothing-yet")
	if strings.Contains(d.text(), d.w.words.T(model.T("quiet.silent"))) {
		t.Error("the page says that no rule fired, and none could")
	}
}

// What was saved may change what comes first: the page begins at its top.
func TestTodayBeginsAtItsTopAfterASave(t *testing.T) {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	d := open(t, rosas(t, when+",symptom,passing-none,1", morning.Add(-2*time.Hour).Format(time.RFC3339)+",lab,potassium,6.2,mmol/L"))
	d.w.page.ScrollTo(900)
	d.tap("answer-doctor-knows-potassium", "save")
	if y := d.w.page.Offset(); y != 0 {
		t.Errorf("the page stands at %.0f", y)
	}
	d.w.page.ScrollTo(300)
	d.tap("answer-doctor-knows-passing-none", "back")
	if y := d.w.page.Offset(); y == 0 {
		t.Error("a page only looked at lost its place")
	}
}

// Where no clinic is entered, a call today still shows the number there is.
func TestTheEmergencyNumberStandsInForAClinic(t *testing.T) {
	b := rosas(t, morning.Add(-time.Hour).Format(time.RFC3339)+",symptom,passing-none,1")
	r := b.records()
	b = newBook(r.Apply(household.Changes{Settings: map[string]string{household.SetEmergency: "0199"}}))
	d := open(t, b)
	d.shows("finding.no-clinic")
	if !strings.Contains(d.text(), "0199") {
		t.Error("the only number there is does not stand on a card that says to ring today")
	}
}

// In an emergency a clinic's number does not stand there as if it were the one
// to ring.
func TestAClinicIsNoEmergencyNumber(t *testing.T) {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	b := rosas(t, when+",symptom,passing-none,1", when+",symptom,belly-pain,2")
	r := b.records()
	clinic := household.Numbers()[slices.IndexFunc(household.Numbers(), func(k string) bool { return k != household.SetEmergency })]
	d := open(t, newBook(r.Apply(household.Changes{Settings: map[string]string{clinic: "0555"}})))
	d.shows("finding.no-emergency")
	if !strings.Contains(d.text(), "0555") || !d.has("enter-numbers") {
		t.Error("the clinic's number, or the way to enter the other, is not there")
	}
}

// A maternity unit is to be rung for somebody pregnant, and for nobody else.
func TestMaternityNumber(t *testing.T) {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	for _, pregnant := range []bool{true, false} {
		rows := []string{when + ",symptom,passing-none,1"}
		if pregnant {
			rows = append(rows, morning.AddDate(0, -3, 0).Format(time.DateOnly)+",condition,pregnancy,start")
		}
		b := rosas(t, rows...)
		d := open(t, newBook(b.records().Apply(household.Changes{Settings: map[string]string{household.SetMaternity: "0577"}})))
		if got := strings.Contains(d.text(), "0577"); got != pregnant {
			t.Errorf("pregnant %v: the maternity unit's number is shown: %v", pregnant, got)
		}
		d = open(t, newBook(b.records()))
		d.w.show("household")
		if d.has(household.SetMaternity) != pregnant {
			t.Errorf("pregnant %v: the household is asked for a maternity unit: %v", pregnant, !pregnant)
		}
	}
}

// Two of a household may have different doctors: the card of each shows the number
// of their own, and the household's where they have none.
func TestOwnNumbers(t *testing.T) {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	r := rosas(t, when+",symptom,passing-none,1").records()
	rosa := r.Book.Persons[0].ID
	leo := model.Person{ID: "leo", Name: "Leo"}
	sick := r.Book.Entries[len(r.Book.Entries)-1]
	sick.ID, sick.Person = "leos", leo.ID
	d := open(t, newBook(r.Apply(household.Changes{Persons: []model.Person{leo}, Entries: []model.Entry{sick},
		Settings: map[string]string{household.SetClinic: "0555 0100"}})))
	d.w.open(d.w.editPerson(leo))
	d.settle()
	if d.has("own-" + household.SetEmergency) {
		t.Error("the emergency number is everybody's")
	}
	d.fill("own-"+household.SetClinic, "Maria")
	d.tap("save")
	d.shows("problem.not-a-number-to-ring")
	d.fill("own-"+household.SetClinic, "0555 0177")
	d.tap("save")
	for who, numbers := range map[model.ID][2]string{leo.ID: {"0177", "0100"}, rosa: {"0100", "0177"}} {
		d.w.person = who
		d.w.show("today")
		d.settle()
		if text := d.text(); !strings.Contains(text, numbers[0]) || strings.Contains(text, numbers[1]) {
			t.Errorf("%s: %s should stand there, and %s not:\n%s", who, numbers[0], numbers[1], text)
		}
	}
	d.w.open(d.w.editPerson(leo))
	d.settle()
	d.fill("own-"+household.SetClinic, "")
	d.tap("save")
	if got := d.book.records().NumberFor(household.SetClinic, leo.ID); got != "0555 0100" {
		t.Errorf("with none of his own Leo's is %q", got)
	}
}

// A call today may become an emergency before somebody answers: its number stands
// last among those to ring.
func TestACallTodayShowsTheEmergencyNumberToo(t *testing.T) {
	b := rosas(t, morning.Add(-time.Hour).Format(time.RFC3339)+",symptom,passing-none,1")
	d := open(t, newBook(b.records().Apply(household.Changes{Settings: map[string]string{household.SetClinic: "0555", household.SetEmergency: "0199"}})))
	if text := d.text(); !strings.Contains(text, "0555") || strings.Index(text, "0199") < strings.Index(text, "0555") {
		t.Errorf("the clinic's number, and then the emergency number:\n%s", text)
	}
}
