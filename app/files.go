package main

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"quietwater/app/exchange"
	"quietwater/app/fhir"
	"quietwater/app/moveout"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/app/whole"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/ui"
)

// toldError is an error that speaks to the reader.
type toldError struct {
	error
	say model.Msg
}

func (e toldError) Tell() model.Msg { return e.say }
func (e toldError) Unwrap() error   { return e.error }

// TakeIn looks at a file and saves nothing. What begins as JSON or XML does is
// read as FHIR, which says so if it is neither; all else as a plain table.
func (h *home) TakeIn(path, person string) (ui.Incoming, error) {
	f, err := os.Open(path)
	if err != nil {
		return ui.Incoming{}, toldError{err, model.T("learn.file-unreadable")}
	}
	defer f.Close()
	r := bufio.NewReader(f)
	book, now := h.State().Records.Book, h.Now()
	if marked(r) {
		return fromFHIR(fhir.Import(r, fhir.Target{Book: book, Zone: now.Location(), Now: now, Person: person, NewID: h.NewID, KnownAnswer: isRule}))
	}
	got := exchange.ImportAs(person, r, book, now.Location(), now, h.NewID, isRule)
	if got.FileRefused != nil {
		return ui.Incoming{}, refusedFile(*got.FileRefused)
	}
	return ui.Incoming{Accepted: got.Accepted, Changes: changesOf(got.Book), Refused: got.Refused, Numbered: true, Passed: got.Ignored, Patients: got.Names}, nil
}

// marked reports that a text begins with a brace, bracket or angle.
func marked(r *bufio.Reader) bool {
	head, _ := r.Peek(512)
	head = bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	return len(head) > 0 && bytes.IndexByte([]byte("{[<"), head[0]) >= 0
}

func isRule(id string) bool {
	_, known := finding.FindRule(id)
	return known
}

func refusedFile(why model.Msg) error { return toldError{errors.New(why.Key), why} }

func changesOf(b model.Book) household.Changes {
	return household.Changes{Persons: b.Persons, Entries: b.Entries, Packs: b.Packs}
}

func fromFHIR(got fhir.Result) (ui.Incoming, error) {
	if got.FileRefused != nil {
		return ui.Incoming{}, refusedFile(*got.FileRefused)
	}
	in := ui.Incoming{Accepted: got.Accepted, Changes: changesOf(got.Book), Refused: got.Refused, Patients: got.Patients}
	for _, u := range got.Unknown {
		in.Unknown = append(in.Unknown, ui.UnknownCode{Name: u.Display, Code: u.Code, Unit: u.Unit, Why: u.Why})
	}
	for _, p := range got.Passed {
		in.Passed = append(in.Passed, p.Name)
	}
	return in, nil
}

// WriteBook writes the whole book to a file, or a folder, that is not there yet.
func (h *home) WriteBook(w *i18n.Pair, form, path string) (string, error) {
	book, now := h.State().Records.Book, h.Now()
	name, write := "household-"+now.Format("2006-01-02-150405")+".csv", func(w io.Writer) error { return exchange.WriteTable(w, book.Rows()) }
	if form == ui.FormFHIR {
		name, write = name[:len(name)-len("csv")]+"json", func(w io.Writer) error { return fhir.Write(w, book, now) }
	}
	if form == ui.FormFolder {
		name = moveout.FolderName(now)
	}
	switch st, err := os.Stat(path); {
	case path == "":
		dir, err := h.papers()
		if err != nil {
			return "", toldError{err, model.T("exchange.cannot-write")}
		}
		path = filepath.Join(dir, name)
	case err == nil && st.IsDir():
		path = filepath.Join(path, name)
	}
	if form == ui.FormFolder {
		return path, h.moveOut(w, path)
	}
	return path, writeNew(path, write)
}

// moveOut writes the folder to leave with.
func (h *home) moveOut(w *i18n.Pair, folder string) error {
	_, err := moveout.Write(folder, moveout.Source{State: h.State(), Words: w, Letter: h.State().Records.DoctorPage().Letter, Picture: h.kept})
	switch {
	case errors.Is(err, moveout.ErrThere):
		return toldError{err, model.T("exchange.exists", "path", folder)}
	case err != nil:
		return toldError{err, model.T("exchange.cannot-write")}
	}
	return nil
}

// kept is a picture kept with a test, nil where there is none.
func (h *home) kept(e model.Entry, whole bool) ([]byte, error) {
	b, _, err := h.Session.Picture(session.PictureOf{Person: e.Person, Entry: e.ID, Whole: whole})
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil
	}
	return b, err
}

// writeNew never overwrites, and leaves no half of a file.
func writeNew(path string, write func(io.Writer) error) error {
	err := whole.New(path, write)
	switch {
	case errors.Is(err, fs.ErrExist):
		return toldError{err, model.T("exchange.exists", "path", path)}
	case err != nil:
		return toldError{err, model.T("exchange.cannot-write")}
	}
	return nil
}
