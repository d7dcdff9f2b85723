// Package moveout owns the folder with which a household leaves this program:
// everything it kept, in forms that need no program of ours, and a text that
// explains them in its languages.
//
// It refuses to know the forms themselves: exchange, fhir, print and calendar
// do.
package moveout

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"quietwater/app/calendar"
	"quietwater/app/exchange"
	"quietwater/app/fhir"
	"quietwater/app/print"
	"quietwater/app/whole"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/page"
	"quietwater/model/todo"
)

// Source is what moves out.
type Source struct {
	State *household.State
	Words *i18n.Pair // of the explaining text and the pages: both languages of the house
	// Picture gives what a test was read from, and with whole the photograph it
	// was cut from; nil where none was kept.
	Picture func(e model.Entry, whole bool) ([]byte, error)
	Letter  bool // paper of that size instead of A4
}

// Done is what was written.
type Done struct {
	Folder     string `json:"folder"`
	Entries    int    `json:"entries"`
	Pages      int    `json:"pages"`
	Pictures   int    `json:"pictures"`
	Unreadable int    `json:"unreadable"` // pictures that were kept and could not be read
}

// ErrThere says that something lies where the folder was to be made.
var ErrThere = fs.ErrExist

// Write makes the folder. It comes into being whole, under its name, or not at
// all; what lies there already is [ErrThere] and not touched.
func Write(folder string, from Source) (Done, error) {
	if _, err := os.Lstat(folder); err == nil {
		return Done{}, &fs.PathError{Op: "make", Path: folder, Err: ErrThere}
	}
	part, err := os.MkdirTemp(filepath.Dir(folder), "."+filepath.Base(folder)+".part-")
	if err != nil {
		return Done{}, err
	}
	defer os.RemoveAll(part) // where it was not given its name
	w := &writer{Source: from, dir: part, done: Done{Folder: folder}}
	if err := errors.Join(w.all(), w.sync()); err != nil {
		return Done{}, err
	}
	if err := os.Rename(part, folder); err != nil {
		return Done{}, err
	}
	return w.done, whole.SyncFolder(filepath.Dir(folder))
}

// writer fills the folder, and gathers what is to be said of it.
type writer struct {
	Source
	dir  string
	done Done
	said []model.Msg
}

func (w *writer) all() error {
	book, now := w.State.Records.Book, w.State.Now
	w.done.Entries = len(book.Entries)
	if err := w.file("table.csv", func(to io.Writer) error { return exchange.WriteTable(to, book.Rows()) }); err != nil {
		return err
	}
	if err := w.file("fhir.json", func(to io.Writer) error { return fhir.Write(to, book, now) }); err != nil {
		return err
	}
	w.say("folder.table")
	w.say("folder.columns")
	w.say("folder.fhir")
	if items := todo.Of(*w.State); len(items) > 0 {
		if err := w.file("to-dos.ics", func(to io.Writer) error { return calendar.Write(to, w.Words, items, true, now) }); err != nil {
			return err
		}
		w.say("folder.todos")
	}
	if err := w.kinds(); err != nil {
		return err
	}
	names := map[string]bool{}
	for _, m := range w.State.Members {
		if err := w.member(m, unused(names, m.Person.Name)); err != nil {
			return err
		}
	}
	if w.done.Unreadable > 0 {
		w.say("folder.missing", "n", w.done.Unreadable)
	}
	return w.file("read-me.txt", w.explain)
}

func (w *writer) say(key string, args ...any) { w.said = append(w.said, model.T(key, args...)) }

// kinds writes the household's own kinds of strip: without them a reading's
// blocks could not be told.
func (w *writer) kinds() error {
	names := map[string]bool{}
	for _, k := range w.State.Records.OwnKinds {
		b, err := k.Bytes()
		if err != nil {
			return err
		}
		if err := w.file(filepath.Join("strip-kinds", unused(names, k.Name)+".json"), same(b)); err != nil {
			return err
		}
	}
	if len(names) > 0 {
		w.say("folder.kinds")
	}
	return nil
}

// member writes one person's page with everything after it, from the first
// entry on, and their photographs.
func (w *writer) member(m household.Member, dir string) error {
	entries := m.Result.History.Entries
	w.say("folder.person", "name", m.Person.Name, "n", len(entries))
	asked := page.Asked{Since: w.State.Now, Questions: w.State.Records.Asks(m.Person.ID), Packs: w.State.Records.Book.Packs}
	for _, e := range entries {
		if t := e.When.Time(); !e.When.IsZero() && e.Kind != model.Condition && e.Kind != model.Medicine && e.Kind != model.Profile && t.Before(asked.Since) {
			asked.Since = t
		}
	}
	d := print.Doctor{Result: m.Result, Asked: asked, Paper: print.A4, More: true}
	if w.Letter {
		d.Paper = print.Letter
	}
	for _, tag := range []string{w.Words.First(), w.Words.Second()} {
		if tag != "" {
			d.Words = append(d.Words, w.Words.In(tag))
		}
	}
	pdf, _, err := print.DoctorPage(d)
	if err != nil {
		return err
	}
	name := filepath.Join(dir, "page.pdf")
	if err := w.file(name, same(pdf)); err != nil {
		return err
	}
	w.done.Pages++
	w.say("folder.page", "file", filepath.ToSlash(name))
	return w.pictures(entries, filepath.Join(dir, "photographs"))
}

func (w *writer) pictures(entries []model.Entry, dir string) error {
	names, before := map[string]bool{}, w.done.Pictures
	for _, e := range entries {
		if e.Kind != model.Strip {
			continue
		}
		for _, whole := range []bool{false, true} {
			b, err := w.Picture(e, whole)
			if err != nil {
				w.done.Unreadable++
				continue
			}
			if b == nil {
				continue
			}
			stem := e.When.Time().Format("2006-01-02-1504")
			if whole {
				stem += "-whole"
			}
			if err := w.file(filepath.Join(dir, unused(names, stem)+suffix(b)), same(b)); err != nil {
				return err
			}
			w.done.Pictures++
		}
	}
	if n := w.done.Pictures - before; n > 0 {
		w.say("folder.photographs", "file", filepath.ToSlash(dir), "n", n)
	}
	return nil
}

// explain says in the languages of the house what lies here.
func (w *writer) explain(to io.Writer) error {
	lines := slices.Concat([]model.Msg{model.T("folder.title", "when", model.At(w.State.Now)), model.T("folder.why")}, w.said)
	var b strings.Builder
	for _, tag := range []string{w.Words.First(), w.Words.Second()} {
		if tag == "" {
			continue
		}
		if b.Len() > 0 {
			b.WriteString("\n\n")
		}
		p := w.Words.In(tag)
		for i, m := range lines {
			if b.WriteString(p.T(m) + "\n"); i == 0 {
				b.WriteString("\n")
			}
		}
	}
	_, err := io.WriteString(to, b.String())
	return err
}

func same(b []byte) func(io.Writer) error {
	return func(to io.Writer) error {
		_, err := to.Write(b)
		return err
	}
}

// file writes one file, readable by its owner alone, and waits for the disk.
func (w *writer) file(name string, write func(io.Writer) error) error {
	path := filepath.Join(w.dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	err = errors.Join(write(f), f.Sync(), f.Close())
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	return nil
}

// sync has every folder on the disk before the name is given.
func (w *writer) sync() error {
	return filepath.WalkDir(w.dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		return whole.SyncFolder(path)
	})
}

// FileName is a name as every system takes one.
func FileName(name string) string {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, name)
	if r := []rune(plain); len(r) > 40 {
		plain = string(r[:40])
	}
	return plain
}

// unused is such a name, told from those used before.
func unused(used map[string]bool, name string) string {
	plain := cmp.Or(FileName(name), "-")
	free := plain
	for n := 2; used[free]; n++ {
		free = fmt.Sprint(plain, "-", n)
	}
	used[free] = true
	return free
}

// suffix is what programs know a picture's kind by.
func suffix(b []byte) string {
	switch {
	case bytes.HasPrefix(b, []byte("\x89PNG")):
		return ".png"
	case bytes.HasPrefix(b, []byte("\xff\xd8")):
		return ".jpg"
	case len(b) > 12 && string(b[4:8]) == "ftyp":
		return ".heic"
	}
	return ".bin"
}

// FolderName is what the folder is called where nobody names it.
func FolderName(now time.Time) string { return "household-" + now.Format("2006-01-02-150405") }
