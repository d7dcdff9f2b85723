package main

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/app/backup"
	"quietwater/app/print"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/app/whole"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/ui"
)

// tellOf says what an error of a backup or of the store means to a person.
func tellOf(err error) model.Msg {
	if m := backup.Told(err); !m.IsZero() {
		return m
	}
	return session.Tell(err)
}

// failure is an error of a backup that speaks to the reader.
type failure struct{ error }

func (f failure) Tell() model.Msg { return tellOf(f.error) }
func (f failure) Unwrap() error   { return f.error }

func told(err error) error {
	if err == nil {
		return nil
	}
	return failure{err}
}

// CanBackUp reports a book on disk.
func (h *home) CanBackUp() bool { return h.book != nil }

// BackupPlaces lists the drives that are mounted where systems put sticks.
func (h *home) BackupPlaces() []string { return drives() }

// driveRoots are the folders below which systems show sticks and other drives.
func driveRoots() []string {
	user := filepath.Base(homeFolder())
	switch runtime.GOOS {
	case "darwin":
		return []string{"/Volumes"}
	case "windows":
		return nil
	}
	return []string{filepath.Join("/run/media", user), filepath.Join("/media", user), "/media", "/mnt"}
}

func homeFolder() string {
	dir, _ := os.UserHomeDir()
	return dir
}

func drives() []string {
	var out []string
	if runtime.GOOS == "windows" {
		for c := 'D'; c <= 'Z'; c++ { // C is where the book lies
			if dir := string(c) + `:\`; isFolder(dir) {
				out = append(out, dir)
			}
		}
		return out
	}
	for _, root := range driveRoots() {
		list, _ := os.ReadDir(root)
		for _, e := range list {
			dir := filepath.Join(root, e.Name())
			// Folders that only hold the drives of a user are no places themselves.
			if isFolder(dir) && !strings.HasPrefix(e.Name(), ".") && !slices.Contains(driveRoots(), dir) && !slices.Contains(out, dir) {
				out = append(out, dir)
			}
		}
	}
	return out
}

func isFolder(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.IsDir()
}

// Backups lists what looks like a backup in the last place and on the drives.
func (h *home) Backups() []string {
	places := drives()
	if b, made := h.State().Records.LastBackup(); made {
		places = append(places, filepath.Dir(b.Path))
	}
	type found struct {
		path string
		at   time.Time
	}
	var all []found
	for _, dir := range places {
		list, _ := os.ReadDir(dir)
		for _, e := range list {
			st, err := e.Info()
			path := filepath.Join(dir, e.Name())
			if err == nil && st.Mode().IsRegular() && backup.IsName(e.Name()) && !slices.ContainsFunc(all, func(f found) bool { return f.path == path }) {
				all = append(all, found{path, st.ModTime()})
			}
		}
	}
	slices.SortFunc(all, func(a, b found) int { return cmp.Or(b.at.Compare(a.at), cmp.Compare(a.path, b.path)) })
	var out []string
	for _, f := range all {
		out = append(out, f.path)
	}
	return out
}

func (h *home) backupOptions(passphrase string) backup.Options {
	return backup.Options{Passphrase: passphrase, Now: h.Now(), Version: Version}
}

// BackUp writes the book and its pictures into a new file in a folder.
func (h *home) BackUp(folder, passphrase string) (household.Backup, error) {
	if h.book == nil {
		return household.Backup{}, told(store.ErrNotFound)
	}
	folder, err := filepath.Abs(folder)
	if err != nil {
		return household.Backup{}, told(err)
	}
	o := h.backupOptions(passphrase)
	f, err := backup.Write(context.Background(), h.book, backup.FreeName(folder, o), o)
	if err != nil {
		return household.Backup{}, told(err)
	}
	return remembered(f), nil
}

// secretFile is where the passphrase of backups is remembered if somebody says
// so: beside the book, which holds in clear what backups lock. It is not in the
// book, so that it goes into no backup, no safe copy and no history.
func (h *home) secretFile() string { return h.Path() + ".passphrase" }

// Passphrase is the one that is remembered, "" for none.
func (h *home) Passphrase() string {
	if h.book == nil {
		return ""
	}
	b, _ := os.ReadFile(h.secretFile())
	return strings.TrimSuffix(string(b), "\n")
}

// Remember keeps a passphrase for the next backups; "" forgets it.
func (h *home) Remember(passphrase string) error {
	if h.book == nil {
		return told(store.ErrNotFound)
	}
	if passphrase != "" {
		return told(whole.Over(h.secretFile(), []byte(passphrase+"\n")))
	}
	err := os.Remove(h.secretFile())
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	return told(err)
}

// remembered is a backup as the household keeps it in mind.
func remembered(f backup.Found) household.Backup {
	return household.Backup{At: f.Made, Path: f.Path, Encrypted: f.Encrypted, Persons: f.Counts.Persons, Entries: f.Counts.AllEntries(),
		Pictures: f.Counts.Pictures, Damaged: f.Counts.DamagedPictures}
}

// Rehearse tries a backup and sets its numbers beside those of the book.
func (h *home) Rehearse(file, passphrase string) (ui.Rehearsed, error) {
	f, err := backup.Rehearse(context.Background(), file, h.Path(), h.backupOptions(passphrase))
	if err != nil {
		return ui.Rehearsed{}, told(err)
	}
	now, err := backup.Count(context.Background(), h.Path())
	if err != nil {
		return ui.Rehearsed{}, told(err)
	}
	out := ui.Rehearsed{Made: f.Made, Encrypted: f.Encrypted, OtherBook: f.Counts.Book != now.Book && now.Persons > 0}
	for _, r := range backup.Beside(f.Counts, now) {
		what := model.T("backup.what." + r.What)
		if kind, ok := strings.CutPrefix(r.What, backup.Entries); ok {
			what = model.T("kind." + kind)
		}
		out.Rows = append(out.Rows, ui.RehearsedRow{What: what, Backup: r.Backup, Book: r.Book})
	}
	return out, nil
}

// Restore goes on from a backup. The book is closed only once everything lies
// ready beside it.
func (h *home) Restore(file, passphrase string) error {
	ctx := context.Background()
	ready, err := backup.Prepare(ctx, file, h.Path(), h.backupOptions(passphrase))
	if err != nil {
		return told(err)
	}
	if err := h.Session.Close(ctx); err != nil && !errors.Is(err, store.ErrNoSnapshot) {
		ready.Drop()
		fyne.Do(h.run.open)
		return told(err)
	}
	h.run.session.Store(nil)
	h.run.take(ready)
	return nil
}

// restoreBackup goes on from a backup where the book cannot be opened because of
// trouble.
func (r *running) restoreBackup(file, passphrase string, trouble error) {
	ready, err := backup.Prepare(context.Background(), file, r.options.book, backup.Options{Passphrase: passphrase, Now: r.clock.Now(), Version: Version})
	if err != nil {
		fyne.Do(func() { r.troubleNow(trouble, tellOf(err)) })
		return
	}
	r.take(ready)
}

// take gives what is ready the book's place, and opens it.
func (r *running) take(ready *backup.Ready) {
	was, err := ready.Take(true)
	fyne.Do(func() {
		if err != nil {
			r.troubleNow(err, tellOf(err))
			return
		}
		came, made := remembered(ready.Found), model.At(ready.Made.In(r.clock.Now().Location()))
		r.came, r.news = &came, model.T("restore.done", "when", made, "path", was)
		if was == "" {
			r.news = model.T("restore.done-alone", "when", made)
		}
		r.open()
	})
}

// RecoverySheet makes the paper that goes with a backup and opens it for
// printing.
func (h *home) RecoverySheet(w *i18n.Pair, b household.Backup) (string, error) {
	pdf, err := print.RecoverySheet(w, b, model.At(b.At.In(h.Now().Location())))
	if err != nil {
		return "", err
	}
	path, err := h.write("recovery-sheet-"+b.At.Format(time.DateOnly)+".pdf", pdf)
	if err == nil {
		h.open(path)
	}
	return path, err
}

// Compare tells what another copy of the book would bring. A backup of one is
// taken out of its file first, and waits beside the book for Merge.
func (h *home) Compare(path, passphrase string) (merge.Coming, error) {
	h.forgetBrought()
	ctx := context.Background()
	if backup.Begins(path) {
		ready, err := backup.Prepare(ctx, path, h.Path(), h.backupOptions(passphrase))
		if err != nil {
			return merge.Coming{}, told(err)
		}
		h.brought, h.broughtFrom = ready, path
		path = ready.Book()
	}
	c, err := h.Session.Compare(ctx, path)
	if err != nil {
		h.forgetBrought()
	}
	return c, err
}

// Merge takes in what was compared last.
func (h *home) Merge(path string, same [][2]model.ID) (merge.Coming, error) {
	if h.brought != nil && h.broughtFrom == path {
		path = h.brought.Book()
	}
	c, err := h.Session.Merge(context.Background(), path, same)
	if err == nil {
		h.forgetBrought()
	}
	return c, err
}

// forgetBrought removes what was taken out of a backup to be merged. A program
// that ends before leaves it to the next start, which sweeps it away.
func (h *home) forgetBrought() {
	if h.brought != nil {
		h.brought.Drop()
	}
	h.brought, h.broughtFrom = nil, ""
}
