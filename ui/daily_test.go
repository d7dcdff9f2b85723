package ui

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/daily"
	"quietwater/model/finding"
	"quietwater/model/household"
)

// rosas is a book of one person of whom nothing but the name is known, with
// rows of the plain table.
func rosas(t *testing.T, rows ...string) *book {
	t.Helper()
	reader := model.Reader{Zone: morning.Location(), Now: morning, NewID: ids()}
	var table []model.Row
	for i, line := range append([]string{",profile,language,en"}, rows...) {
		cells := append(strings.SplitN(line, ",", 6), "", "", "", "")
		table = append(table, model.Row{Number: i + 1, Person: "Rosa", When: cells[0], Kind: cells[1], What: cells[2], Value: cells[3], Unit: cells[4], Note: cells[5]})
	}
	got, refused := reader.Read(table)
	if len(refused) > 0 {
		t.Fatal(refused)
	}
	return newBook(household.Records{Book: got, Settings: map[string]string{household.SetWelcomed: "yes"}})
}

func ids() func() model.ID {
	n := 0
	return func() model.ID {
		n++
		return model.ID(strings.Repeat("0", 30) + string(rune('a'+n/26)) + string(rune('a'+n%26)))
	}
}

// dailyPlaces are the pages of an ordinary day, at their fullest.
func dailyPlaces(add func(string, func(*desk)), task func(string, func(*Window) func() view), rosa, long model.Person) {
	pages := map[string]func(*Window, model.Person) func() view{"write down": (*Window).writeDown, "drink": (*Window).drinks, "urine": (*Window).urine,
		"weight": (*Window).weight, "pressure": (*Window).pressure, "feel": (*Window).feel, "temperature": (*Window).temperature,
		"ketones": (*Window).ketones, "switches": (*Window).switchesPage, "note": (*Window).note}
	for name, page := range pages {
		task(name, func(w *Window) func() view { return page(w, rosa) })
	}
	task("second pressure", func(w *Window) func() view { return w.pressurePage(long, true) })
	task("between pressures", func(w *Window) func() view { return w.betweenReadings(long, model.Entry{}) })
	task("fluid limit", func(w *Window) func() view { return w.limitPage(long, "limit", "fluid-limit", "mL/d", 1500) })
	task("weight limit", func(w *Window) func() view { return w.limitPage(long, "weight-limit", "weight-limit", "kg", 80) })
	task("cups", func(w *Window) func() view { return w.cupsPage() })
	task("a cup", func(w *Window) func() view { return w.cupPage(household.CupWords()[3], false) })
	task("to-dos", func(w *Window) func() view { return w.todos() })
	for _, a := range daily.Areas() {
		task("feel: "+a.ID, func(w *Window) func() view {
			return func() view { return w.areaView(&feeling{person: long, said: map[model.Code]int{a.Codes[0]: 3}}, a) }
		})
	}
	for _, e := range []model.Entry{
		{Kind: model.Vital, When: model.At(morning), Values: []model.Value{{Code: "weight", Number: 200, Typed: "200", Unit: "kg"}}},
		{Kind: model.Fluid, When: model.OnDay(morning.AddDate(-1, 0, 0)), Values: []model.Value{{Code: "drink", Number: 4000, Typed: "4000", Unit: "mL"}}},
	} {
		add("a doubt about "+string(e.Values[0].Code), func(d *desk) {
			d.w.task, d.w.page = nil, nil
			d.w.jotDown(&jot{person: rosa, entries: []model.Entry{e}, form: d.w.weight(rosa)})
		})
	}
	for _, e := range []model.Entry{
		{Kind: model.Vital, When: model.At(morning), Values: []model.Value{{Code: "weight", Number: 7, Typed: "7", Unit: "kg"}}},
		{Kind: model.Fluid, When: model.At(morning), Values: []model.Value{{Code: "drink", Number: 1.5, Typed: "1.5", Unit: "mL"}}},
	} {
		add("a slip of "+string(e.Values[0].Code), func(d *desk) {
			d.w.task, d.w.page = nil, nil
			d.w.keep(household.Changes{Entries: []model.Entry{d.w.newEntry(rosa, model.Vital, model.OnDay(morning.AddDate(0, 0, -1)), model.Value{Code: "weight", Number: 70, Typed: "70", Unit: "kg"})}})
			d.w.jotDown(&jot{person: rosa, entries: []model.Entry{e}, form: d.w.weight(rosa)})
		})
	}
	add("the same once more", func(d *desk) {
		d.w.task, d.w.page = nil, nil
		e := d.w.newEntry(rosa, model.Fluid, model.At(morning), model.Value{Code: "drink", Number: 200, Typed: "200", Unit: "mL"})
		d.w.keep(household.Changes{Entries: []model.Entry{e}})
		e.ID = d.w.house.NewID()
		d.w.jotDown(&jot{person: rosa, entries: []model.Entry{e}, form: d.w.weight(rosa)})
	})
	add("rest of a very high pressure", func(d *desk) {
		for i := range 2 {
			e := d.w.newEntry(rosa, model.Vital, model.At(morning.Add(time.Duration(i-2)*time.Minute)),
				model.Value{Code: "systolic", Number: 188, Typed: "188", Unit: "mm[Hg]"}, model.Value{Code: "diastolic", Number: 124, Typed: "124", Unit: "mm[Hg]"})
			d.w.keep(household.Changes{Entries: []model.Entry{e}})
			d.w.turn(d.w.betweenReadings(rosa, e))
		}
	})
	add("a pressure that calls", func(d *desk) {
		e := d.w.newEntry(rosa, model.Vital, model.At(morning.Add(-2*time.Hour)), model.Value{Code: "systolic", Number: 188, Typed: "188", Unit: "mm[Hg]"})
		d.w.keep(household.Changes{Entries: []model.Entry{e}})
		d.w.turn(d.w.readingCalls(rosa, e))
	})
	add("another time, with problems", func(d *desk) {
		m := d.w.newMeasure("pressure", long, model.Vital, "systolic", "diastolic")
		m.at = moment{other: true, day: model.OnDay(morning.AddDate(0, 0, 2)), hour: 23, minute: 5}
		m.boxes[0].typed, m.boxes[1].typed = "300", "1,234"
		d.w.turn(d.w.measurePage(m))
		d.w.saveMeasure(m)
	})
	add("a week of pressure, and offers", func(d *desk) {
		r := d.book.records()
		d.w.keep(r.KeepWeek(rosa.ID, model.OnDay(morning.AddDate(0, 0, -2))))
		d.w.keep(household.KeepShopping(household.Shopping{Every: 9, Persons: 2, Offers: []household.ShopOffer{
			{ID: "a", Label: "Hundred in one tub from the chemist at the market", Strips: 100, Price: "20", Currency: "EUR", DaysOpen: 90},
			{ID: "b", Label: "Small", Strips: 25, Price: "9.90", Currency: "EUR", UseBy: "2027-02"}, {ID: "c", Label: "No price", Strips: 50}}}))
		d.w.person = rosa.ID
		d.w.show("today")
	})
	for name, page := range map[string]func(*Window) func() view{"planner": (*Window).planner,
		"an offer":             func(w *Window) func() view { return w.offerPage(w.house.State().Records.Shopping().Offers[1]) },
		"pressure in its week": func(w *Window) func() view { return w.pressure(rosa) }} {
		add(name, func(d *desk) {
			r := d.book.records()
			d.w.keep(r.KeepWeek(rosa.ID, model.OnDay(morning.AddDate(0, 0, -2))))
			d.w.keep(household.KeepShopping(household.Shopping{Every: 9, Persons: 2, Offers: []household.ShopOffer{
				{ID: "a", Label: "Hundred in one tub from the chemist at the market", Strips: 100, Price: "20", Currency: "EUR", DaysOpen: 90},
				{ID: "b", Label: "Small", Strips: 25, Price: "9.90", Currency: "EUR", UseBy: "2027-02"}, {ID: "c", Label: "No price", Strips: 50}}}))
			d.w.turn(page(d.w))
		})
	}
}

// last is the newest entry of a kind.
func (b *book) last(t *testing.T, k model.Kind) model.Entry {
	t.Helper()
	for _, e := range slices.Backward(b.records().Book.Entries) {
		if e.Kind == k {
			return e
		}
	}
	t.Fatalf("no %s was kept", k)
	return model.Entry{}
}

func (b *book) count(k model.Kind) (n int) {
	for _, e := range b.records().Book.Entries {
		if e.Kind == k {
			n++
		}
	}
	return n
}

func (b *book) today(t *testing.T, rule string) finding.Finding {
	t.Helper()
	for _, m := range b.state.Members {
		for _, f := range m.Result.Open {
			if f.Rule == rule {
				return f
			}
		}
	}
	t.Fatalf("%s is not open", rule)
	return finding.Finding{}
}

// A drink is two taps from Today, wherever the findings leave the page.
func TestADrinkIsTwoTaps(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-drink", "cup-mug")
	e := d.book.last(t, model.Fluid)
	if v, _ := e.Value("drink"); v.Number != 250 || v.Unit != "mL" || v.Note != "Mug" {
		t.Errorf("kept %+v", v)
	}
	if e.When.Compare(model.At(morning)) != 0 || d.w.at != "today" || d.w.task != nil {
		t.Errorf("kept at %v; the page is %s", e.When, d.w.at)
	}
	d.shows("daily.water.today", "drunk", millilitres(250))
	d.tap("undo")
	if d.book.count(model.Fluid) != 0 {
		t.Error("the drink is still there")
	}
}

func TestADrinkByKeyboard(t *testing.T) {
	d := open(t, rosas(t, "2025-08-06 08:00,symptom,chest-pain,1")) // whose card leaves no room for the buttons
	d.key("write-down")
	d.press(fyne.KeySpace) // Drink is the first line and has the keyboard
	d.press(fyne.KeySpace) // and so has the first cup
	if v, _ := d.book.last(t, model.Fluid).Value("drink"); v.Number != 200 {
		t.Errorf("kept %+v", v)
	}
}

func TestTheSameDrinkTwiceIsAsked(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-drink", "cup-mug")
	d.book.pass(time.Minute)
	d.tap("add-drink", "cup-mug")
	if d.book.count(model.Fluid) != 1 {
		t.Fatal("it was kept unasked")
	}
	d.tap("answer-no")
	d.shows("daily.again-left")
	if d.book.count(model.Fluid) != 1 || d.w.at != "today" {
		t.Fatal("the same one was kept twice")
	}
	d.tap("add-drink", "cup-mug", "answer-yes")
	if d.book.count(model.Fluid) != 2 {
		t.Error("the second one was not kept")
	}
}

func TestAnotherAmount(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-drink")
	d.tap("add-other")
	d.shows("problem.number-missing")
	d.fill("drink", "0,3")
	d.press(fyne.KeyReturn)
	d.shows("daily.doubt-litres", "value", model.Quantity{Typed: "0.3", UCUM: "mL"}, "other", millilitres(300))
	if d.has("answer-yes") {
		t.Error("0.3 mL cannot be kept")
	}
	d.tap("answer-look")
	if !strings.Contains(d.text(), "0,3") {
		t.Error("what was typed is lost")
	}
	d.tap("add-other", "answer-meant")
	if v, _ := d.book.last(t, model.Fluid).Value("drink"); v.Number != 300 {
		t.Errorf("kept %+v", v)
	}
	d.book.pass(time.Hour)
	d.tap("add-drink")
	d.fill("drink", "1,2")
	d.press(fyne.KeyReturn)
	d.tap("answer-yes")
	if v, _ := d.book.last(t, model.Fluid).Value("drink"); v.Number != 1.2 {
		t.Errorf("kept %+v", v)
	}
}

func TestADrinkAtAnotherTime(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-drink", "other-time")
	if d.focused() != "time-hour" {
		t.Errorf("the keyboard is at %q", d.focused())
	}
	d.fill("time-hour", "23")
	d.tap("cup-glass")
	d.shows("problem.in-the-future")
	d.tap("date-yesterday", "cup-glass")
	if got := d.book.last(t, model.Fluid).When.String(); got != "2025-08-05T23:00:00+02:00" {
		t.Errorf("kept at %s", got)
	}
}

func TestTheLimitIsTheDoctors(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-drink")
	d.shows("daily.limit.none")
	d.tap("fluid-limit")
	d.fill("fluid-limit", "150")
	d.tap("save")
	if d.book.count(model.Profile) != 1 {
		t.Fatal("a limit of 150 mL was kept")
	}
	d.fill("fluid-limit", "400")
	d.press(fyne.KeyReturn)
	d.tap("cup-glass")
	d.shows("daily.water.limit", "drunk", millilitres(200), "limit", millilitres(400))
	d.book.pass(time.Hour)
	d.tap("add-drink", "cup-mug")
	d.shows("daily.water.over", "drunk", millilitres(450), "limit", millilitres(400), "over", millilitres(50))
	d.tap("add-drink", "fluid-limit", "no-limit")
	d.shows("daily.limit.none")
}

func TestCupsOfOurOwn(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-drink", "change-cups", "change-glass")
	d.fill("cup-holds", "2000")
	d.tap("save")
	d.fill("cup-holds", "180")
	d.tap("save", "new-cup")
	d.tap("save")
	d.shows("problem.name-missing")
	d.fill("cup-name", "Blue mug")
	d.fill("cup-holds", "320")
	d.press(fyne.KeyReturn)
	cups := d.book.records().Cups()
	if cups[0].ML != 180 || cups[0].Word != "glass" || cups[len(cups)-1].Name != "Blue mug" || cups[len(cups)-1].ML != 320 {
		t.Fatalf("the cups are %+v", cups)
	}
	d.tap("back")
	d.shows("daily.cup", "cup", model.T("cup.glass"), "amount", millilitres(180))
	d.tap("cup-" + cups[len(cups)-1].ID)
	if v, _ := d.book.last(t, model.Fluid).Value("drink"); v.Number != 320 || v.Note != "Blue mug" {
		t.Errorf("kept %+v", v)
	}
	d.tap("add-drink", "change-cups", "change-glass", "delete-cup")
	if len(d.book.records().Cups()) != len(cups)-1 {
		t.Error("the glass is still there")
	}
}

// A weight is one tap, the digits and Return; the unit is chosen once.
func TestAWeight(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-weight")
	if d.focused() != "weight" {
		t.Fatalf("the keyboard is at %q", d.focused())
	}
	d.fill("weight", "72,5")
	d.press(fyne.KeyReturn)
	if d.book.count(model.Vital) != 0 {
		t.Fatal("it was kept without a unit")
	}
	d.shows("daily.weight.unit-missing")
	d.tap("weight-unit-kg", "save")
	d.book.pass(24 * time.Hour)
	d.tap("add-weight")
	d.fill("weight", "78")
	d.press(fyne.KeyReturn)
	d.shows("daily.doubt-jump", "value", model.Quantity{Typed: "78", UCUM: "kg"}, "last", model.Quantity{Typed: "72.5", UCUM: "kg"},
		"when", model.At(morning), "other", model.Quantity{Typed: "172", UCUM: "[lb_av]"})
	d.tap("answer-look")
	if !strings.Contains(d.text(), "78") {
		t.Error("what was typed is lost")
	}
	d.fill("weight", "73")
	d.press(fyne.KeyReturn)
	if v, _ := d.book.last(t, model.Vital).Value("weight"); v.Number != 73 || v.Unit != "kg" {
		t.Errorf("kept %+v", v)
	}
	for _, typed := range []string{"731", "7,31"} {
		d.book.pass(24 * time.Hour)
		d.tap("add-weight")
		d.fill("weight", typed)
		d.press(fyne.KeyReturn)
		if d.has("answer-yes") != (typed == "7,31") {
			t.Error("731 kg cannot be kept, 7.31 kg can")
		}
		d.tap("answer-look")
		if !strings.Contains(d.text(), typed) {
			t.Error("what was typed is lost")
		}
		d.tap("save", "answer-meant")
		if v, _ := d.book.last(t, model.Vital).Value("weight"); v.Number != 73.1 || v.Unit != "kg" {
			t.Errorf("%s: kept %+v", typed, v)
		}
	}
}

// typePressure fills the two boxes of a reading and saves it.
func (d *desk) typePressure(systolic, diastolic string) {
	d.fill("systolic", systolic)
	d.fill("diastolic", diastolic)
	d.tap("save")
}

// After a very high reading the page counts five minutes from the first one; a
// reading sooner is kept, and is no second one.
func TestAVeryHighPressureNeedsARest(t *testing.T) {
	d := open(t, rosas(t))
	d.w.keep(household.Changes{Settings: map[string]string{household.SetEmergency: "112"}})
	rung := func() bool {
		return slices.ContainsFunc(d.sound.heard, func(s string) bool { return strings.HasPrefix(s, "now") })
	}
	d.tap("add-pressure")
	d.typePressure("185", "122")
	d.shows("daily.pressure.rest")
	d.shows("daily.pressure.danger-ring", "number", "112")
	d.hides("daily.pressure.too-soon")
	d.hides("daily.pressure.between")
	d.book.pass(2 * time.Minute)
	d.tap("second")
	d.typePressure("188", "124")
	d.shows("daily.pressure.too-soon")
	f := d.book.today(t, "pressure-crisis")
	if want := morning.Add(5 * time.Minute); f.Urgency != finding.Retest || !f.Due.From.Equal(want) {
		t.Errorf("%v, due from %v, want %v", f.Urgency, f.Due.From, want)
	}
	d.wait(2*time.Minute + 50*time.Second)
	if rung() {
		t.Error("the rest was over too soon")
	}
	d.wait(20 * time.Second)
	if !rung() {
		t.Error("nothing was heard at the end of the rest")
	}
	d.tap("second")
	d.typePressure("186", "121")
	d.shows("finding.pressure-crisis.twice.title")
	d.hides("daily.pressure.rest")
	if d.book.count(model.Vital) != 3 || d.has("second") {
		t.Error("three readings are kept, and no more is asked for")
	}
}

// A lower reading too soon is no second one either; one in time ends it.
func TestALowerPressureTooSoon(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-pressure")
	d.typePressure("185", "122")
	d.shows("daily.pressure.danger")
	d.book.pass(time.Minute)
	d.tap("second")
	d.typePressure("150", "90")
	d.shows("daily.pressure.too-soon")
	d.book.pass(4 * time.Minute)
	d.tap("second")
	d.typePressure("150", "90")
	if d.w.at != "today" || d.w.task != nil {
		t.Error("it leads on")
	}
	d.hides("finding.pressure-crisis.title")
}

// With a danger sign on record nobody is kept waiting for a second reading.
func TestAPressureWithDangerSigns(t *testing.T) {
	d := open(t, rosas(t, "2025-08-06 08:00,symptom,vision-trouble,1"))
	d.tap("add-pressure")
	d.typePressure("185", "122")
	d.shows("finding.pressure-crisis.signs.title")
	if d.has("second") {
		t.Error("a second reading is asked for")
	}
	d.tap("undo")
	d.shows("done.undone")
}

// A pair of readings is taken a minute apart; one that is wrong is told.
func TestAPairOfPressures(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-pressure")
	d.fill("systolic", "88")
	d.press(fyne.KeyReturn)
	d.fill("diastolic", "142")
	d.tap("save")
	d.shows("problem.pressure-order")
	d.fill("systolic", "270")
	d.tap("save")
	d.shows("daily.pressure-beyond", "high", model.Quantity{Typed: "260", UCUM: "mm[Hg]"})
	d.fill("systolic", "142")
	d.fill("diastolic", "88")
	d.tap("save")
	d.shows("daily.pressure.between")
	d.wait(59 * time.Second)
	if slices.ContainsFunc(d.sound.heard, func(s string) bool { return strings.HasPrefix(s, "now") }) {
		t.Error("the minute was over too soon")
	}
	d.wait(2 * time.Second)
	if !slices.ContainsFunc(d.sound.heard, func(s string) bool { return strings.HasPrefix(s, "now") }) {
		t.Error("nothing was heard after a minute")
	}
	d.tap("second")
	d.fill("systolic", "138")
	d.fill("diastolic", "86")
	d.fill("pulse", "66")
	d.tap("save")
	if e := d.book.last(t, model.Vital); d.book.count(model.Vital) != 2 || len(e.Values) != 3 {
		t.Errorf("kept %d readings, the last %+v", d.book.count(model.Vital), e)
	}
}

// What was there yesterday is asked for first, and nothing is answered for
// anybody.
func TestHowIFeel(t *testing.T) {
	d := open(t, rosas(t, "2025-08-05 20:00,symptom,ankle-swelling,1", "2025-08-05 20:00,symptom,itching,2"))
	d.tap("add-feel", "save")
	d.shows("daily.feel.nothing")
	d.shows("daily.feel.where")
	d.tap("ankle-swelling-2", "same", "area-stomach", "vomiting-1", "area-done", "area-emergency")
	d.tap("fit-2", "area-done")
	d.shows("daily.feel.said", "what", model.T("name.symptom.fit"), "value", model.T("word.yes"))
	if n := strings.Count(d.text(), d.w.words.T(model.T("name.symptom.fit"))); n > 1 {
		t.Errorf("the fit is named %d times", n)
	}
	d.tap("save")
	got := map[model.Code]string{}
	for _, e := range d.book.records().Book.Entries {
		if e.Kind == model.Symptom && e.When.Compare(model.At(morning)) == 0 {
			got[e.Values[0].Code] = e.Values[0].Text()
		}
	}
	want := map[model.Code]string{"ankle-swelling": "2", "itching": "2", "vomiting": "1", "fit": "2"}
	if len(got) != len(want) {
		t.Errorf("kept %v", got)
	}
	for c, v := range want {
		if got[c] != v {
			t.Errorf("%s is %q, want %s", c, got[c], v)
		}
	}
	if f := d.book.today(t, "red-flag-symptom"); f.Urgency != finding.Emergency {
		t.Error("a fit is no emergency")
	}
	d.tap("undo") // all of it at once
	if n := d.book.count(model.Symptom); n != 2 {
		t.Errorf("%d symptoms are left", n)
	}
}

// Where nothing was asked for before, nothing is spoken of as more; what an
// area asks for is a choice; no answer can be taken for "I pass none".
func TestHowIFeelForTheFirstTime(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-feel")
	d.shows("daily.feel.where-first")
	d.hides("daily.feel.where")
	d.shows("daily.list", "what", model.AnyOf{model.T("name.symptom.fever"), model.T("name.symptom.shivering"), model.T("name.symptom.flank-pain"), model.T("name.symptom.cloudy-fluid")})
	d.tap("area-urine")
	if strings.Contains(d.text(), "None") {
		t.Error("an answer is None")
	}
}

func TestAllOfItIsGone(t *testing.T) {
	d := open(t, rosas(t, "2025-08-05 20:00,symptom,vomiting,2"))
	d.tap("add-feel", "all-gone", "save")
	if v, _ := d.book.last(t, model.Symptom).Value("vomiting"); v.Text() != "0" {
		t.Errorf("kept %+v", v)
	}
}

func TestUrineAndItsCollection(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-urine")
	d.fill("urine", "1800")
	d.tap("save")
	d.shows("daily.doubt-urine", "value", millilitres(1800))
	d.tap("answer-look", "collection", "save")
	e := d.book.last(t, model.Fluid)
	hours, _ := e.Value("urine-hours")
	if v, _ := e.Value("urine"); v.Number != 1800 || hours.Number != 24 {
		t.Errorf("kept %+v", e.Values)
	}
}

// Ketones in blood are asked of those who have a meter.
func TestKetonesAreAskedOfSome(t *testing.T) {
	d := open(t, rosas(t))
	if d.has("add-ketones") {
		t.Error("asked of somebody without diabetes")
	}
	d = open(t, rosas(t, "2025-01-01,condition,diabetes,start"))
	d.tap("add-ketones")
	d.fill("blood-ketones", "3,1")
	d.press(fyne.KeyReturn)
	if f := d.book.today(t, "blood-ketones"); f.Urgency != finding.Emergency {
		t.Errorf("3.1 is %v", f.Urgency)
	}
}

// A call is due now: the hours beside it say when to measure again, and never
// read as the time to call.
func TestACallIsNotPutOffToTheNextMeasuring(t *testing.T) {
	d := open(t, rosas(t, "2025-01-01,condition,diabetes,start"))
	d.tap("add-ketones")
	d.fill("blood-ketones", "1,8")
	d.tap("save")
	f := d.book.today(t, "blood-ketones")
	if f.Urgency != finding.Today || f.Due == nil {
		t.Fatalf("1.8 is %v, due %v", f.Urgency, f.Due)
	}
	from, to := dueSpan(*f.Due)
	d.shows("today.again", "from", from, "to", to)
	d.hides("today.due", "from", from, "to", to)
}

// What was said of a finding keeps who, when and what; a time before it was
// found is no answer to it.
func TestAnAnswerKeepsWhoWhenAndWhat(t *testing.T) {
	d := open(t, rosas(t, "2025-08-06 08:00,symptom,chest-pain,1"))
	d.tap("answer-called-red-flag-symptom")
	d.tap("answer-whom-doctor")
	d.fill("answer-who", "The doctor on duty")
	d.fill("answer-what", "Come at once")
	d.tap("other-time")
	d.fill("time-hour", "7")
	d.tap("save")
	d.shows("finding.answer-before")
	d.fill("time-hour", "8")
	d.fill("time-minute", "30")
	d.tap("save")
	e := d.book.last(t, model.Answer)
	if e.Values[0].Note != "The doctor or clinic: The doctor on duty: Come at once" || e.When.String() != "2025-08-06T08:30:00+02:00" {
		t.Errorf("kept %+v at %v", e.Values, e.When)
	}
	d.tap("add-note")
	if !strings.Contains(d.text(), "The doctor on duty: Come at once") {
		t.Error("the log of calls does not show it")
	}
	d.tap("save")
	d.shows("daily.note.empty")
	d.fill("note", "Visit on Monday")
	d.tap("save")
	if v := d.book.last(t, model.Note).Values[0]; v.Word != "Visit on Monday" {
		t.Errorf("kept %+v", v)
	}
}

// A week of readings is begun, counted, told on Today and ended.
func TestAWeekOfReadings(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-pressure", "begin-week")
	d.shows("daily.week.day", "day", 1, "days", 7)
	d.fill("systolic", "142")
	d.fill("diastolic", "88")
	d.tap("save", "second")
	d.fill("systolic", "138")
	d.fill("diastolic", "86")
	d.tap("save")
	d.shows("daily.week.today", "morning", 2, "evening", 0, "pair", 2)
	d.book.pass(24 * time.Hour)
	d.press(fyne.KeyF3, fyne.KeyF2)
	d.shows("daily.week.day", "day", 2, "days", 7)
	d.book.pass(-48 * time.Hour) // a clock that was set back
	d.press(fyne.KeyF3, fyne.KeyF2)
	d.book.pass(10 * 24 * time.Hour)
	d.press(fyne.KeyF3, fyne.KeyF2)
	d.shows("daily.week.over")
	d.tap("add-pressure", "end-week")
	d.hides("daily.week.over")
}

// minute lets the program notice what time it is.
func (d *desk) minute() {
	before := d.book.State()
	d.w.Passed(before, d.book.Refresh())
}

// What nobody looked at again in time becomes a call without a touch.
func TestTimeAloneMakesACall(t *testing.T) {
	d := open(t, rosas(t))
	d.tap("add-pressure")
	d.fill("systolic", "186")
	d.fill("diastolic", "96")
	d.tap("save")
	d.shows("finding.pressure-crisis.title")
	d.tap("enough")
	d.book.pass(59 * time.Minute)
	d.minute()
	d.hides("finding.pressure-crisis.alone.title")
	d.book.pass(2 * time.Minute)
	d.minute()
	d.settle()
	d.shows("finding.pressure-crisis.alone.title")
}

// The list of to-dos is printed, and saved for a calendar with or without the
// reason; reminders come only where they were asked for.
func TestTodos(t *testing.T) {
	d := open(t, rosas(t, "2025-08-06 08:00,strip,protein,1+"))
	d.tap("todos")
	d.shows("finding.protein-once.title", "read", model.Plus1)
	d.tap("print-todos", "save-calendar", "health", "save-calendar")
	if want := []string{"to-dos", "calendar false", "calendar true"}; !slices.Equal(d.book.sheets, want) {
		t.Errorf("made %v", d.book.sheets)
	}
	d.shows("todo.saved", "path", "/home/rosa/Documents/to-dos.ics")
	if d.book.records().Settings[household.SetRemind] != "" {
		t.Error("reminders come unasked")
	}
	d.tap("remind")
	if d.book.records().Settings[household.SetRemind] != "yes" {
		t.Error("no reminder was set")
	}
	d.book.fails = told{model.T("trouble.not-saved")}
	d.tap("print-todos")
	d.shows("trouble.not-saved")
}

// Two offers are compared by what a used strip costs, and the page says why
// the big box is the dear one.
func TestWhichBoxToBuy(t *testing.T) {
	d := open(t, rosas(t))
	d.press(fyne.KeyF5)
	d.tap("plan")
	d.shows("plan.none")
	for _, o := range []struct{ label, strips, price string }{{"Big box", "100", "20"}, {"Small box", "25", "9,90"}} {
		d.tap("add-offer", "save")
		d.shows("problem.name-missing")
		d.fill("label", o.label)
		d.fill("strips", o.strips)
		d.fill("price", o.price)
		d.fill("currency", "eur")
		d.fill("days", "90")
		d.tap("save")
	}
	d.shows("plan.best")
	d.shows("plan.costs", "price", "0.83", "currency", "EUR")
	d.shows("plan.dearer", "box", "0.20", "used", "1.67", "currency", "EUR")
	d.tap("every-1")
	d.shows("plan.costs", "price", "0.22", "currency", "EUR")
	d.fill("every-own", "30")
	d.press(fyne.KeyReturn)
	if d.book.records().Shopping().Every != 30 {
		t.Error("a rhythm of their own was not kept")
	}
	first := d.book.records().Shopping().Offers[0]
	d.tap("change-" + first.ID)
	d.tap("delete-offer")
	if len(d.book.records().Shopping().Offers) != 1 {
		t.Error("the offer is still there")
	}
}

// A finding of a whole week of readings does not name them all.
func TestAWeekIsNotNamedValueByValue(t *testing.T) {
	var rows []string
	for day := range 7 {
		for _, clock := range []string{"07:00", "07:02", "20:00", "20:02"} {
			rows = append(rows, fmt.Sprintf("2025-07-%02d %s,vital,systolic,146", 30-6+day, clock), fmt.Sprintf("2025-07-%02d %s,vital,diastolic,88", 30-6+day, clock))
		}
	}
	d := open(t, rosas(t, rows...))
	d.book.today(t, "pressure-home-mean")
	d.shows("finding.pressure-home-mean.why", "count", 24, "first", model.At(time.Date(2025, 7, 25, 7, 0, 0, 0, morning.Location())), "read", "146/88")
	if n := strings.Count(d.text(), "146 mmHg"); n > 8 {
		t.Errorf("the card names %d of the readings", n)
	}
}
