package ui

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// screen is one page of the rail.
type screen struct {
	id      string
	picture string // in assets
	key     fyne.KeyName
	draw    func(*Window) view
}

// screens is the rail, in order.
func screens() []screen {
	return []screen{
		{"today", "today", fyne.KeyF2, (*Window).today},
		{"timeline", "timeline", fyne.KeyF3, (*Window).timeline},
		{"numbers", "numbers", fyne.KeyF4, (*Window).numbersPage},
		{"supplies", "supplies", fyne.KeyF5, (*Window).supplies},
		{"doctor", "doctor", fyne.KeyF7, (*Window).doctor},
		{"household", "household", fyne.KeyF6, (*Window).household},
		{"help", "help", fyne.KeyF1, (*Window).help},
	}
}

// action is a button before kit makes it.
type action struct {
	id    string
	label model.Msg
	do    func()
}

// view is a page before kit frames it.
type view struct {
	title model.Msg
	whose *model.Person // whose data the page shows; nil for the household's
	body  []fyne.CanvasObject
	fixed fyne.CanvasObject // stays above what scrolls; nil for nothing
	back  *action
	main  *action // the one main button
	aside *action // another way on from here, beside the main button
	focus fyne.Focusable
	// focusID takes the focus by its name where focus is nil.
	focusID string
	kept    bool                    // what is typed here is kept as a draft: leaving loses nothing
	part    bool                    // what is typed here belongs to the page under it, which saves it
	result  bool                    // what something calls for: no bar may stand before it
	busy    bool                    // a clock runs: nothing may lead away by accident
	bare    bool                    // no curtain may hide it
	awake   bool                    // none hides it by itself
	keys    map[fyne.KeyName]func() // the page's own, without focus
	enter   func()                  // called once the page is on screen
	leave   func()                  // called when another page opens
	dropped func(path string)       // takes a file dropped onto the page
}

// spot is a page that was left for one that lies over it.
type spot struct {
	task    func() view
	page    *kit.Page // as it was left; nil for none
	held    map[string]string
	unsaved bool // as of [Window]
	changed bool // leaving it for good would lose something
}

// Window is the one window of a household.
type Window struct {
	win   fyne.Window
	house Household
	sound Sound
	apply func(fyne.Theme) // sets the theme of the whole program
	probe func(screen string)
	pulse func(stop chan struct{}, tick func()) // what a running test is driven by
	// beside does work beside the window's own, and then what follows it.
	beside func(work, then func())
	words  *i18n.Pair
	kit    *kit.Kit
	safe   *kit.Kit // for what calls for a doctor: see [Window.dress]
	look   kit.Look
	echoes *kit.Echoes
	mono   func() time.Duration // the clock that never jumps
	forced Options

	at    string      // id of the open page of the rail
	task  func() view // a page opened over the rail's; nil for none
	trail []spot
	page  *kit.Page
	view  view // what the page was framed from
	// held is what the fields of the page held when it was opened, or saved last;
	// unsaved is what a page before it in the same task leaves to be saved.
	held    map[string]string
	unsaved bool
	leave   func()
	// dropped takes a file dropped onto the open page; nil where it has no use
	// for one.
	dropped    func(path string)
	notice     *notice
	thumbnails map[model.ID]*fyne.Container // small pictures in the list of days; empty where there is none, or not yet
	shrunk     shrunk
	chosen     struct { // the record decided last, of those that stand in two forms
		key string
		at  time.Duration
	}
	// focusNext names what takes the focus at the next redraw.
	focusNext string
	person    model.ID // whose page Today and Timeline show
	span      timelineView
	typed     map[string]string     // settings typed and not yet kept
	typedInto map[string]*kit.Field // their boxes
	tested    *tested               // the test saved last
	sheets    map[model.ID]*labForm // laboratory sheets begun and not yet kept
	sheet     *keptSheet            // the sheet saved last
	searched  string                // in the help
	speaking  bool                  // the page is being read aloud because somebody asked
	yearsBack int                   // how far the courses of the kidney numbers go back; 0 is all
	curtain   *kit.Curtain          // hides the window; nil for none
	idle      idleness
	pageFor   *household.DoctorPage // how the page for the doctor is asked for in a book that can only be read; else nil
}

// tested is a saved test with the draft it came from. A book keeps no drafts
// for undo, and what was read must not be lost with the test.
type tested struct {
	entry model.ID
	draft strip.Draft
}

// notice is what the bar above the buttons says until it is closed. It belongs
// to the page that is drawn first after it was said, and goes with that page;
// but what went wrong stays.
type notice struct {
	say    model.Msg
	undo   bool
	failed bool
	shown  bool // a page has it
}

// Options are what the command line may fix for this run.
type Options struct {
	Language string // BCP 47; "" takes the book's or the machine's
	Machine  string // the machine's language
	Large    bool   // 200 % whatever the book says
	Voice    Voice  // nil where the system has none
	Version  string // the program's; "" is not told
	Demo     bool
	// Return goes back to the choice of a safe copy from one that is looked at; nil
	// for none.
	Return func()
	// Probe is called after each redraw with the screen's id; nil for none.
	Probe func(screen string)
}

// New fills win with the household's pages and opens the first.
func New(win fyne.Window, h Household, s Sound, apply func(fyne.Theme), o Options) *Window {
	w := &Window{win: win, house: h, sound: s, apply: apply, probe: o.Probe, pulse: pulse, beside: beside, forced: o, at: "today", span: newestQuarter, typed: map[string]string{}, thumbnails: map[model.ID]*fyne.Container{},
		yearsBack: 5}
	w.mono = func() time.Duration { return w.house.Tick().Mono }
	w.echoes = kit.NewEchoes(func() time.Duration { return w.mono() })
	w.dress()
	w.sheets = sheetsBegun(h.State())
	kit.Keys(win.Canvas(), w.echoes)
	w.shortcuts()
	st := h.State()
	if len(st.Members) == 0 && st.Records.Settings[household.SetWelcomed] == "" && h.ReadOnly().IsZero() {
		w.open(w.welcome())
	} else {
		w.redraw()
	}
	return w
}

// dress takes languages, size and look from the settings.
func (w *Window) dress() {
	set := w.house.State().Records.Settings
	first, second := set[household.SetLanguage], set[household.SetSecond]
	if w.forced.Language != "" {
		first = w.forced.Language
	}
	if first == "" {
		first = w.forced.Machine
	}
	words, err := i18n.New(first, second)
	if err != nil {
		words, _ = i18n.New("en", "")
	}
	w.words = words
	w.look = kit.Look{Scale: float32(w.house.State().Records.Scale()) / 100, Ink: inkOf(set[household.SetInk])}
	clear(w.thumbnails) // they have the old size
	own := model.T("language.name")
	w.look.Chinese = i18n.Chinese(words.T(own) + words.T2(own))
	if w.forced.Large {
		w.look.Scale = 2
	}
	w.kit = kit.New(w.words, w.look).Heeding(w.echoes)
	w.safe = w.kit
	if w.unsure() && set[household.SetSource] != "no" {
		// Nobody who knows medicine has read these texts in this language: what calls
		// for a doctor stands there as it was written, too.
		if both, err := i18n.New(words.First(), i18n.Languages()[0].Tag); err == nil {
			w.safe = kit.New(both, w.look).Heeding(w.echoes)
		}
	}
	w.apply(kit.NewTheme(w.look))
	if w.sound != nil {
		w.sound.SetMuted(set[household.SetMuted] == "yes")
	}
}

// unsure reports that only one language is shown, and nobody has checked it.
func (w *Window) unsure() bool {
	for _, l := range i18n.Languages()[1:] {
		if l.Tag == w.words.First() {
			return l.Checked == "" && w.words.Second() == ""
		}
	}
	return false
}

// open shows a task page over the rail's; close returns to where it was.
func (w *Window) open(task func() view) {
	w.trail = append(w.trail, spot{w.task, w.page, w.held, w.unsaved, w.changed()})
	w.notice, w.unsaved = nil, false
	w.task, w.page = task, nil
	w.redraw()
}

// turn replaces the open task page by the next one of the same task.
func (w *Window) turn(task func() view) {
	w.unsaved = w.changed()
	w.outdate()
	w.task, w.page = task, nil
	w.redraw()
}

// close ends the open task page and shows what was under it.
func (w *Window) close() {
	back := spot{}
	if n := len(w.trail); n > 0 {
		back, w.trail = w.trail[n-1], w.trail[:n-1]
	}
	w.unsaved = back.unsaved || w.view.part && w.changed()
	w.outdate()
	w.task, w.page = back.task, nil
	w.redraw()
	if back.page != nil {
		w.held = back.held
		kit.CarryOver(back.page, w.page)
		if w.notice == nil || back.task != nil || w.at != "today" { // what was saved may have changed what comes first
			w.page.ScrollTo(back.page.Offset())
		}
	}
}

// outdate drops what was said on the page that is left now.
func (w *Window) outdate() {
	if w.notice != nil && w.notice.shown && !w.notice.failed {
		w.notice = nil
	}
}

// show opens a page of the rail, whatever was open, as of now.
func (w *Window) show(id string) {
	w.house.Refresh()
	w.turnTo(id)
}

// turnTo opens a page of the rail as the state is: right after a save it is as
// of now already.
func (w *Window) turnTo(id string) {
	w.task, w.trail, w.at, w.page, w.notice, w.unsaved = nil, nil, id, nil, nil, false
	w.redraw()
}

// Passed draws the open page anew where the time that has passed between two
// states changes what it says: what has come due, or been left too long, shows
// without anybody touching anything. A task is left alone.
func (w *Window) Passed(before, now *household.State) {
	if alarmed(before, now) {
		w.uncover()
	}
	if w.task == nil && !slices.Equal(calls(before), calls(now)) {
		w.redraw()
	}
}

// Say is a message in the window's first language.
func (w *Window) Say(m model.Msg) string { return w.words.T(m) }

// Tell shows a message on the open page.
func (w *Window) Tell(m model.Msg) {
	w.say(m, false)
	w.bar()
}

// calls is what the pages of the rail say of everybody's findings.
func calls(st *household.State) []string {
	var out []string
	for _, m := range st.Members {
		for _, f := range m.Result.Open {
			late := f.Due != nil && st.Now.After(f.Due.To)
			out = append(out, fmt.Sprint(m.Person.ID, f.Rule, f.Variant, f.Urgency, f.Old, late))
		}
	}
	return out
}

func (w *Window) toToday() { w.show("today") }

// redraw draws the open page from the newest state; a page drawn again keeps
// its place.
func (w *Window) redraw() {
	if w.leave != nil {
		leave := w.leave
		w.leave = nil
		leave()
	}
	w.typedInto = nil
	id := w.at
	var v view
	if w.task != nil {
		v = w.task()
		id = "task"
	} else {
		i := slices.IndexFunc(screens(), func(s screen) bool { return s.id == w.at })
		v = screens()[max(0, i)].draw(w)
	}
	w.leave, w.dropped, w.view = v.leave, v.dropped, v
	w.frame(v, id)
	w.remember()
}

// remember keeps whose page is open for the next start. What cannot be kept is
// only the place where that begins: nobody is told.
func (w *Window) remember() {
	st := w.house.State()
	if _, there := st.Member(w.person); there && len(st.Members) > 1 && w.house.ReadOnly().IsZero() && st.Records.Shown() != w.person {
		_ = w.house.Save(household.KeepShown(w.person))
	}
}

// member is whose page is shown: the chosen person, else that of last time, else
// the first.
func (w *Window) member() (household.Member, bool) {
	st := w.house.State()
	for _, id := range []model.ID{w.person, st.Records.Shown()} {
		if m, ok := st.Member(id); ok {
			return m, true
		}
	}
	if len(st.Members) == 0 {
		return household.Member{}, false
	}
	return st.Members[0], true
}

// save keeps changes, says so with the way back, and redraws. It reports
// whether they are safe; when not, the page stays with all that was typed.
func (w *Window) save(c household.Changes) bool {
	if err := w.house.Save(c); err != nil {
		w.fail(err)
		return false
	}
	w.settled()
	w.say(w.savedWords(c), true)
	return true
}

// savedWords say that something was saved, and for whom where it is entries of
// one person.
func (w *Window) savedWords(c household.Changes) model.Msg {
	for _, e := range c.Entries {
		if e.Person != c.Entries[0].Person {
			return model.T("done.saved")
		}
	}
	if len(c.Entries) == 0 {
		return model.T("done.saved")
	}
	return w.savedFor(c.Entries[0].Person)
}

func (w *Window) savedFor(id model.ID) model.Msg {
	m, ok := w.house.State().Member(id)
	if !ok {
		return model.T("done.saved")
	}
	return model.T("done.saved-for", "name", w.called(m.Person))
}

// keep saves without a word: drafts and settings. The way back that is on
// offer would lead elsewhere after it, except after a draft, which undo leaves
// alone.
func (w *Window) keep(c household.Changes) bool {
	if err := w.house.Save(c); err != nil {
		w.fail(err)
		return false
	}
	draft := slices.ContainsFunc(household.Drafts(), func(key string) bool { _, is := c.Settings[key]; return is })
	if !draft && w.notice != nil && w.notice.undo {
		w.notice = nil
		w.bar()
	}
	return true
}

// say shows a line above the buttons of the next page drawn.
func (w *Window) say(m model.Msg, undo bool) { w.notice = &notice{say: m, undo: undo} }

// fail says at once what went wrong; the page stays as it is, with all that
// was typed.
func (w *Window) fail(err error) {
	w.notice = &notice{say: tell(err), failed: true}
	w.bar()
}

func (w *Window) undo() {
	done, err := w.house.Undo()
	switch {
	case err != nil:
		w.fail(err)
	case !done:
		w.say(model.T("done.nothing-to-undo"), false)
	default:
		w.dress()
		w.say(model.T("done.undone"), false)
		w.bringBack()
	}
	w.redraw()
}

// bringBack makes a test that was taken back a draft again, unless another one
// is begun.
func (w *Window) bringBack() {
	w.bringBackSheet()
	r := w.house.State().Records
	if _, begun := r.Draft(); begun || w.tested == nil ||
		slices.ContainsFunc(r.Book.Entries, func(e model.Entry) bool { return e.ID == w.tested.entry }) {
		return
	}
	if w.keep(household.KeepDraft(w.tested.draft)) {
		w.tested = nil
	}
}

// tell turns an error into words.
func tell(err error) model.Msg {
	var t model.Told
	if errors.As(err, &t) {
		return t.Tell()
	}
	return model.T("trouble.other", "detail", err.Error())
}
