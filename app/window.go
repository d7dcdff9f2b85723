package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"image"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/app/arrival"
	"quietwater/app/backup"
	"quietwater/app/calendar"
	"quietwater/app/moveout"
	"quietwater/app/picture"
	"quietwater/app/print"
	"quietwater/app/session"
	"quietwater/app/sound"
	"quietwater/app/store"
	"quietwater/app/voice"
	"quietwater/app/whole"
	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/photo"
	"quietwater/model/strip"
	"quietwater/model/todo"
	"quietwater/ui"
	"quietwater/ui/kit"
)

// appID names the program to the system; it claims no domain.
const appID = "quietwater.household"

// window opens the book and shows it until the window is closed.
func window(o options) {
	a := app.NewWithID(appID)
	a.SetIcon(fyne.NewStaticResource("icon.png", assets.IconPNG))
	win := a.NewWindow("Quietwater")
	win.SetMaster()
	win.Resize(fyne.NewSize(float32(o.width), float32(o.height)))
	win.SetPadded(false)
	r := &running{app: a, win: win, options: o, clock: newClock(o.now, o.clockSpeed)}
	r.open()
	win.SetCloseIntercept(r.end)
	win.Show()
	go r.obey()
	a.Run()
	r.end()
}

// patience is how long the window has to end by itself when the system asks.
const patience = 5 * time.Second

// obey ends the program in good order when the system asks it to.
func (r *running) obey() {
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, os.Interrupt, syscall.SIGTERM)
	<-asked
	fyne.Do(r.end)
	time.Sleep(patience)
	r.end()
}

// running is the program while its window is up.
type running struct {
	app     fyne.App
	win     fyne.Window
	options options
	clock   *clock
	session atomic.Pointer[session.Session] // the book that is shown
	ending  sync.Once
	frames  int
	seen    bool // the newest month is shown while the book is being opened
	// temp is a folder that goes when the program ends; "" for none.
	temp   string
	temped sync.Mutex
	// came is the backup that the next book shown was restored from, and news what
	// to say of it; nil for none.
	came *household.Backup
	news model.Msg
	// back leads from the safe copy that is looked at to the page it was chosen on;
	// nil where no copy is.
	back func()
}

// slow is how long opening may take before the window says that it is at it.
const slow = 600 * time.Millisecond

// settled is when the first page of a book has long been drawn.
const settled = time.Second

// open opens the book beside the window's own work, so that the window is
// there at once; then it shows the book, or says what stands in the way.
func (r *running) open() {
	look := kit.Look{Scale: 1}
	if r.options.large {
		look.Scale = 2
	}
	r.app.Settings().SetTheme(kit.NewTheme(look))
	ground := container.NewStack(canvas.NewRectangle(look.Palette().Paper))
	if paint := firstPaint("firstpaint_ms"); paint != nil {
		ground.Add(paint)
	}
	r.win.SetContent(ground)
	r.seen = false
	waiting := time.AfterFunc(slow, func() {
		fyne.Do(func() {
			words, err := i18n.New(i18n.Nearest(machineLanguage()), "")
			if err == nil && r.win.Content() == ground && !r.seen {
				k := kit.New(words, look)
				ground.Add(k.Page(kit.PageParts{Title: model.T("screen.opening"), Content: []fyne.CanvasObject{k.Text(model.T("screen.opening-why"))}}))
			}
		})
	})
	go func() {
		r.glimpse(ground)
		s, book, readOnly, err := r.load()
		waiting.Stop()
		fyne.Do(func() {
			if err != nil {
				r.trouble(err)
				return
			}
			r.show(s, book, readOnly)
		})
	}()
}

// glimpse shows the newest month of a long book while all of it is examined. The
// book may be in any state: what stands in the way is for the opening to say. It
// is read before the book is opened, not meanwhile: whoever closes a file lets go
// of all locks that the same program has on it (POSIX), SQLite's too.
func (r *running) glimpse(ground *fyne.Container) {
	if r.options.demo || !store.Long(r.options.book) {
		return
	}
	now := r.clock.Now()
	book, extras, err := store.Newest(context.Background(), r.storeOptions(), now.AddDate(0, 0, -glimpseDays))
	if err != nil {
		return
	}
	go func() {
		st := household.Derive(session.RecordsOf(book, extras), now)
		fyne.Do(func() {
			if r.win.Content() != ground {
				return
			}
			o := ui.Options{Language: r.options.language, Machine: i18n.Nearest(machineLanguage()), Large: r.options.large}
			if page, ok := ui.Opening(r.win, &st, r.app.Settings().SetTheme, o); ok {
				r.seen = true
				ground.Add(page)
			}
		})
	}()
}

// glimpseDays are a month, and the days before it that bear on its tests.
const glimpseDays = 31 + 10

// load opens the book and derives its first state. The invented household has
// no book.
func (r *running) load() (*session.Session, *store.Book, model.Msg, error) {
	ctx := context.Background()
	if r.options.demo {
		s, err := session.Open(ctx, session.NewMemory(household.Demo(r.clock.Now())), r.clock, rand.Reader)
		return s, nil, model.Msg{}, err
	}
	book, err := store.Open(ctx, r.storeOptions())
	if err != nil {
		return nil, nil, model.Msg{}, err
	}
	readOnly := model.Msg{}
	if book.ReadOnlyReason != nil {
		readOnly = session.Tell(book.ReadOnlyReason)
	}
	s, err := session.Open(ctx, session.NewKept(book), r.clock, rand.Reader)
	if err != nil {
		book.Close(ctx)
	}
	return s, book, readOnly, err
}

func (r *running) storeOptions() store.Options {
	return store.Options{Path: r.options.book, Now: r.clock.Now, Rand: rand.Reader, Zone: r.clock.Now().Location(), Version: Version}
}

// show fills the window with the household's pages. Without a book it cannot be
// backed up.
func (r *running) show(s *session.Session, book *store.Book, readOnly model.Msg) {
	r.session.Store(s)
	h := &home{Session: s, run: r, book: book, readOnly: readOnly, dir: filepath.Dir(r.options.book), open: r.openFile}
	if r.came != nil && readOnly.IsZero() {
		_ = h.Save(household.KeepBackup(*r.came)) // it does not know of itself; without this it would only be asked for too soon
	}
	r.came = nil
	w := ui.New(r.win, h, tones{sound.Open()}, r.app.Settings().SetTheme, ui.Options{
		Language: r.options.language, Machine: i18n.Nearest(machineLanguage()), Large: r.options.large, Probe: r.probe(), Voice: systemVoice(), Version: Version, Return: r.back})
	r.back = nil
	r.win.SetOnDropped(func(_ fyne.Position, files []fyne.URI) {
		var paths []string
		for _, f := range files {
			paths = append(paths, f.Path())
		}
		w.Dropped(paths)
	})
	if !r.news.IsZero() {
		w.Tell(r.news)
		r.news = model.Msg{}
	}
	r.win.SetCloseIntercept(func() { w.Leaving(r.end) })
	go r.minutes(s, w)
	go r.idle(s, w)
	time.AfterFunc(settled, func() { // reading a long book takes several times what it leaves behind
		debug.FreeOSMemory()
		trimC()
	})
	if paint := firstPaint("firstpage_ms"); paint != nil {
		r.win.SetContent(container.NewStack(r.win.Content(), paint))
	}
}

// minutes lets the window know of each minute of the household's clock, as long
// as this session is the one that is shown.
func (r *running) minutes(s *session.Session, w *ui.Window) {
	told := r.clock.Now()
	for range time.Tick(max(time.Duration(float64(time.Minute)/r.options.clockSpeed), time.Second)) {
		if r.session.Load() != s {
			return
		}
		before, now := s.State(), s.Refresh()
		since := told
		told = r.clock.Now()
		until := told
		fyne.Do(func() {
			w.Passed(before, now)
			r.remind(w, now, since, until)
		})
	}
}

// idle lets the window look every few seconds whether anybody is there.
func (r *running) idle(s *session.Session, w *ui.Window) {
	for range time.Tick(max(time.Duration(float64(5*time.Second)/r.options.clockSpeed), time.Second)) {
		if r.session.Load() != s {
			return
		}
		fyne.Do(w.Idle)
	}
}

// remind shows a notification of the system for each thing that has come due,
// where somebody asked for it: with a name, and nothing of anybody's health.
func (r *running) remind(w *ui.Window, st *household.State, since, now time.Time) {
	if st.Records.Settings[household.SetRemind] != "yes" {
		return
	}
	for _, it := range todo.Due(todo.Of(*st), since, now) {
		r.app.SendNotification(fyne.NewNotification("Quietwater", w.Say(it.Plain)))
	}
}

// trouble shows a page that says what happened, what is safe, and what can be
// done.
func (r *running) trouble(err error) { r.troubleNow(err, session.Tell(err)) }

// troubleNow is trouble after something was tried about it: why is what came of
// that.
func (r *running) troubleNow(err error, why model.Msg) {
	r.win.SetCloseIntercept(r.end)
	ui.ShowTrouble(r.win, r.troubleOf(err, why), r.app.Settings().SetTheme, ui.Options{Language: r.options.language, Machine: i18n.Nearest(machineLanguage()),
		Large: r.options.large, Probe: r.probe()})
}

// troubleOf is the page about err: what happened, what is safe, and what can be
// done, looking at the newest whole copy first.
func (r *running) troubleOf(err error, why model.Msg) ui.Trouble {
	t := ui.Trouble{Why: why, Again: r.open, Quit: r.end}
	var damage *store.Trouble
	if errors.As(err, &damage) {
		for _, s := range damage.Snapshots {
			if s.Err != nil {
				continue
			}
			at := model.At(s.Time.In(r.clock.Now().Location()))
			ask := model.T("trouble.use-damaged", "when", at)
			if errors.Is(err, store.ErrMissing) {
				ask = model.T("trouble.use-missing", "when", at)
			}
			t.Copies = append(t.Copies, ui.Copy{When: at, Entries: s.Entries, Ask: ask,
				Look: func() { r.look(s, damage) }, Use: func() { r.restore(s, damage) }})
		}
	}
	damaged := errors.Is(err, store.ErrDamaged)
	switch {
	case errors.Is(err, store.ErrInUse):
		t.Safe = model.T("trouble.in-use-safe")
	case errors.Is(err, store.ErrMissing):
		t.Safe = model.T("trouble.missing-safe")
	case damaged && len(t.Copies) > 0:
		t.Safe = model.T("trouble.damaged-safe")
	case damaged:
		t.Safe = model.T("trouble.damaged-alone")
	case errors.Is(err, store.ErrNotABook):
		t.Safe = model.T("trouble.not-a-book-safe")
	case errors.Is(err, store.ErrDiskFull):
		// its own words say what is safe and what to do
	default:
		t.Safe = model.T("trouble.other-safe")
	}
	// These reasons are also told of other books, and of books that are shown for
	// reading; this one is the household's own, and is not shown.
	if why.Key == "trouble.newer" {
		t.Why, t.Safe = model.T("trouble.newer-unread"), model.T("trouble.newer-safe")
	}
	if damaged && why.Key == "trouble.damaged" {
		t.Why = model.T("trouble.damaged-why")
	}
	if why.Key == "trouble.read-only" {
		t.Why, t.Safe = model.T("trouble.no-access"), model.T("trouble.no-access-safe")
	}
	if damaged || errors.Is(err, store.ErrMissing) {
		t.Path = r.options.book
		t.Restore = func(file, passphrase string) { r.restoreBackup(file, passphrase, err) }
	}
	return t
}

// copyFailed shows the page again after a safe copy could not be used.
func (r *running) copyFailed(s store.Snapshot, err error, damage *store.Trouble) {
	left, why := afterCopy(s, err, damage)
	r.troubleNow(left, why)
}

// afterCopy is the same trouble after err stopped the use of a safe copy: one
// that is damaged itself is not offered again.
func afterCopy(s store.Snapshot, err error, damage *store.Trouble) (*store.Trouble, model.Msg) {
	if !errors.Is(err, store.ErrDamaged) && !errors.Is(err, store.ErrNotABook) {
		return damage, session.Tell(err)
	}
	left := *damage
	left.Snapshots = slices.DeleteFunc(slices.Clone(damage.Snapshots), func(o store.Snapshot) bool { return o.Path == s.Path })
	return &left, model.T("trouble.copy-damaged")
}

// look opens a safe copy for reading only.
func (r *running) look(s store.Snapshot, damage *store.Trouble) {
	book, err := store.OpenSnapshot(context.Background(), s.Path, r.storeOptions())
	if err != nil {
		r.copyFailed(s, err, damage)
		return
	}
	shown, err := session.Open(context.Background(), session.NewKept(book), r.clock, rand.Reader)
	if err != nil {
		book.Close(context.Background())
		r.copyFailed(s, err, damage)
		return
	}
	r.back = func() {
		r.session.Store(nil)
		shown.Close(context.Background())
		r.troubleNow(damage, session.Tell(damage))
	}
	r.show(shown, nil, model.T("trouble.snapshot-shown", "when", model.At(s.Time.In(r.clock.Now().Location()))))
}

// restore goes on from a safe copy. The damaged book is kept under another
// name, never overwritten.
func (r *running) restore(s store.Snapshot, damage *store.Trouble) {
	if _, err := store.GoOnFrom(context.Background(), s.Path, damage.Path); err != nil {
		r.copyFailed(s, err, damage)
		return
	}
	r.open()
}

// end closes the book, with its safe copy, and ends the program, whoever asks
// first. It leaves out the toolkit's own ending: there two queues can come to
// wait for each other, and a program without a window would hold the book.
func (r *running) end() {
	r.ending.Do(func() {
		if s := r.session.Load(); s != nil {
			if err := s.Close(context.Background()); err != nil {
				fmt.Fprintf(os.Stderr, "quietwater: closing the book: %v\n", err)
			}
		}
		r.sweep()
		os.Exit(0)
	})
}

// openFile shows a file in the program the system has for it.
func (r *running) openFile(path string) {
	name := map[string]string{"windows": "explorer", "darwin": "open"}[runtime.GOOS]
	if name == "" {
		name = "xdg-open"
	}
	if cmd := exec.Command(name, path); cmd.Start() == nil {
		go cmd.Wait() // only so that it does not linger
	}
}

// home is the session as the screens see it.
type home struct {
	*session.Session
	run      *running
	book     *store.Book // nil for one that cannot be backed up
	readOnly model.Msg
	dir      string
	open     func(path string)

	// brought is what was taken out of a backup to be merged, from the file
	// broughtFrom. The window asks one thing at a time.
	brought     *backup.Ready
	broughtFrom string
}

func (h *home) Save(c household.Changes) error      { return h.Session.Save(context.Background(), c) }
func (h *home) Last() (household.Last, bool, error) { return h.Session.Last(context.Background()) }
func (h *home) Undo() (bool, error)                 { return h.Session.Undo(context.Background()) }
func (h *home) Snapshot() (string, error)           { return h.Session.Snapshot(context.Background()) }

func (h *home) Choose(of merge.Twofold, form int64) error {
	return h.Session.Choose(context.Background(), of, form)
}

func (h *home) ReadOnly() model.Msg { return h.readOnly }

// Found lists the newest files of a sort where they usually come to lie.
func (h *home) Found(sort ui.Sort, most int) []ui.FoundFile {
	dir, _ := os.UserHomeDir()
	config, _ := os.UserConfigDir()
	folders := arrival.UsualFolders(dir, config, arrival.Downloads, arrival.Desktop, arrival.Documents)
	var wanted func(string) bool
	switch sort {
	case ui.Photographs:
		folders = append(arrival.UsualFolders(dir, config, arrival.Pictures, arrival.Downloads, arrival.Desktop), h.State().Records.Settings[household.SetPictures])
		wanted = picture.IsName
	case ui.Results:
		folders = append(folders, drives()...)
		wanted = func(name string) bool { return slices.Contains([]string{".csv", ".json"}, filepath.Ext(name)) }
	case ui.Books:
		folders = append(folders, drives()...)
		wanted = func(name string) bool { return filepath.Ext(name) == ".book" || backup.IsName(name) }
	}
	var out []ui.FoundFile
	for _, f := range arrival.Newest(folders, wanted, most) {
		if f.Path != h.Path() {
			out = append(out, ui.FoundFile(f))
		}
	}
	return out
}

// IsFolder reports a folder that can be looked into.
func (h *home) IsFolder(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.IsDir()
}

// Picture opens one and sets it upright.
func (h *home) Picture(path string) (ui.Photograph, error) {
	p, err := picture.Open(path, h.Now().Location())
	if err != nil {
		return ui.Photograph{}, err
	}
	got := ui.Photograph{Picture: photo.New(p.Image, p.Turn), Taken: p.Taken}
	if st, err := os.Stat(path); err == nil {
		got.Written = st.ModTime()
	}
	return got, nil
}

// KeepPicture keeps what a test was read from, set straight, and where it is
// asked for the whole file as well.
func (h *home) KeepPicture(e model.Entry, seen *image.NRGBA, whole string) error {
	of := session.PictureOf{Person: e.Person, Entry: e.ID}
	b, err := picture.Encode(seen, picture.MostEvidence)
	if err != nil {
		return err
	}
	if err := h.Session.KeepPicture(of, b); err != nil || whole == "" {
		return err
	}
	if b, err = picture.Whole(whole); err != nil {
		return err
	}
	of.Whole = true
	return h.Session.KeepPicture(of, b)
}

// TestPicture opens what was kept; nil where nothing was.
func (h *home) TestPicture(e model.Entry) (image.Image, error) {
	b, _, err := h.Session.Picture(session.PictureOf{Person: e.Person, Entry: e.ID})
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	p, err := picture.Decode(b, h.Now().Location())
	return p.Image, err
}

// WholePicture names the file of the whole photograph, "" where none was kept.
func (h *home) WholePicture(e model.Entry) string {
	_, path, err := h.Session.Picture(session.PictureOf{Person: e.Person, Entry: e.ID, Whole: true})
	if err != nil {
		return ""
	}
	return path
}

// Show opens a file in the program the system has for it.
func (h *home) Show(path string) { h.open(path) }

// SaveChart keeps a chart as a picture and as a drawing, and opens the picture.
func (h *home) SaveChart(name string, picture, drawing []byte) (string, error) {
	name += "-" + h.Now().Format("2006-01-02-150405")
	if _, err := h.write(name+".svg", drawing); err != nil {
		return "", err
	}
	path, err := h.write(name+".png", picture)
	if err == nil {
		h.open(path)
	}
	return path, err
}

// WriteKind writes a strip kind to a file of our open form.
func (h *home) WriteKind(k strip.Kind) (string, error) {
	b, err := k.Bytes()
	if err != nil {
		return "", err
	}
	return h.write("strip-kind-"+moveout.FileName(cmp.Or(k.Name, k.ID))+".json", b)
}

// ReadKind reads a strip-kind file.
func (h *home) ReadKind(path string) (strip.Kind, error) {
	f, err := os.Open(path)
	if err != nil {
		return strip.Kind{}, toldError{err, model.T("learn.file-unreadable")}
	}
	defer f.Close()
	k, err := strip.ReadKind(f)
	if err != nil {
		return strip.Kind{}, toldError{err, model.T("learn.not-a-kind")}
	}
	return k, nil
}

// Sheet writes the tally sheet and opens it for printing.
func (h *home) Sheet(w *i18n.Pair, k strip.Kind, name, pack string) (string, error) {
	pdf, err := print.TallySheet(w, k, name, pack)
	if err != nil {
		return "", err
	}
	path, err := h.write("strip-test-"+strings.ToLower(k.ID)+".pdf", pdf)
	if err == nil {
		h.open(path)
	}
	return path, err
}

// DoctorPage writes the page for the doctor and opens it for printing.
func (h *home) DoctorPage(a ui.DoctorAsk) (string, int, error) {
	m, ok := h.State().Member(a.Person)
	if !ok {
		return "", 0, store.ErrNotFound
	}
	d := print.Doctor{Result: m.Result, Asked: a.Asked, Paper: print.A4, More: a.More}
	if a.Letter {
		d.Paper = print.Letter
	}
	for _, tag := range a.Languages {
		w, err := i18n.New(tag, "")
		if err != nil {
			return "", 0, err
		}
		d.Words = append(d.Words, w)
	}
	pdf, left, err := print.DoctorPage(d)
	if err != nil {
		return "", 0, err
	}
	path, err := h.write("for-the-doctor-"+moveout.FileName(m.Person.Name)+"-"+h.Now().Format("2006-01-02-150405")+".pdf", pdf)
	if err == nil {
		h.open(path)
	}
	return path, left, err
}

// TodoList writes what is to be done and opens it for printing.
func (h *home) TodoList(w *i18n.Pair) (string, error) {
	pdf, err := print.TodoList(w, todo.Of(*h.State()), model.At(h.Now()))
	if err != nil {
		return "", err
	}
	path, err := h.write("to-dos.pdf", pdf)
	if err == nil {
		h.open(path)
	}
	return path, err
}

// Calendar writes the same as a calendar file. It is not opened: whoever has a
// calendar takes it in there.
func (h *home) Calendar(w *i18n.Pair, health bool) (string, error) {
	var out bytes.Buffer
	if err := calendar.Write(&out, w, todo.Of(*h.State()), health, h.Now()); err != nil {
		return "", err
	}
	return h.write("to-dos.ics", out.Bytes())
}

// write puts a paper into the folder of papers.
func (h *home) write(name string, content []byte) (string, error) {
	dir, err := h.papers()
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, name)
	return path, whole.Over(path, content)
}

// systemVoice is the voice of the system, nothing at all where it has none.
func systemVoice() ui.Voice {
	if v := voice.Find(); v != nil {
		return v
	}
	return nil
}

// tones is the player as the screens see it.
type tones struct{ *sound.Player }

func (t tones) Ahead() { t.Play(sound.Ahead) }
func (t tones) Now()   { t.Play(sound.Now) }
func (t tones) Done()  { t.Play(sound.Done) }
