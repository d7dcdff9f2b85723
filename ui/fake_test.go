package ui

import (
	"fmt"
	"image"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/driver/software"
	"fyne.io/fyne/v2/test"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/strip"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

// morning is when the tests happen: two hours east of Greenwich, after breakfast.
var morning = time.Date(2025, 8, 6, 9, 0, 0, 0, time.FixedZone("", 2*3600))

// otherBook is the file of another copy of the book.
const otherBook = "/media/stick/household.book"

// book is a Household in memory whose clocks are moved by hand. As in a book on
// disk, drafts are kept but not for undo.
type book struct {
	past  []household.Records // the newest last
	state *household.State
	wall  time.Time
	mono  time.Duration
	ids   int

	path   string
	closed model.Msg // why nothing can be saved
	fails  error     // what the next saves answer
	copies int
	sheets []string

	pictures []FoundFile
	lying    map[Sort][]FoundFile // others that lie about
	secret   string               // the passphrase that is remembered
	shots    map[string]Photograph
	files    map[string]strip.Kind
	kept     map[model.ID]image.Image
	whole    map[model.ID]string
	shown    []string
	charts   map[string][2][]byte
	coming   merge.Coming // what the other book brings
	same     [][2]model.ID
	disks    []string          // sticks that are in
	backups  map[string]string // file to passphrase
	restored []string
	unkept   error // what keeping or opening a picture answers

	knowing []SafeCopy // copies that hold somebody removed
	erased  []model.ID

	incoming map[string]Incoming // what files hold, by path and then by whose they are said to be
	written  []string
}

func newBook(r household.Records) *book {
	b := &book{past: []household.Records{r}, wall: morning, path: "/home/rosa/Documents/our-household.quietwater"}
	b.derive()
	return b
}

func (b *book) records() household.Records { return b.past[len(b.past)-1] }

func (b *book) derive() {
	st := household.Derive(b.records(), b.wall)
	b.state = &st
}

// pass lets both clocks go on.
func (b *book) pass(d time.Duration) {
	b.wall, b.mono = b.wall.Add(d), b.mono+d
}

func (b *book) Found(sort Sort, most int) []FoundFile {
	files := b.lying[sort]
	if sort == Photographs {
		files = b.pictures
	}
	return files[:min(most, len(files))]
}

func (b *book) IsFolder(path string) bool { return strings.HasSuffix(path, "/") }

func (b *book) Picture(path string) (Photograph, error) {
	if p, ok := b.shots[path]; ok {
		return p, nil
	}
	return Photograph{}, told{model.T("picture.broken")}
}

func (b *book) KeepPicture(e model.Entry, seen *image.NRGBA, whole string) error {
	if b.unkept != nil {
		return b.unkept
	}
	if b.kept == nil {
		b.kept, b.whole = map[model.ID]image.Image{}, map[model.ID]string{}
	}
	b.kept[e.ID], b.whole[e.ID] = seen, whole
	return nil
}

func (b *book) TestPicture(e model.Entry) (image.Image, error) {
	if m, ok := b.kept[e.ID]; ok {
		return m, nil
	}
	return nil, b.unkept
}

func (b *book) WholePicture(e model.Entry) string { return b.whole[e.ID] }
func (b *book) Show(path string)                  { b.shown = append(b.shown, path) }

func (b *book) SaveChart(name string, picture, drawing []byte) (string, error) {
	if b.unkept != nil {
		return "", b.unkept
	}
	if b.charts == nil {
		b.charts = map[string][2][]byte{}
	}
	b.charts[name] = [2][]byte{picture, drawing}
	return "/home/rosa/Documents/sheets/" + name + ".png", nil
}

func (b *book) WriteKind(k strip.Kind) (string, error) {
	if b.files == nil {
		b.files = map[string]strip.Kind{}
	}
	path := "/home/rosa/Documents/sheets/" + k.Name + ".json"
	b.files[path] = k
	return path, nil
}

func (b *book) ReadKind(path string) (strip.Kind, error) {
	if k, ok := b.files[path]; ok {
		return k, nil
	}
	return strip.Kind{}, told{model.T("learn.not-a-kind")}
}

func (b *book) State() *household.State { return b.state }

func (b *book) Refresh() *household.State {
	b.derive()
	return b.state
}

func (b *book) Now() time.Time   { return b.wall }
func (b *book) Tick() strip.Tick { return strip.Tick{Mono: b.mono, Wall: b.wall} }

func (b *book) NewID() model.ID {
	b.ids++
	return model.ID(fmt.Sprintf("%032x", 0xf0000+b.ids))
}

func (b *book) Save(c household.Changes) error {
	if b.fails != nil {
		return b.fails
	}
	if ps := c.Validate(b.wall); len(ps) > 0 {
		return told{ps[0].Why}
	}
	next := b.records().Apply(c)
	drafts := 0
	for _, key := range household.Drafts() {
		if _, is := c.Settings[key]; is {
			drafts++
		}
	}
	if drafts > 0 && len(c.Settings) == drafts && len(c.Entries)+len(c.RemoveEntries) == 0 {
		b.past[len(b.past)-1] = next // a draft is not kept for undo
	} else {
		b.past = append(b.past, next)
	}
	b.derive()
	return nil
}

func (b *book) Last() (household.Last, bool, error) {
	if b.fails != nil || len(b.past) == 1 {
		return household.Last{}, false, b.fails
	}
	touched, named := household.Touched(b.past[len(b.past)-2].Book.Entries, b.records().Book.Entries), household.NamedTouched(b.past[len(b.past)-2], b.records())
	return household.Last{At: morning, Author: "Emil", Records: max(1, len(touched)+len(named)), Entries: touched, Named: named}, true, nil
}

func (b *book) Undo() (bool, error) {
	if b.fails != nil {
		return false, b.fails
	}
	if len(b.past) == 1 {
		return false, nil
	}
	drafts := map[string]string{}
	for _, key := range household.Drafts() {
		drafts[key] = b.records().Settings[key]
	}
	b.past = b.past[:len(b.past)-1]
	b.past[len(b.past)-1] = b.records().Apply(household.Changes{Settings: drafts})
	b.derive()
	return true, nil
}

// Compare knows one other file, whose content a test sets.
func (b *book) Compare(path, _ string) (merge.Coming, error) {
	if path != otherBook {
		return merge.Coming{}, told{model.T("merge.not-a-book")}
	}
	return b.coming, b.fails
}

func (b *book) Merge(path string, same [][2]model.ID) (merge.Coming, error) {
	if b.fails != nil {
		return merge.Coming{}, b.fails
	}
	b.same = same
	r := b.records().Apply(household.Changes{Entries: b.coming.Entries})
	r.Twofold = b.coming.Twofold
	b.past = append(b.past, r)
	b.derive()
	return b.coming, nil
}

func (b *book) Choose(of merge.Twofold, form int64) error {
	if b.fails != nil {
		return b.fails
	}
	r := b.records()
	for _, f := range of.Forms {
		if f.Sum == form && f.Entry != nil {
			r = r.Apply(household.Changes{Entries: []model.Entry{*f.Entry}})
		}
	}
	r.Twofold = slices.DeleteFunc(slices.Clone(r.Twofold), func(t merge.Twofold) bool { return t.Key == of.Key })
	b.past = append(b.past, r)
	b.derive()
	return nil
}

// Removed are those of any time before who are not there now.
func (b *book) Removed() (out []model.Person) {
	for _, r := range b.past {
		for _, p := range r.Book.Persons {
			same := func(o model.Person) bool { return o.ID == p.ID }
			if !slices.ContainsFunc(b.records().Book.Persons, same) && !slices.ContainsFunc(out, same) {
				out = append(out, p)
			}
		}
	}
	return out
}

func (b *book) CopiesOf(model.ID) ([]SafeCopy, error) { return b.knowing, b.fails }

func (b *book) Erase(person model.ID, copies bool) error {
	if b.fails != nil {
		return b.fails
	}
	for i := range b.past {
		b.past[i] = b.past[i].Apply(household.Changes{RemovePersons: []model.ID{person}})
	}
	if b.erased = append(b.erased, person); copies {
		b.knowing = nil
	}
	b.derive()
	return nil
}

func (b *book) Papers() string {
	if b.path == "" {
		return ""
	}
	return "/home/rosa/Documents/sheets"
}

func (b *book) Path() string        { return b.path }
func (b *book) ReadOnly() model.Msg { return b.closed }

func (b *book) Snapshot() (string, error) {
	if b.fails != nil {
		return "", b.fails
	}
	b.copies++
	return b.path + ".copy", nil
}

func (b *book) CanBackUp() bool { return b.path != "" }

func (b *book) Passphrase() string { return b.secret }

func (b *book) Remember(passphrase string) error {
	if b.fails == nil {
		b.secret = passphrase
	}
	return b.fails
}

func (b *book) BackupPlaces() []string { return b.disks }

func (b *book) Backups() []string { return slices.Sorted(maps.Keys(b.backups)) }

func (b *book) BackUp(folder, passphrase string) (household.Backup, error) {
	if b.fails != nil {
		return household.Backup{}, b.fails
	}
	if b.backups == nil {
		b.backups = map[string]string{}
	}
	path := folder + "/quietwater-2025-08-06.zip.age"
	b.backups[path] = passphrase
	return household.Backup{At: b.wall, Path: path, Encrypted: passphrase != "", Persons: len(b.records().Book.Persons), Entries: len(b.records().Book.Entries), Pictures: 1, Damaged: 1}, nil
}

func (b *book) Rehearse(file, passphrase string) (Rehearsed, error) {
	if want, there := b.backups[file]; !there || want != passphrase {
		return Rehearsed{}, told{model.T("backup.why.passphrase")}
	}
	n := len(b.records().Book.Entries)
	return Rehearsed{Made: b.wall.AddDate(0, 0, -9), Encrypted: passphrase != "", OtherBook: passphrase == "", Rows: []RehearsedRow{
		{model.T("backup.what.persons"), 2, 2}, {model.T("kind.strip"), n - 3, n}, {model.T("backup.what.pictures"), 1, 12}}}, nil
}

func (b *book) Restore(file, passphrase string) error {
	if b.fails != nil {
		return b.fails
	}
	b.restored = append(b.restored, file)
	return nil
}

func (b *book) RecoverySheet(_ *i18n.Pair, made household.Backup) (string, error) {
	if b.fails != nil {
		return "", b.fails
	}
	b.sheets = append(b.sheets, "recovery "+made.Path)
	return "/home/rosa/Documents/recovery.pdf", nil
}

func (b *book) Sheet(_ *i18n.Pair, k strip.Kind, name, pack string) (string, error) {
	if b.fails != nil {
		return "", b.fails
	}
	b.sheets = append(b.sheets, k.ID+" "+name+" "+pack)
	return "/home/rosa/Documents/sheet.pdf", nil
}

func (b *book) DoctorPage(a DoctorAsk) (string, int, error) {
	if b.fails != nil {
		return "", 0, b.fails
	}
	b.sheets = append(b.sheets, fmt.Sprint("doctor ", strings.Join(a.Languages, "+"), " ", a.Asked.Questions, " ", a.Letter, a.More))
	return "/home/rosa/Documents/for-the-doctor.pdf", 3, nil
}

func (b *book) TodoList(*i18n.Pair) (string, error) {
	if b.fails != nil {
		return "", b.fails
	}
	b.sheets = append(b.sheets, "to-dos")
	return "/home/rosa/Documents/to-dos.pdf", nil
}

func (b *book) Calendar(_ *i18n.Pair, health bool) (string, error) {
	if b.fails != nil {
		return "", b.fails
	}
	b.sheets = append(b.sheets, fmt.Sprint("calendar ", health))
	return "/home/rosa/Documents/to-dos.ics", nil
}

func (b *book) TakeIn(path, person string) (Incoming, error) {
	if in, ok := b.incoming[path+person]; ok {
		return in, nil
	}
	return Incoming{}, told{model.T("problem.fhir-not-json")}
}

func (b *book) WriteBook(_ *i18n.Pair, form, path string) (string, error) {
	if slices.Contains(b.written, form+" "+path) {
		return "", told{model.T("exchange.exists", "path", path)}
	}
	b.written = append(b.written, form+" "+path)
	return "/home/rosa/Documents/sheets/household." + form, nil
}

// tones is a Sound that writes down what it was asked for, and when.
type tones struct {
	book  *book
	heard []string
	muted bool
	tests chan bool
}

func (s *tones) note(what string) {
	s.heard = append(s.heard, fmt.Sprintf("%s@%v", what, s.book.mono))
}

func (s *tones) Prepare()        { s.note("prepare") }
func (s *tones) Ahead()          { s.note("ahead") }
func (s *tones) Now()            { s.note("now") }
func (s *tones) Done()           { s.note("done") }
func (s *tones) SetMuted(m bool) { s.muted = m }

func (s *tones) Test() error {
	s.tests <- true
	return nil
}

// desk is a window with somebody in front of it who has a keyboard and a mouse.
type desk struct {
	t     *testing.T
	win   fyne.Window
	w     *Window
	book  *book
	sound *tones
	size  fyne.Size
	tick  func()
	stop  chan struct{}
}

// open starts the program on a book, as it would start in English.
func open(t *testing.T, b *book) *desk { return openAs(t, b, Options{Machine: "en"}) }

func openAs(t *testing.T, b *book, o Options) *desk {
	t.Helper()
	if fyne.CurrentApp() == nil || fyne.CurrentApp().UniqueID() == "" {
		test.NewApp()
	}
	d := &desk{t: t, book: b, sound: &tones{book: b, tests: make(chan bool, 9)}, win: test.NewWindow(nil), size: fyne.NewSize(1280, 800)}
	d.win.SetPadded(false)
	d.win.Resize(d.size)
	t.Cleanup(d.leave)
	d.w = New(d.win, b, d.sound, func(th fyne.Theme) { test.ApplyTheme(t, th) }, o)
	d.w.pulse = func(stop chan struct{}, tick func()) { d.stop, d.tick = stop, tick }
	patience := time.Duration(0) // somebody who reads a page before going on
	d.w.mono = func() time.Duration { patience += time.Second; return patience }
	d.w.beside = func(work, then func()) { work(); then() }
	d.settle()
	return d
}

// leave closes the window and has the toolkit forget what it drew more than a
// minute ago: a window does that at every frame, the window of tests never, and
// all pages in all languages are gigabytes.
func (d *desk) leave() {
	d.win.Close()
	software.NewTransparentCanvas().Capture()
}

// settle lays the page out as a window would between two frames. A window of
// tests grows with what needs more room; a screen does not.
func (d *desk) settle() {
	d.win.Resize(d.size)
	kittest.Settle(d.win.Canvas())
}

// wait lets time pass with the running clock looked at every fifth of a second.
func (d *desk) wait(t time.Duration) {
	for ; t > 0; t -= tickEvery {
		d.book.pass(min(t, tickEvery))
		d.beat()
	}
	d.settle()
}

// beat is one look at the clock, if a test is running.
func (d *desk) beat() {
	if d.tick == nil {
		return
	}
	select {
	case <-d.stop:
	default:
		d.tick()
	}
}

// press sends keys to what has the keyboard, or to the window.
func (d *desk) press(names ...fyne.KeyName) {
	d.t.Helper()
	for _, n := range names {
		ev := &fyne.KeyEvent{Name: n}
		if k, ok := d.win.Canvas().Focused().(desktop.Keyable); ok {
			k.KeyDown(ev)
		} else {
			d.w.echoes.KeyDown(ev)
		}
		if f := d.win.Canvas().Focused(); f != nil {
			f.TypedKey(ev)
			if k, ok := d.win.Canvas().Focused().(desktop.Keyable); ok {
				k.KeyUp(ev)
			}
		} else if f := d.win.Canvas().OnTypedKey(); f != nil {
			f(ev)
		}
		d.settle()
	}
}

// focused names what has the keyboard.
func (d *desk) focused() string { return d.w.focusedID() }

// to moves the keyboard with Tab until it is at id.
func (d *desk) to(id string) {
	d.t.Helper()
	for range 600 {
		if d.focused() == id {
			return
		}
		d.win.Canvas().FocusNext()
	}
	d.t.Fatalf("Tab does not come to %q; on the screen: %v", id, d.ids())
}

// key goes to a control with Tab and presses Space on it.
func (d *desk) key(ids ...string) {
	d.t.Helper()
	for _, id := range ids {
		d.to(id)
		d.press(fyne.KeySpace)
	}
}

// onward goes to the next pad, whether this one was read or is left out.
func (d *desk) onward() {
	d.t.Helper()
	if d.has("skip-pad") {
		d.key("skip-pad")
		return
	}
	d.key("next")
}

// fill goes to a box with Tab, empties it and types.
func (d *desk) fill(id, text string) {
	d.t.Helper()
	d.to(id)
	e := d.win.Canvas().Focused().(*kit.Entry)
	for range []rune(e.Text) {
		e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEnd})
		e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyBackspace})
	}
	test.Type(e, text)
	d.settle()
}

// tap taps a control by its id.
func (d *desk) tap(ids ...string) {
	d.t.Helper()
	for _, id := range ids {
		o := d.find(id)
		if o == nil {
			d.t.Fatalf("there is no %q to tap; on the screen: %v", id, d.ids())
		}
		o.(fyne.Tappable).Tapped(&fyne.PointEvent{})
		d.settle()
	}
}

func (d *desk) find(id string) fyne.CanvasObject {
	var found fyne.CanvasObject
	for _, n := range kittest.Nodes(d.win.Canvas()) {
		if t, ok := kit.Target(n.Object); ok && t.ID == id && !t.Disabled && found == nil {
			found = n.Object
		}
	}
	return found
}

func (d *desk) ids() []string {
	var out []string
	for _, l := range kit.Probe(d.win.Canvas(), "") {
		if l.ID != "" {
			out = append(out, l.ID)
		}
	}
	return out
}

// has reports whether something can be tapped or typed into.
func (d *desk) has(id string) bool { return slices.Contains(d.ids(), id) }

// text is all that can be read on the screen, scrolled away or not.
func (d *desk) text() string {
	var out []string
	for _, l := range kit.Probe(d.win.Canvas(), "") {
		out = append(out, l.Text)
	}
	return strings.Join(out, "\n")
}

// shows fails unless a message can be read on the screen.
func (d *desk) shows(key string, args ...any) {
	d.t.Helper()
	if want := d.w.words.T(model.T(key, args...)); !strings.Contains(d.text(), want) {
		d.t.Fatalf("%q cannot be read; the screen says\n%s", want, d.text())
	}
}

// hides fails when it can.
func (d *desk) hides(key string, args ...any) {
	d.t.Helper()
	if no := d.w.words.T(model.T(key, args...)); strings.Contains(d.text(), no) {
		d.t.Fatalf("%q should not be read; the screen says\n%s", no, d.text())
	}
}

func demoBook() household.Records { return household.Demo(morning) }
