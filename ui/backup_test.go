package ui

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
)

// backupPlaces are the pages of backups, for [places].
func backupPlaces(task func(string, func(*Window) func() view)) {
	task("back up, known", func(w *Window) func() view {
		w.house.Remember(passphrase)
		return (&backupForm{w: w, looked: true, place: "/media/home/BLUE-STICK"}).view
	})
	backUp := func(name string, do func(*backupForm)) {
		task("back up"+name, func(w *Window) func() view {
			f := &backupForm{w: w, looked: true, place: "/media/home/BLUE-STICK"}
			do(f)
			return f.view
		})
	}
	backUp("", func(f *backupForm) { f.places = []string{"/media/home/BLUE-STICK", "/run/media/home/" + longName} })
	backUp(", failed", func(f *backupForm) {
		f.failed = model.T("backup.failed", "why", model.T("backup.why.no-space"), "step", model.T("backup.step.write"))
	})
	backUp(", at work", func(f *backupForm) { f.busy = true })
	backUp(", done", func(f *backupForm) {
		f.done = &household.Backup{At: morning, Path: "/media/home/BLUE-STICK/quietwater-2025-08-06.zip.age", Persons: 2, Entries: 1204, Pictures: 31, Damaged: 2}
	})
	restore := func(name string, do func(*restoreForm)) {
		task("restore"+name, func(w *Window) func() view {
			f := &restoreForm{w: w, looked: true}
			do(f)
			return f.view
		})
	}
	restore("", func(f *restoreForm) {
		f.files = []string{"/media/home/BLUE-STICK/quietwater-2025-08-06.zip.age", "/media/home/BLUE-STICK/quietwater-2025-07-06.zip"}
	})
	restore(", failed", func(f *restoreForm) { f.failed = model.T("backup.why.passphrase") })
	restore(", at work", func(f *restoreForm) { f.busy = model.T("restore.working") })
	restore(", compared", func(f *restoreForm) {
		f.path = "/media/home/BLUE-STICK/quietwater-2025-07-06.zip"
		f.got = &Rehearsed{Made: morning.AddDate(0, -1, 0), OtherBook: true, Rows: []RehearsedRow{{model.T("backup.what.persons"), 2, 2},
			{model.T("kind.vital"), 411, 1204}, {model.T("backup.what.pictures"), 0, 31}}}
	})
}

const passphrase = "lilies need water daily"

func TestBackUp(t *testing.T) {
	b := newBook(demoBook())
	b.disks = []string{"/media/home/RED-STICK"}
	d := open(t, b)
	d.w.show("household")
	d.shows("backup.last", "when", model.At(morning.AddDate(0, 0, -9)))
	d.key("back-up")
	if d.focused() != "secret" { // the last place is there already
		t.Errorf("the keyboard is at %q", d.focused())
	}
	d.tap("place-0")
	d.fill("secret", "short")
	d.fill("again", "short")
	d.key("back-up-now")
	d.shows("backup.why.short", "n", model.LeastPassphrase)
	d.fill("secret", passphrase)
	d.fill("again", passphrase+"!")
	d.key("back-up-now")
	d.shows("backup.differ")
	if len(b.backups) > 0 {
		t.Fatal("it was made all the same")
	}
	d.fill("again", passphrase)
	d.press("Return")
	const path = "/media/home/RED-STICK/quietwater-2025-08-06.zip.age"
	if b.backups[path] != passphrase {
		t.Fatalf("backups: %v", b.backups)
	}
	d.shows("backup.done")
	d.shows("backup.damaged-pictures", "n", 1)
	if strings.Contains(d.text(), passphrase) {
		t.Error("the passphrase is on the screen")
	}
	d.key("sheet")
	if b.sheets[0] != "recovery "+path {
		t.Errorf("sheets: %v", b.sheets)
	}
	d.key("back")
	made, ok := b.records().LastBackup()
	if !ok || made.Path != path || !made.At.Equal(morning) {
		t.Errorf("remembered: %+v", made)
	}
	for _, text := range b.records().Settings {
		if strings.Contains(text, passphrase) {
			t.Error("the passphrase is kept in the book")
		}
	}
	d.shows("backup.last", "when", model.At(morning))
	d.key("back-up") // again, to the same place, with what must be typed and one key
	d.fill("secret", passphrase)
	d.fill("again", passphrase)
	delete(b.backups, path)
	d.press("Return")
	if b.backups[path] != passphrase {
		t.Errorf("the last place is not taken: %v", b.backups)
	}
}

func TestBackUpWithoutAPassphrase(t *testing.T) {
	b := newBook(demoBook())
	d := open(t, b)
	d.w.open(d.w.backUp())
	d.fill("place", "")
	d.key("plain")
	d.shows("backup.no-place")
	d.fill("place", ` "file:///media/home/my stick" `)
	d.key("plain")
	d.shows("backup.plain-warn")
	if len(b.backups) > 0 {
		t.Fatal("one press was enough")
	}
	d.press("Escape")
	if len(b.backups) > 0 {
		t.Fatal("Escape made it")
	}
	d.key("plain")
	d.tap("confirm")
	if p, made := b.backups["/media/home/my stick/quietwater-2025-08-06.zip.age"]; !made || p != "" {
		t.Errorf("backups: %v", b.backups)
	}
}

func TestBackUpThatFails(t *testing.T) {
	b := newBook(demoBook())
	d := open(t, b)
	d.w.open(d.w.backUp())
	d.w.Dropped([]string{"/media/home/FULL"})
	d.fill("secret", passphrase)
	d.fill("again", passphrase)
	b.fails = told{model.T("backup.why.no-space")}
	d.key("back-up-now")
	d.shows("backup.why.no-space")
	if made, _ := b.records().LastBackup(); strings.Contains(made.Path, "FULL") {
		t.Error("it is remembered as made")
	}
	b.fails = nil
	d.key("back-up-now") // nothing need be typed again
	d.shows("backup.done")
}

func TestRestore(t *testing.T) {
	b := newBook(demoBook())
	const path = "/media/home/RED-STICK/quietwater-2025-07-06.zip.age"
	b.backups = map[string]string{path: passphrase}
	d := open(t, b)
	d.w.show("household")
	d.key("restore")
	d.key("rehearse")
	d.shows("restore.no-file")
	d.tap("backup-0")
	d.fill("secret", "wrong")
	d.key("rehearse")
	d.shows("backup.why.passphrase")
	d.fill("secret", passphrase)
	d.press("Return")
	d.shows("restore.whole")
	n := len(b.records().Book.Entries)
	d.shows("restore.row", "what", model.T("kind.strip"), "backup", n-3, "book", n)
	d.hides("restore.other-book")
	d.key("use")
	d.shows("restore.use-warn")
	d.press("Escape")
	if len(b.restored) > 0 {
		t.Fatal("Escape restored it")
	}
	b.fails = errors.New("odd")
	d.key("use")
	d.tap("confirm")
	d.shows("trouble.other", "detail", "odd")
	b.fails = nil
	d.key("use")
	d.tap("confirm")
	if len(b.restored) != 1 || b.restored[0] != path {
		t.Errorf("restored: %v", b.restored)
	}
}

// Whoever starts on a new computer finds the way to the backup of the old one.
func TestRestoreOnANewComputer(t *testing.T) {
	b := newBook(household.Records{})
	b.backups = map[string]string{"/media/home/RED-STICK/quietwater-2025-07-06.zip": ""}
	d := open(t, b)
	d.shows("welcome.what")
	d.key("restore")
	d.tap("backup-0")
	d.key("rehearse")
	d.shows("restore.whole")
	d.press("Escape")
	d.press("Escape")
	d.shows("welcome.what")
}

// A book that cannot be opened can be brought back where no safe copy is left.
func TestRestoreInTrouble(t *testing.T) {
	d := open(t, newBook(demoBook()))
	got := make(chan [2]string, 1)
	ShowTrouble(d.win, Trouble{Why: model.T("trouble.damaged"), Restore: func(file, secret string) { got <- [2]string{file, secret} }},
		func(fyne.Theme) {}, Options{Language: "en"})
	d.settle()
	d.tap("restore")
	d.shows("restore.no-file")
	d.fill("file", "'/media/home/RED-STICK/b.zip.age'")
	d.fill("secret", passphrase)
	d.tap("restore")
	d.shows("restore.restoring")
	if want := [2]string{"/media/home/RED-STICK/b.zip.age", passphrase}; <-got != want {
		t.Error("something else was restored")
	}
}

// Today reminds of a backup that is due, and only where one can be made.
func TestBackupIsDue(t *testing.T) {
	b := newBook(demoBook())
	d := open(t, b)
	d.hides("backup.due")
	b.pass(22 * 24 * 3600e9)
	d.w.show("today")
	d.shows("backup.due")
	d.key("back-up")
	d.shows("backup.why")
	d.w.show("today")
	d.key("todos")
	d.shows("todo.backup")
	b.path = ""
	d.w.show("today")
	d.hides("backup.due")
	never := demoBook()
	delete(never.Settings, household.SetBackup)
	open(t, newBook(never)).shows("backup.due-none")
}

// TestOneKey: once the place is known and the passphrase remembered, F10 is all
// that a backup takes; a passphrase that is not to be remembered any more is
// forgotten, and none is remembered unless somebody says so.
func TestOneKey(t *testing.T) {
	b := newBook(demoBook())
	d := open(t, b)
	path := filepath.Dir(mustLast(t, b).Path) + "/quietwater-2025-08-06.zip.age"
	d.w.show("household")
	d.press("F10")
	if len(b.backups) > 0 {
		t.Fatal("it was made without a passphrase")
	}
	d.fill("secret", passphrase)
	d.fill("again", passphrase)
	d.key("back-up-now")
	if b.backups[path] != passphrase || b.secret != "" {
		t.Fatalf("backups: %v; remembered: %q", b.backups, b.secret)
	}
	d.key("back")
	d.key("back-up")
	d.fill("secret", passphrase)
	d.fill("again", passphrase)
	d.tap("remember")
	d.key("back-up-now")
	if b.secret != passphrase {
		t.Fatalf("it remembers %q", b.secret)
	}
	d.key("back")
	delete(b.backups, path)
	d.press("F10")
	d.shows("backup.done")
	if b.backups[path] != passphrase {
		t.Fatalf("one key made %v", b.backups)
	}
	d.key("back")
	d.key("back-up")
	d.shows("backup.known", "folder", filepath.Dir(path))
	if strings.Contains(d.text(), passphrase) {
		t.Error("the passphrase is on the screen")
	}
	d.key("otherwise")
	d.fill("secret", passphrase)
	d.fill("again", passphrase)
	d.tap("remember")
	d.key("back-up-now")
	if b.secret != "" {
		t.Errorf("it still remembers %q", b.secret)
	}
	d.key("back")
	b.fails = nil
	if d.w.changed() {
		t.Error("something is unsaved")
	}
}

func mustLast(t *testing.T, b *book) household.Backup {
	t.Helper()
	last, made := b.records().LastBackup()
	if !made {
		t.Fatal("no backup was made")
	}
	return last
}
