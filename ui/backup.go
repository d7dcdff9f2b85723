package ui

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// Rehearsed is a backup that was opened, taken out, checked and counted.
type Rehearsed struct {
	Made      time.Time
	Encrypted bool
	OtherBook bool // it is not of the book that is open
	Rows      []RehearsedRow
}

// RehearsedRow sets a number of a backup beside the book's.
type RehearsedRow struct {
	What         model.Msg
	Backup, Book int
}

// backupWords is "26 entries, 2 people, 3 pictures".
func backupWords(b household.Backup) []model.Msg {
	return []model.Msg{model.T("backup.n-entries", "n", b.Entries), model.T("backup.n-persons", "n", b.Persons), model.T("backup.n-pictures", "n", b.Pictures)}
}

// lastBackup tells of the newest one.
func (w *Window) lastBackup() fyne.CanvasObject {
	k := w.kit
	b, made := w.house.State().Records.LastBackup()
	if !made {
		return k.Card(k.Both(model.T("backup.none-yet")))
	}
	card := []fyne.CanvasObject{k.BothStrong(model.T("backup.last", "when", model.At(b.At.In(w.house.Now().Location()))))}
	for _, m := range backupWords(b) {
		card = append(card, k.Text(m))
	}
	return k.Card(append(card, k.Both(model.T("backup.at")), k.Text(kit.Said(b.Path)))...)
}

// backupDue reminds, on Today, of a backup that should have been made.
func (w *Window) backupDue(st *household.State) []fyne.CanvasObject {
	if !w.house.CanBackUp() || !st.BackupLate() {
		return nil
	}
	why := model.T("backup.due")
	if _, made := st.Records.LastBackup(); !made {
		why = model.T("backup.due-none")
	}
	return []fyne.CanvasObject{w.kit.Notice(kit.NoticeInfo, why, w.kit.Button("back-up", model.T("backup.title"), w.backUpNow))}
}

// backUpNow backs up with this one press, where the last place is known and the
// passphrase remembered; else it asks.
func (w *Window) backUpNow() {
	if !w.house.CanBackUp() {
		return
	}
	f := w.newBackup()
	w.open(f.view)
	if f.ready() {
		f.run(pathOf(f.place), f.w.house.Passphrase())
	}
}

// backupForm is a backup on its way.
type backupForm struct {
	w             *Window
	place         string
	places        []string // sticks and drives that are there
	looked        bool
	secret, again string
	remember      bool // the passphrase, on this computer
	anew          bool // what is known already is asked for again
	fields        struct{ place, secret, again *kit.Field }
	busy, here    bool
	failed        model.Msg
	done          *household.Backup
}

// backUp makes a backup, to the last place unless another one is chosen.
func (w *Window) backUp() func() view { return w.newBackup().view }

func (w *Window) newBackup() *backupForm {
	f := &backupForm{w: w}
	if b, made := w.house.State().Records.LastBackup(); made {
		f.place = filepath.Dir(b.Path)
	}
	f.remember = w.house.Passphrase() != ""
	return f
}

// ready reports that nothing need be asked.
func (f *backupForm) ready() bool { return f.place != "" && !f.anew && f.w.house.Passphrase() != "" }

func (f *backupForm) view() view {
	v := view{title: model.T("backup.title"), back: f.w.backTo(f.w.goBack), kept: true, enter: f.enter, leave: func() { f.here = false }}
	switch {
	case f.busy:
		v.body = f.atWork()
	case f.done != nil:
		f.finished(&v)
	case f.ready():
		f.once(&v)
	default:
		f.ask(&v)
	}
	return v
}

// enter finds the sticks that are there.
func (f *backupForm) enter() {
	f.here = true
	if f.busy || f.done != nil || f.ready() {
		return
	}
	lookOnce(f.w, &f.looked, f.w.house.BackupPlaces, func(places []string) {
		if f.here && !f.busy && !slices.Equal(places, f.places) {
			f.places = places
			f.w.redraw()
		}
	})
}

// once offers to do what was done last time.
func (f *backupForm) once(v *view) {
	k := f.w.kit
	if !f.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, f.failed))
	}
	v.body = append(v.body, k.Both(model.T("backup.why")), f.w.lastBackup(), k.BothStrong(model.T("backup.known", "folder", f.place)))
	v.main = &action{"back-up-now", model.T("backup.now"), func() { f.run(pathOf(f.place), f.w.house.Passphrase()) }}
	v.aside = &action{"otherwise", model.T("backup.otherwise"), func() {
		f.anew, f.failed = true, model.Msg{}
		f.w.redraw()
	}}
	v.focusID = "back-up-now"
}

func (f *backupForm) ask(v *view) {
	k := f.w.kit.AtOnce()
	v.body = []fyne.CanvasObject{k.Both(model.T("backup.why"))}
	if !f.failed.IsZero() {
		v.body = append([]fyne.CanvasObject{k.Notice(kit.NoticeCare, f.failed)}, v.body...)
	}
	v.body = append(v.body, f.w.lastBackup(), k.BothSection(model.T("backup.where")))
	var items []kit.ListItem
	for i, p := range f.places {
		items = append(items, kit.ListItem{ID: "place-" + strconv.Itoa(i), Title: kit.Said(p), Note: model.T("backup.found-place"), Open: func() { f.take(p) }})
	}
	if len(items) > 0 {
		v.body = append(v.body, k.List(items...))
	}
	f.fields.place = k.Field(kit.Ask{ID: "place", Width: 60, Label: model.T("backup.place"), Help: model.T("backup.place-help")}, f.place, func(s string) { f.place = s })
	f.fields.secret = k.SecretField(kit.Ask{ID: "secret", Label: model.T("backup.passphrase"), Help: model.T("backup.passphrase-help", "n", model.LeastPassphrase)}, func(s string) { f.secret = s })
	f.fields.again = k.SecretField(kit.Ask{ID: "again", Label: model.T("backup.again")}, func(s string) { f.again = s })
	f.fields.secret.SetText(f.secret)
	f.fields.again.SetText(f.again)
	f.fields.again.OnEnter(f.start)
	v.body = append(v.body, f.fields.place, f.fields.secret, k.BothSmall(model.T("backup.lost")), f.fields.again)
	if f.w.house.ReadOnly().IsZero() {
		v.body = append(v.body, k.Check("remember", model.T("backup.remember"), f.remember, func(on bool) { f.remember = on }), k.BothSmall(model.T("backup.remember-what")))
	}
	v.main = &action{"back-up-now", model.T("backup.now"), f.start}
	v.aside = &action{"plain", model.T("backup.plain"), f.askPlain}
	v.dropped = f.take
	v.focusID = "place"
	if f.place != "" {
		v.focusID = "secret"
	}
}

// take is a folder that was chosen or dropped.
func (f *backupForm) take(path string) {
	f.place, f.failed = path, model.Msg{}
	f.w.focusNext = "secret"
	f.w.redraw()
}

// folder is the place as a path; problems stand at its box.
func (f *backupForm) folder() (string, bool) {
	form := checked{w: f.w}
	path := pathOf(f.place)
	form.check(f.fields.place, unless(path != "", "backup.no-place"))
	return path, !form.bad()
}

// pathOf is a path as people paste them.
func pathOf(typed string) string {
	return strings.TrimPrefix(strings.Trim(strings.TrimSpace(typed), `"'`), "file://")
}

func (f *backupForm) start() {
	form := checked{w: f.w}
	folder, ok := f.folder()
	form.check(f.fields.secret, tooShort(f.secret))
	form.check(f.fields.again, unless(f.again == f.secret, "backup.differ"))
	if !form.bad() && ok {
		f.run(folder, f.secret)
	}
}

func tooShort(passphrase string) model.Msg {
	if !model.ShortPassphrase(passphrase) {
		return model.Msg{}
	}
	return model.T("backup.why.short", "n", model.LeastPassphrase)
}

// askPlain has somebody say twice that nothing shall protect the file.
func (f *backupForm) askPlain() {
	folder, ok := f.folder()
	if !ok {
		return
	}
	f.w.kit.Confirm(f.w.win.Canvas(), kit.Question{Title: model.T("backup.plain-title"), Body: model.T("backup.plain-warn"),
		Keep: model.T("do.cancel"), Do: model.T("backup.plain-do"), Danger: true, Then: func() { f.run(folder, "") }})
}

// run backs up beside the window's own work, and remembers where.
func (f *backupForm) run(folder, secret string) {
	f.busy, f.failed = true, model.Msg{}
	f.w.redraw()
	var made household.Backup
	var err error
	f.w.beside(func() { made, err = f.w.house.BackUp(folder, secret) }, func() {
		f.busy = false
		if err != nil {
			f.failed, f.looked = tell(err), false
		} else {
			f.done, f.secret, f.again = &made, "", ""
			if f.w.house.ReadOnly().IsZero() {
				f.w.keep(household.KeepBackup(made))
				f.keepSecret(secret)
			}
		}
		switch {
		case f.here && err != nil:
			f.w.turn(f.view) // from its top, where it says why
		case f.here:
			f.w.redraw()
		case err != nil: // the person has gone elsewhere meanwhile
			f.w.fail(err)
		default:
			f.w.say(model.T("backup.done"), false)
			f.w.bar()
		}
	})
}

// keepSecret remembers the passphrase, or forgets one, as was said. A backup
// without any says nothing of it.
func (f *backupForm) keepSecret(secret string) {
	keep := secret
	if !f.remember {
		keep = ""
	}
	if secret == "" || keep == f.w.house.Passphrase() {
		return
	}
	if err := f.w.house.Remember(keep); err != nil {
		f.w.fail(err)
	}
}

func (f *backupForm) atWork() []fyne.CanvasObject {
	return []fyne.CanvasObject{f.w.kit.Step(model.T("backup.working")), f.w.kit.Both(model.T("backup.working-what"))}
}

func (f *backupForm) finished(v *view) {
	k := f.w.kit
	v.body = []fyne.CanvasObject{k.Step(model.T("backup.done")), k.Both(model.T("backup.done-what"))}
	for _, m := range backupWords(*f.done) {
		v.body = append(v.body, k.BothStrong(m))
	}
	if f.done.Damaged > 0 {
		v.body = append(v.body, k.Both(model.T("backup.damaged-pictures", "n", f.done.Damaged)))
	}
	v.body = append(v.body, k.Both(model.T("backup.at")), k.Strong(kit.Said(f.done.Path)), k.Both(model.T("backup.done-next")))
	v.main = &action{"sheet", model.T("backup.sheet"), func() { f.w.recoverySheet(*f.done) }}
}

// recoverySheet makes the paper that says how to open a backup.
func (w *Window) recoverySheet(b household.Backup) {
	path, err := w.house.RecoverySheet(w.words, b)
	if err != nil {
		w.fail(err)
		return
	}
	w.say(model.T("backup.sheet-made", "path", path), false)
	w.redraw()
}

// restoreForm is a backup that is tried, and perhaps restored.
type restoreForm struct {
	w      *Window
	path   string
	files  []string // backups that were found
	looked bool
	secret string
	file   *kit.Field
	here   bool
	busy   model.Msg // what is being done; zero for nothing
	failed model.Msg
	got    *Rehearsed
}

// restore tries a backup, and goes on from it if somebody says so.
func (w *Window) restore() func() view {
	f := &restoreForm{w: w}
	return f.view
}

func (f *restoreForm) view() view {
	v := view{title: model.T("restore.title"), back: f.w.backTo(f.w.goBack), kept: true, enter: f.enter, leave: func() { f.here = false }}
	switch {
	case !f.busy.IsZero():
		if v.busy = f.busy.Key == "restore.restoring"; v.busy { // the book is closed meanwhile
			v.back = nil
		}
		v.body = []fyne.CanvasObject{f.w.kit.Step(f.busy), f.w.kit.Both(model.T("restore.working-what"))}
	case f.got != nil:
		f.compared(&v)
	default:
		f.ask(&v)
	}
	return v
}

// enter finds the backups that lie about.
func (f *restoreForm) enter() {
	f.here = true
	if !f.busy.IsZero() || f.got != nil {
		return
	}
	lookOnce(f.w, &f.looked, f.w.house.Backups, func(files []string) {
		if f.here && f.busy.IsZero() && f.got == nil && !slices.Equal(files, f.files) {
			f.files = files
			f.w.redraw()
		}
	})
}

// mostBackups is how many found backups are listed.
const mostBackups = 6

func (f *restoreForm) ask(v *view) {
	k := f.w.kit.AtOnce()
	if !f.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, f.failed))
	}
	v.body = append(v.body, k.Both(model.T("restore.why")))
	var items []kit.ListItem
	for i, p := range f.files[:min(mostBackups, len(f.files))] {
		items = append(items, kit.ListItem{ID: "backup-" + strconv.Itoa(i), Title: kit.Said(filepath.Base(p)), Note: kit.Said(filepath.Dir(p)), Open: func() { f.take(p) }})
	}
	if len(items) > 0 {
		v.body = append(v.body, k.BothSection(model.T("restore.found")), k.List(items...))
	}
	f.file = k.Field(kit.Ask{ID: "file", Width: 60, Label: model.T("restore.file"), Help: model.T("restore.file-help")}, f.path, func(s string) { f.path = s })
	secret := k.SecretField(kit.Ask{ID: "secret", Label: model.T("restore.passphrase"), Help: model.T("restore.passphrase-help")}, func(s string) { f.secret = s })
	secret.SetText(f.secret)
	secret.OnEnter(f.rehearse)
	v.body = append(v.body, f.file, secret)
	v.main = &action{"rehearse", model.T("restore.look"), f.rehearse}
	v.dropped = f.take
	v.focusID = "file"
}

func (f *restoreForm) take(path string) {
	f.path, f.failed = path, model.Msg{}
	f.w.focusNext = "secret"
	f.w.redraw()
}

func (f *restoreForm) rehearse() {
	form := checked{w: f.w}
	path := pathOf(f.path)
	form.check(f.file, unless(path != "", "restore.no-file"))
	if form.bad() {
		return
	}
	f.busy, f.failed = model.T("restore.working"), model.Msg{}
	f.w.redraw()
	var got Rehearsed
	var err error
	f.w.beside(func() { got, err = f.w.house.Rehearse(path, f.secret) }, func() {
		f.busy = model.Msg{}
		if err != nil {
			f.failed = tell(err)
		} else {
			f.got = &got
		}
		if f.here {
			f.w.turn(f.view)
		}
	})
}

// compared sets what is in the backup beside what is in the book.
func (f *restoreForm) compared(v *view) {
	k := f.w.kit
	made := model.At(f.got.Made.In(f.w.house.Now().Location()))
	if !f.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, f.failed))
	}
	v.body = append(v.body, k.Step(model.T("restore.whole")), k.Both(model.T("restore.made", "when", made)), k.Text(kit.Said(pathOf(f.path))))
	if f.got.OtherBook {
		v.body = append(v.body, k.Notice(kit.NoticeCare, model.T("restore.other-book")))
	}
	for _, r := range f.got.Rows {
		row := model.T("restore.row", "what", r.What, "backup", r.Backup, "book", r.Book)
		if r.Backup != r.Book {
			v.body = append(v.body, k.BothStrong(row))
		} else {
			v.body = append(v.body, k.Both(row))
		}
	}
	v.back = f.w.backTo(func() {
		f.got, f.failed = nil, model.Msg{}
		f.w.redraw()
	})
	v.aside = &action{"use", model.T("restore.use"), func() {
		f.w.kit.Confirm(f.w.win.Canvas(), kit.Question{Title: model.T("restore.use-title", "when", made), Body: model.T("restore.use-warn"),
			Keep: model.T("do.cancel"), Do: model.T("restore.use"), Danger: true, Then: f.use})
	}}
}

// use goes on from the backup. Where that works the window is opened anew on it,
// and this page is gone.
func (f *restoreForm) use() {
	f.busy, f.failed = model.T("restore.restoring"), model.Msg{}
	f.w.redraw()
	var err error
	f.w.beside(func() { err = f.w.house.Restore(pathOf(f.path), f.secret) }, func() {
		if err == nil {
			return
		}
		f.busy, f.failed = model.Msg{}, tell(err)
		if f.here {
			f.w.turn(f.view)
		} else {
			f.w.fail(err)
		}
	})
}
