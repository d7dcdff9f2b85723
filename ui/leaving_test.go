package ui

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

// asked reports that a question lies over the page.
func (d *desk) asked() bool { return d.win.Canvas().Overlays().Top() != nil }

// touch types into the first box of the page, or chooses something where there
// is none; it names what it touched, "" for nothing.
func (d *desk) touch() string {
	held := kit.Held(d.w.page)
	for _, n := range kittest.Nodes(d.win.Canvas()) {
		name, ok := n.Object.(named)
		if !ok {
			continue
		}
		was, holds := held[name.Name()]
		if !holds {
			continue
		}
		switch o := n.Object.(type) {
		case *kit.Entry:
			d.win.Canvas().Focus(o)
			test.Type(o, "7")
			d.settle()
			return name.Name()
		case *kit.Row:
			if was == "false" {
				d.tap(name.Name())
				return name.Name()
			}
		}
	}
	return ""
}

// TestLeavingAsks: every page with something to fill in asks before what was
// typed or chosen there is lost; and only then.
func TestLeavingAsks(t *testing.T) {
	r := fullBook()
	d := open(t, newBook(r))
	start := *d.book
	var touched []string
	for _, p := range places(r) {
		// Those keep what is typed: as a draft, or for the page under them. A read-only
		// book could not save it anyway. The first run has nothing to go back to.
		d.fresh(start)
		p.open(d)
		d.settle()
		if d.w.view.kept || d.w.view.part || d.w.page == nil || d.asked() || p.name == "read only" || strings.HasPrefix(p.name, "welcome") || strings.HasPrefix(p.name, "trouble") {
			continue
		}
		away := func() { d.press(fyne.KeyEscape) }
		if d.w.task == nil {
			if len(kit.Held(d.w.page)) > 0 {
				t.Errorf("%s: a page of the rail holds %v", p.name, kit.Held(d.w.page))
			}
			continue
		}
		task := d.w.page
		if d.w.view.back == nil {
			continue
		}
		d.win.Canvas().Unfocus()
		away()
		if d.asked() || d.w.page == task {
			t.Errorf("%s: an untouched page is not left at once", p.name)
		}

		d.fresh(start)
		p.open(d)
		d.settle()
		id := d.touch()
		if id == "" {
			continue
		}
		touched = append(touched, p.name)
		held := kit.Held(d.w.page)[id]
		d.win.Canvas().Unfocus()
		away()
		if !d.asked() {
			t.Errorf("%s: %q is lost without a word", p.name, id)
			continue
		}
		if d.focused() != "keep" {
			t.Errorf("%s: the keyboard is on %q", p.name, d.focused())
		}
		d.shows("leave.title")
		d.press(fyne.KeyEscape)
		if d.asked() || kit.Held(d.w.page)[id] != held {
			t.Errorf("%s: what was typed is not kept", p.name)
		}
		d.w.redraw() // as another language would
		away()
		if !d.asked() {
			t.Errorf("%s: drawn anew, the page forgets that %q was touched", p.name, id)
			continue
		}
		page := d.w.page
		d.tap("confirm")
		if d.asked() || d.w.page == page {
			t.Errorf("%s: cannot be left", p.name)
		}
	}
	if len(touched) < 55 {
		t.Errorf("only %d pages have something to fill in: %v", len(touched), touched)
	}
}

// TestLeavingByOtherWays: the rail is no way round the question, and a page that
// lies over another loses nothing of it.
func TestLeavingByOtherWays(t *testing.T) {
	r := smallBook().Apply(household.Changes{Settings: map[string]string{household.SetScale: "200"}})
	d := open(t, newBook(r))
	d.w.show("household")
	d.fill("number-emergency", "mother")
	d.tap("menu", "rail-today")
	if !d.asked() {
		t.Fatal("the list of pages leads away without a word")
	}
	d.tap("keep")
	d.shows("screen.menu")
	d.tap("back")
	d.shows("problem.not-a-number-to-ring")

	d = open(t, newBook(smallBook()))
	for name, leave := range map[string]func(){"F2": func() { d.press(fyne.KeyF2) }, "the rail": func() { d.tap("rail-timeline") }, "F1": func() { d.press(fyne.KeyF1) }} {
		d.w.show("household")
		d.fill("number-emergency", "mother")
		leave()
		if !d.asked() {
			t.Fatalf("%s leads away without a word", name)
		}
		d.tap("confirm")
		if d.asked() || d.w.at == "household" {
			t.Errorf("%s: not left", name)
		}
		d.w.show("household")
		d.hides("kit.said", "text", "mother")
	}

	closed := 0
	d.w.Leaving(func() { closed++ })
	d.w.show("supplies")
	d.tap("add-pack")
	d.fill("label", "Hall tub")
	d.press(fyne.KeyF1)
	d.w.Leaving(func() { closed++ })
	if closed != 1 || !d.asked() {
		t.Errorf("closed %d times", closed)
	}
	d.settle()
	d.tap("keep")
	d.press(fyne.KeyEscape)
	d.shows("kit.said", "text", "Hall tub")
	d.press(fyne.KeyEscape)
	if !d.asked() {
		t.Error("after a look at the help the page forgets that something was typed")
	}
}

// TestHalfADateOutlivesARedraw: and the help, which lies over the page.
func TestHalfADateOutlivesARedraw(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.w.show("supplies")
	d.tap("add-pack")
	d.fill("use-by-year", "203")
	d.w.redraw()
	d.settle()
	d.press(fyne.KeyF1, fyne.KeyEscape)
	d.shows("kit.said", "text", "203")
	d.press(fyne.KeyEscape)
	if !d.asked() {
		t.Error("half a date is lost without a word")
	}
}

// TestFeelingIsNotLost: what was said of a part of the body belongs to the page
// that saves it.
func TestFeelingIsNotLost(t *testing.T) {
	d := open(t, newBook(smallBook()))
	d.w.open(d.w.feel(d.book.records().Book.Persons[0]))
	d.settle()
	d.tap("area-urine")
	d.touch()
	d.press(fyne.KeyEscape)
	if d.asked() {
		t.Fatal("one part of the page asks")
	}
	d.press(fyne.KeyEscape)
	if !d.asked() {
		t.Error("how somebody feels is lost without a word")
	}
	d.tap("keep", "save")
	if d.asked() || d.w.task != nil {
		t.Error("not saved")
	}
}

// TestSavedIsLeftAtOnce: nothing is asked after saving, nor when a doubt about
// it was answered; but going from the doubt back to the form still counts.
func TestSavedIsLeftAtOnce(t *testing.T) {
	r := fullBook()
	d := open(t, newBook(r))
	d.w.open(d.w.weight(r.Book.Persons[0]))
	d.settle()
	d.fill("weight", "200")
	d.tap("save")
	if !d.has("answer-look") {
		t.Fatalf("no doubt is asked: %v", d.ids())
	}
	d.tap("answer-look")
	d.press(fyne.KeyEscape)
	if !d.asked() {
		t.Error("the number is lost without a word")
	}
	d.tap("keep", "save", "answer-yes")
	if d.asked() || d.w.task != nil {
		t.Error("something is asked after saving")
	}
}

// TestNumbersToRing: each is saved when its box is left, however it is left;
// what cannot be rung never is.
func TestNumbersToRing(t *testing.T) {
	for _, c := range []struct {
		typed string
		ok    bool
	}{{"112", true}, {"0555 0100", true}, {"+49 (0) 555-0100 ext 7", true}, {"१०८", true}, {"", true}, {"call Maria", false}, {"7", false}, {" ext. 7 ", false}} {
		d := open(t, newBook(smallBook().Apply(household.Changes{Settings: map[string]string{household.SetClinic: "0555 0199"}})))
		d.press(fyne.KeyF6)
		d.fill("number-clinic", c.typed)
		if got := d.book.records().Settings[household.SetClinic]; got != "0555 0199" {
			t.Errorf("%q: saved while it was typed", c.typed)
		}
		d.to("number-out-of-hours")
		want := strings.TrimSpace(c.typed)
		if !c.ok {
			want = "0555 0199"
			d.shows("problem.not-a-number-to-ring")
		} else {
			d.hides("problem.not-a-number-to-ring")
		}
		if got := d.book.records().Settings[household.SetClinic]; got != want {
			t.Errorf("%q: kept %q", c.typed, got)
		}
		d.press(fyne.KeyF2)
		if d.asked() == c.ok {
			t.Errorf("%q: asked: %v", c.typed, d.asked())
		}
	}

	d := open(t, newBook(smallBook()))
	d.press(fyne.KeyF6)
	d.fill("number-emergency", "112")
	d.press(fyne.KeyF2) // straight from the box
	if got := d.book.records().Settings[household.SetEmergency]; d.asked() || got != "112" {
		t.Errorf("kept %q", got)
	}
}

// TestWelcomeLeadsBack: every step of the first start, and with what was typed.
func TestWelcomeLeadsBack(t *testing.T) {
	d := open(t, newBook(household.Records{}))
	d.tap("next")
	d.fill("name", "Anna")
	d.fill("birth-year", "1849")
	d.press(fyne.KeyEscape)
	d.shows("welcome.title")
	d.tap("next")
	d.shows("kit.said", "text", "Anna")
	d.fill("birth-day", "9")
	d.tap("birth-month", "birth-month-3")
	d.fill("birth-year", "1949")
	d.tap("next")
	d.shows("welcome.conditions", "name", "Anna")
	d.tap("back")
	d.shows("welcome.who")
	if d.has("delete-person") {
		t.Error("somebody can be deleted at the first start")
	}
	d.fill("birth-year", "1948")
	d.book.pass(time.Minute)
	d.tap("next", "next")
	d.shows("welcome.numbers")
	d.tap("back")
	d.shows("welcome.conditions", "name", "Anna")
	d.tap("next")
	d.fill("number-clinic", "Maria")
	d.tap("finish")
	d.shows("problem.not-a-number-to-ring")
	d.fill("number-clinic", "0555 0100")
	d.tap("finish")
	if ms := d.book.State().Members; len(ms) != 1 || ms[0].Facts.Birth.String() != "1948-03-09" {
		t.Errorf("kept %+v", ms)
	}

	d = open(t, newBook(household.Records{}))
	d.tap("next")
	d.fill("name", "Anna")
	d.tap("skip")
	if !d.asked() {
		t.Error("a name is lost by skipping, without a word")
	}
}

// TestSavedGoesWithItsPage: the bar never stays over the next page or step,
// and nowhere before what calls for a doctor.
func TestSavedGoesWithItsPage(t *testing.T) {
	d := open(t, newBook(household.Records{}))
	d.tap("next")
	d.fill("name", "Anna")
	d.tap("next", "switch-diabetes", "long-ago")
	d.shows("welcome.conditions", "name", "Anna")
	if !d.has("undo") {
		t.Error("what was saved cannot be taken back")
	}
	d.tap("next")
	d.shows("welcome.numbers")
	if d.has("undo") || d.has("close-notice") {
		t.Error("the bar of the page before stands over the next")
	}

	d = open(t, newBook(smallBook()))
	d.tap("start-test")
	if d.has("add-pack") {
		d.tap("add-pack")
	} else {
		d.w.open(d.w.editPack(model.Pack{}))
		d.settle()
	}
	d.fill("label", "Hall tub")
	d.tap("save")
	d.shows("done.saved")
	d.tap("next")
	if d.has("undo") || d.has("close-notice") {
		t.Error("the bar stands over the strip test")
	}
}

// TestResultHasNoBar: the way back from a saved test stands after all else.
func TestResultHasNoBar(t *testing.T) {
	r := fullBook()
	d := open(t, newBook(r))
	rosa := r.Book.Persons[0]
	g := &guided{w: d.w, person: rosa, draft: strip.Draft{Person: rosa.ID, Step: stepReview, Dipped: morning, How: model.ReadAtTone,
		Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
	g.choosePack(withoutPack)
	row := g.kind.Chart.Rows[0]
	g.draft.Values[row.Pad] = row.Value(1)
	d.w.open(g.view)
	d.settle()
	d.tap("save")
	if d.has("close-notice") || !d.has("undo") {
		t.Error("no way back, or a bar")
	}
	nodes := kittest.Nodes(d.win.Canvas())
	at := func(id string) kit.Box {
		i := slices.IndexFunc(nodes, func(n *kit.Node) bool {
			target, ok := kit.Target(n.Object)
			return ok && target.ID == id
		})
		if i < 0 {
			t.Fatalf("no %q", id)
		}
		return nodes[i].Box
	}
	for _, n := range nodes {
		if target, ok := kit.Target(n.Object); ok && strings.HasPrefix(target.ID, "answer-") && n.Box.Y > at("undo").Y {
			t.Errorf("%s stands after the way back", target.ID)
		}
	}
	d.tap("undo")
	d.shows("done.undone")
}

// TestSinceWhen: nothing is filled in for anybody; what has lasted for years
// counts for all that is on record, and says that nobody knows since when.
func TestSinceWhen(t *testing.T) {
	for name, save := range map[string]func(*desk){
		"left empty": func(d *desk) { d.tap("save") },
		"one tap":    func(d *desk) { d.tap("long-ago") },
	} {
		d := open(t, newBook(smallBook()))
		d.press(fyne.KeyF6)
		d.tap("person-Anna", "switch-diabetes")
		for id, value := range kit.Held(d.w.page) {
			if value != "" && value != "false" {
				t.Errorf("%s: %s holds %q", name, id, value)
			}
		}
		save(d)
		e := d.book.records().Book.Entries[len(d.book.records().Book.Entries)-1]
		for _, o := range d.book.records().Book.Entries {
			if o.Kind == model.Condition {
				e = o
			}
		}
		if v := e.Values[0]; v.Code != "diabetes" || v.Word != "start" || v.Note == "" || e.When.After(morning.AddDate(-20, 0, 0)) {
			t.Errorf("%s: kept %+v", name, e)
		}
		d.shows("person.on-long")
		d.tap("switch-diabetes")
		d.tap("save")
		d.shows("kit.date-incomplete") // an end is not left open
	}
	for _, c := range []string{"pregnancy", "acute-illness"} {
		d := open(t, newBook(smallBook()))
		it, _ := model.Find(model.Condition, model.Code(c))
		d.w.open(d.w.turnSwitch(d.book.records().Book.Persons[0], it, false))
		d.settle()
		if d.has("long-ago") {
			t.Errorf("%s may begin long ago", c)
		}
		d.tap("save")
		d.shows("kit.date-incomplete")
	}
}

// TestWhatUnfoldsIsSeen: the months open in view, and the boxes of the date stay
// beside each other as they were. In the largest type, two languages of twelve
// months leave no room for the box they opened from.
func TestWhatUnfoldsIsSeen(t *testing.T) {
	for _, scale := range []string{"100", "200"} {
		r := smallBook().Apply(household.Changes{Settings: map[string]string{household.SetScale: scale}})
		d := open(t, newBook(r))
		d.w.show("supplies")
		d.tap("add-pack")
		box := func(id string) kit.Box {
			b, ok := boxOf(d.win.Canvas(), id)
			if !ok {
				t.Fatalf("no %q", id)
			}
			return b
		}
		before := box("opened-year").Y - box("opened-month").Y
		d.tap("opened-month")
		if after := box("opened-year").Y - box("opened-month").Y; after != before {
			t.Errorf("%s: the year stood %v below the month, and now %v", scale, before, after)
		}
		for _, l := range kit.Probe(d.win.Canvas(), "") {
			if l.Hidden && (l.ID == "opened-month" && scale == "100" || l.ID == "opened-month-1" || l.ID == "opened-month-12") {
				t.Errorf("%s: %s is out of sight: %+v", scale, l.ID, l)
			}
		}
	}
}

// TestKeyboardAtTheWrongBox: of a date.
func TestKeyboardAtTheWrongBox(t *testing.T) {
	for _, c := range []struct{ day, month, year, want string }{
		{"9", "birth-month-3", "2149", "birth-year"},
		{"9", "birth-month-3", "1749", "birth-year"},
		{"9", "birth-month-3", "49", "birth-year"},
		{"9", "birth-month-3", "", "birth-year"},
		{"31", "birth-month-2", "1949", "birth-day"},
		{"9", "", "1949", "birth-month"},
		{"", "birth-month-3", "1949", "birth-day"},
		{"9", "birth-month-12", "2025", "birth-month"},
		{"9", "birth-month-8", "2025", "birth-day"},
	} {
		d := open(t, newBook(smallBook()))
		d.press(fyne.KeyF6)
		d.tap("add-person")
		d.fill("name", "Emil")
		d.fill("birth-day", c.day)
		if c.month != "" {
			d.tap("birth-month", c.month)
		}
		d.fill("birth-year", c.year)
		d.tap("save")
		if d.focused() != c.want {
			t.Errorf("%+v: the keyboard is on %q", c, d.focused())
		}
	}
	d := open(t, newBook(smallBook()))
	d.press(fyne.KeyF6)
	d.tap("add-person")
	d.fill("name", "Emil")
	d.fill("birth-day", "9")
	d.tap("birth-month", "birth-month-3")
	d.fill("birth-year", "2149")
	d.tap("save")
	d.shows("problem.in-the-future")
	d.fill("birth-year", "1949")
	d.hides("problem.in-the-future")
}

// A pregnancy may be entered by its due date, from which its weeks are counted
// back; the note says so.
func TestPregnancyByDueDate(t *testing.T) {
	for due, want := range map[[3]string]string{
		{"25", "12", "2025"}: "2025-03-20", // 40 weeks from a period that began on 20 March
		{"15", "7", "2025"}:  "2024-10-08", // three weeks over
		{"6", "7", "2025"}:   "",
		{"25", "12", "2026"}: "",
	} {
		d := open(t, newBook(smallBook()))
		it, _ := model.Find(model.Condition, "pregnancy")
		d.w.open(d.w.turnSwitch(d.book.records().Book.Persons[0], it, false))
		d.settle()
		d.tap("pregnancy-day-due")
		d.shows("person.pregnancy-due")
		d.fill("when-day", due[0])
		d.tap("when-month", "when-month-"+due[1])
		d.fill("when-year", due[2])
		d.tap("save")
		got := ""
		for _, e := range d.book.records().Book.Entries {
			if e.Kind == model.Condition {
				got = e.When.String()
				if e.Values[0].Note == "" {
					t.Errorf("due %v: no note says how the day was found", due)
				}
			}
		}
		if got != want {
			t.Errorf("due %v: since %q, want %q", due, got, want)
		}
		if want == "" {
			d.shows("person.pregnancy-due-wrong")
		}
	}
}
