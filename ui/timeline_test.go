package ui

import (
	"bytes"
	"image/png"
	"regexp"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/timeline"
)

// window is what the open timeline shows.
func (d *desk) window() (from, to time.Time) {
	m, _ := d.w.member()
	return d.w.span.Window(d.w.firstOf(m), d.book.wall)
}

// By keys alone: nearer, wider, back and forth in time, to findings, the list
// alone and everything again.
func TestTimelineByKeys(t *testing.T) {
	d := open(t, newBook(demoBook()))
	rosa := personCalled(demoBook(), "Rosa")
	d.w.person = rosa.ID
	d.press(fyne.KeyF3)
	d.w.win.Canvas().Unfocus()
	d.shows("timeline.picture")
	from, to := d.window()
	d.press(fyne.KeyLeft)
	if f, e := d.window(); !f.Before(from) || !e.Before(to) {
		t.Errorf("back in time shows %v to %v, it was %v to %v", f, e, from, to)
	}
	d.press(fyne.KeyHome)
	if f, e := d.window(); !f.Equal(from) || !e.Equal(to) {
		t.Errorf("at the end there is %v to %v, it was %v to %v", f, e, from, to)
	}
	for _, want := range []timeline.Zoom{timeline.Month, timeline.Week, timeline.OneDay, timeline.OneDay} {
		if d.press(fyne.KeyPlus); d.w.span.Zoom != want {
			t.Errorf("nearer is %s, want %s", d.w.span.Zoom, want)
		}
	}
	day, _ := d.window()
	d.hides("timeline.from-to", "from", model.OnDay(day), "to", model.OnDay(day))
	for _, want := range []timeline.Zoom{timeline.Week, timeline.Month, timeline.Quarter, timeline.Year, timeline.All, timeline.All} {
		if d.press(fyne.KeyMinus); d.w.span.Zoom != want {
			t.Errorf("wider is %s, want %s", d.w.span.Zoom, want)
		}
	}
	if d.has("earlier") {
		t.Error("all is shown, and something earlier is offered")
	}
	m, _ := d.w.member()
	flags := timeline.Flags(m.Result)
	var seen []time.Time
	for range flags {
		before := d.w.span.chosen
		if d.press(fyne.KeyP); d.w.span.chosen == before {
			break
		}
		from, to := d.window()
		if at := d.w.span.chosen.Time(); at.Before(from) || at.After(to.AddDate(0, 0, 1)) {
			t.Errorf("the finding of %v is not between %v and %v", at, from, to)
		}
		seen = append(seen, d.w.span.chosen.Time())
	}
	if len(seen) < 2 || !seen[len(seen)-1].Equal(flags[0].Since.Time()) {
		t.Errorf("jumped to %v of %d findings", seen, len(flags))
	}
	if d.press(fyne.KeyN); !d.w.span.chosen.Time().Equal(seen[len(seen)-2]) {
		t.Errorf("forth again is %v, want %v", d.w.span.chosen.Time(), seen[len(seen)-2])
	}
	d.press(fyne.KeyL)
	d.hides("timeline.picture")
	d.shows("timeline.list")
	d.press(fyne.KeyL)
	d.shows("timeline.picture")
}

// What was put away is gone from the picture, stays in the list, and is there
// again after a restart only if somebody wants it.
func TestTimelineLanes(t *testing.T) {
	b := newBook(demoBook())
	d := open(t, b)
	rosa := personCalled(demoBook(), "Rosa")
	d.w.person = rosa.ID
	d.w.show("timeline")
	d.settle()
	weight := d.w.words.Name(model.Vital, "weight")
	sodium := "lane-lab/sodium"
	shown := func(name string) bool { return strings.Contains(d.alt(), name) }
	if !shown(weight) || shown(d.w.words.Name(model.Lab, "sodium")) {
		t.Errorf("at first there is: %s", d.alt())
	}
	d.tap("span-all", "lanes", "lane-vital/weight", sodium, "back")
	if shown(weight) || !shown(d.w.words.Name(model.Lab, "sodium")) {
		t.Errorf("after choosing there is: %s", d.alt())
	}
	d.tap("lanes")
	for _, id := range strings.Fields(b.records().Settings[household.SetHidden]) {
		if d.has("lane-" + id) {
			d.tap("lane-" + id)
		}
	}
	d.tap("back")
	if !shown(weight) || d.w.hidden("lab/sodium") || !d.w.hidden("lab/hba1c") && !strings.Contains(d.alt(), d.w.words.Name(model.Lab, "hba1c")) {
		t.Errorf("with everything shown there is: %s", d.alt())
	}
}

// alt is what is said of the picture, under it.
func (d *desk) alt() string {
	for _, l := range strings.Split(d.text(), "\n") {
		if strings.Contains(l, d.w.words.Name(model.Lab, "egfr")) {
			return l
		}
	}
	return ""
}

// In a language nobody has checked what calls for a doctor stands there in
// English too, until somebody does not want it.
func TestSourceBeneath(t *testing.T) {
	r := demoBook()
	r.Settings[household.SetLanguage] = "es"
	b := newBook(r)
	d := open(t, b)
	rosa := personCalled(r, "Rosa")
	m, _ := d.w.house.State().Member(rosa.ID)
	f := m.Result.Open[0]
	english, err := i18n.New("en", "")
	if err != nil {
		t.Fatal(err)
	}
	d.w.open(d.w.oneFinding(f))
	d.settle()
	if text := d.text(); !strings.Contains(text, d.w.words.T(f.Title)) || !strings.Contains(text, english.T(f.Title)) || !strings.Contains(text, english.T(f.Do)) {
		t.Errorf("the finding does not stand there in both: %s", text)
	}
	d.w.close()
	d.w.show("household")
	d.settle()
	d.tap("source")
	if b.records().Settings[household.SetSource] != "no" {
		t.Error("it cannot be turned off")
	}
	d.w.open(d.w.oneFinding(f))
	d.settle()
	if strings.Contains(d.text(), english.T(f.Title)) {
		t.Error("it is still there in English")
	}
	d.w.close()
	d.tap("second-en") // two languages have it anyway
	if d.has("source") {
		t.Error("with English as the second language it is still asked")
	}
}

// A picture is kept as it would look on paper, whatever the screen looks like.
func TestSaveChart(t *testing.T) {
	r := demoBook()
	r.Settings[household.SetInk] = "dark"
	b := newBook(r)
	d := open(t, b)
	d.w.person = personCalled(r, "Rosa").ID
	d.w.show("timeline")
	d.settle()
	d.tap("pads-save")
	d.shows("kit.chart-saved", "path", "/home/rosa/Documents/sheets/timeline.png")
	saved := b.charts["timeline"]
	img, err := png.Decode(bytes.NewReader(saved[0]))
	if err != nil {
		t.Fatal(err)
	}
	if red, _, _, _ := img.At(3, 3).RGBA(); red < 0xf000 {
		t.Errorf("its ground is %v", img.At(3, 3))
	}
	if !bytes.Contains(saved[1], []byte("<svg")) || !bytes.Contains(saved[1], []byte(d.w.words.T(model.T("screen.timeline")))) {
		t.Errorf("the drawing begins %.200s", saved[1])
	}
	b.unkept = told{model.T("trouble.disk-full")}
	d.tap("pads-save")
	d.shows("trouble.disk-full")
	b.unkept = nil
	d.w.show("numbers")
	d.settle()
	if d.tap("egfr-save"); len(b.charts) != 2 {
		t.Error("the course of the kidneys is not kept")
	}
}

// Away from the page a picture says itself whose it is, from when, and when it was
// made, in every language shown.
func TestASavedChartSaysWhose(t *testing.T) {
	r := demoBook()
	r.Settings[household.SetSecond] = "es"
	b := newBook(r)
	d := open(t, b)
	rosa := personCalled(r, "Rosa")
	d.w.person = rosa.ID
	d.w.show("timeline")
	d.settle()
	d.tap("pads-save")
	d.w.show("numbers")
	d.settle()
	d.tap("egfr-save")
	d.tap("grid-save")
	from, to := d.window()
	period := func(p *i18n.Pair) string {
		return p.T(model.T("timeline.from-to", "from", model.OnDay(from), "to", model.OnDay(to)))
	}
	es, _ := i18n.New("es", "")
	for id, want := range map[string][]string{
		"timeline": {"Timeline · " + rosa.Name, period(d.w.words), "Made on 6 August 2025", period(es), es.T(model.T("timeline.made", "when", model.OnDay(b.wall)))},
		"egfr":     {rosa.Name, " to 6 August 2025", "Made on 6 August 2025"},
		"grid":     {rosa.Name, "Made on 6 August 2025"},
	} {
		said := strings.Join(strings.Fields(texts.ReplaceAllString(string(b.charts[id][1]), " ")), " ")
		for _, w := range want {
			if !strings.Contains(said, w) {
				t.Errorf("%s does not say %q; it says %s", id, w, said)
			}
		}
	}
}

var texts = regexp.MustCompile(`<[^>]*>`)

// The wheel with Control held leaves the moment under the pointer in its place.
func TestTheWheelZoomsAboutThePointer(t *testing.T) {
	d := open(t, newBook(demoBook()))
	d.w.person = personCalled(demoBook(), "Rosa").ID
	d.w.show("timeline")
	d.settle()
	m, _ := d.w.member()
	moment := func(x float32) time.Time {
		from, to := d.window()
		at, ok := d.w.placeIn(d.w.lanes(m, from, to, model.When{}), x, 0.5)
		if !ok {
			t.Fatal("the pointer is beside the plot")
		}
		return at.When
	}
	const x = 0.45
	was := moment(x)
	for range 2 {
		from, to := d.window()
		d.w.wheelOn(d.w.lanes(m, from, to, model.When{}), true, 1, x, 0.5)
		d.settle()
		if off := moment(x).Sub(was).Hours() / 24; off < -1 || off > 1 {
			t.Fatalf("%s: %.1f days lie between what was under the pointer and what is", d.w.span.Zoom, off)
		}
	}
	if d.w.span.Zoom != timeline.Week {
		t.Errorf("it shows a %s", d.w.span.Zoom)
	}
}

// reader notes what a voice is given.
type reader struct {
	said    []string
	stopped int
}

func (v *reader) Say(text, lang string) { v.said = append(v.said, lang+": "+text) }
func (v *reader) Stop()                 { v.stopped++ }

// Nothing is read aloud unless somebody wants it; then each page's main message
// and each line of the running test, in the first language.
func TestAloud(t *testing.T) {
	v := &reader{}
	b := newBook(demoBook())
	d := openAs(t, b, Options{Machine: "en", Voice: v})
	d.w.show("supplies")
	if len(v.said) > 0 {
		t.Fatalf("unasked it said %v", v.said)
	}
	d.press(fyne.KeyF8)
	if len(v.said) != 1 || !strings.HasPrefix(v.said[0], "en: Supplies") || !strings.Contains(v.said[0], d.w.words.T(model.T("supplies.kinds-help"))) {
		t.Fatalf("asked it said %v", v.said)
	}
	if d.press(fyne.KeyF8); v.stopped == 0 || len(v.said) != 1 {
		t.Error("asked again it does not stop")
	}
	d.w.show("household")
	d.settle()
	d.tap("aloud")
	v.said = nil
	d.w.show("help")
	if len(v.said) != 1 || !strings.HasPrefix(v.said[0], "en: Help") || len(v.said[0]) > 900 {
		t.Errorf("the help page is read as %v", v.said)
	}
	v.said = nil
	d.w.redraw()
	if len(v.said) > 0 {
		t.Errorf("the same page is read again: %v", v.said)
	}
	d.w.turn(d.w.practice(b.records().Book.Persons[0]))
	d.settle()
	d.tap("next", "next")
	v.said = nil
	d.press(fyne.KeySpace)
	d.wait(2 * time.Second)
	if want := "en: " + d.w.words.T(model.T("guided.wait")); len(v.said) == 0 || v.said[len(v.said)-1] != want {
		t.Errorf("the running test says %v", v.said)
	}
}

// The help is searched by any word of it, in either language.
func TestHelpSearch(t *testing.T) {
	r := demoBook()
	r.Settings[household.SetSecond] = "es"
	d := open(t, newBook(r))
	d.press(fyne.KeyF1)
	all := 0
	for _, p := range helpPages() {
		if d.has("help-" + p.id) {
			all++
		}
	}
	if all != len(helpPages()) {
		t.Errorf("%d of %d questions are listed", all, len(helpPages()))
	}
	d.shows("help.safety.p1")
	d.fill("search", "Vitamina")
	if !d.has("help-caution") || d.has("help-keys") {
		t.Errorf("of vitamin C speak %v", d.ids())
	}
	d.fill("search", "xyzzy")
	d.shows("help.search-none")
	for typed, id := range map[string]string{"potassium": "help-labs", "nitrite": "help-test", "export": "help-files"} {
		if d.fill("search", typed); !d.has(id) {
			t.Errorf("%q finds %v", typed, d.ids())
		}
	}
	for typed, id := range map[string]string{"chest pain": "symptom-chest-pain", "my urine is foamy": "symptom-foamy-urine", "dolor en el pecho": "symptom-chest-pain"} {
		if d.fill("search", typed); !d.has(id) {
			t.Errorf("%q finds %v", typed, d.ids())
		}
	}
	d.fill("search", "what means TRACE xyzzy")
	if !d.has("help-trace") || d.has("help-licence") {
		t.Errorf("of most of the words speak %v", d.ids())
	}
	d.fill("search", "TRACE mean")
	d.tap("help-trace")
	d.shows("help.trace.p3")
	s, _ := model.FindSource("sumida2020")
	if !strings.Contains(d.text(), s.Citation) {
		t.Error("its source is not named")
	}
	d.press(fyne.KeyEscape)
	d.shows("help.safety.p1")
	for _, p := range helpPages() {
		for _, id := range p.sources {
			if _, ok := model.FindSource(id); !ok {
				t.Errorf("%s: no source %s", p.id, id)
			}
		}
	}
}

// Help says which version this is and leads to the licences of all in it.
func TestLicences(t *testing.T) {
	d := openAs(t, newBook(demoBook()), Options{Machine: "en", Version: "1.2.3"})
	d.press(fyne.KeyF1)
	d.shows("help.version", "version", "1.2.3")
	d.tap("help-licence")
	d.tap("licences")
	d.shows("help.licences.note")
	d.tap("licence-0")
	if !strings.Contains(d.text(), "SIL OPEN FONT LICENSE Version 1.1") {
		t.Error("the licence of the typeface is not shown")
	}
	d.press(fyne.KeyEscape)
	d.shows("help.licences.note")
}

// What changed around a finding lists two weeks on either side, of everything.
func TestTimelineAround(t *testing.T) {
	d := open(t, newBook(demoBook()))
	rosa := personCalled(demoBook(), "Rosa")
	m, _ := d.w.house.State().Member(rosa.ID)
	f := m.Result.Open[0]
	d.w.open(d.w.oneFinding(f))
	d.settle()
	d.tap("around")
	d.shows("timeline.around-how", "n", aroundDays, "when", f.Since)
	day := f.Since.DayIn(morning.Location())
	for _, dd := range timeline.Days([]finding.Result{m.Result}, day.AddDate(0, 0, -aroundDays), day.AddDate(0, 0, aroundDays)) {
		if name := d.w.words.Date(model.OnDay(dd.Date)); !strings.Contains(d.text(), name) {
			t.Errorf("%s is not listed", name)
		}
	}
	d.tap("back", "back")
}

func TestSearched(t *testing.T) {
	for a, b := range map[string]string{"İdrar": "idrar", "IDRAR": "ıdrar", "Éclat": "éclat", "尿 pH": "尿 ph"} {
		if searched(a) != searched(b) {
			t.Errorf("%q is searched as %q, %q as %q", a, searched(a), b, searched(b))
		}
	}
}

// Below the picture the list of busy days ends early, and one button has all of
// it; what is left out is never without a word.
func TestTheListBelowThePictureEndsEarly(t *testing.T) {
	d := open(t, newBook(busyYears(1)))
	rows := func() (n int) {
		for _, id := range d.ids() {
			if strings.HasPrefix(id, "entry-") {
				n++
			}
		}
		return n
	}
	d.w.show("timeline")
	d.w.see(timeline.View{Zoom: timeline.Week})
	d.settle()
	few := rows()
	if few == 0 || few > besidePicture {
		t.Errorf("%d lines stand below the picture", few)
	}
	d.tap("list-all")
	if all := rows(); all < 5*30 || d.has("list-all") {
		t.Errorf("%d lines are all of a week, 30 a day", all)
	}
}
