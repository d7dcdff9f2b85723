package main

import (
	"context"
	"crypto/rand"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/app/session"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui"
)

func demoHome(t *testing.T, r household.Records) *home {
	t.Helper()
	s, err := session.Open(context.Background(), session.NewMemory(r), newClock(time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC), 1), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return &home{run: &running{}, Session: s, dir: t.TempDir()}
}

// The invented household written to a file in each form and taken in by an
// empty book: one step, which undo takes back; looked at again, nothing is new.
func TestFilesGoOutAndComeIn(t *testing.T) {
	for _, form := range []string{ui.FormTable, ui.FormFHIR} {
		from := demoHome(t, household.Demo(time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)))
		path, err := from.WriteBook(english(t), form, t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		to := demoHome(t, household.Records{})
		in, err := to.TakeIn(path, "")
		if err != nil || len(in.Refused)+len(in.Unknown)+len(in.Passed) > 0 || in.Numbered != (form == ui.FormTable) {
			t.Fatalf("%s: %v %+v", form, err, in)
		}
		if len(to.State().Records.Book.Entries) > 0 {
			t.Fatalf("%s: looking saved something", form)
		}
		if err := to.Save(in.Changes); err != nil {
			t.Fatal(err)
		}
		want, got := from.State().Records.Book.Rows(), to.State().Records.Book.Rows()
		if len(want) != len(got) || len(want) != in.Accepted {
			t.Errorf("%s: %d rows became %d, %d accepted", form, len(want), len(got), in.Accepted)
		}
		if again, err := to.TakeIn(path, ""); err != nil || again.Accepted != 0 || len(again.Refused) != in.Accepted {
			t.Errorf("%s: again: %v, %d accepted", form, err, again.Accepted)
		}
		if done, err := to.Undo(); !done || err != nil || len(to.State().Records.Book.Entries) > 0 {
			t.Errorf("%s: one undo did not take it back", form)
		}
		if _, err := from.WriteBook(english(t), form, path); key(err) != "exchange.exists" {
			t.Errorf("%s: written over a file: %v", form, err)
		}
	}
}

func key(err error) string {
	var t model.Told
	if errors.As(err, &t) {
		return t.Tell().Key
	}
	return ""
}

func TestFilesThatCannotBeRead(t *testing.T) {
	h := demoHome(t, household.Records{})
	dir := t.TempDir()
	for name, c := range map[string][2]string{
		"letter.txt": {"Dear Rosa", "problem.file-column-missing"}, "a.json": {"\ufeff  {", "problem.fhir-not-json"}, "a.xml": {"<Bundle/>", "problem.fhir-xml"},
		"empty": {"", "problem.file-empty"},
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(c[0]), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := h.TakeIn(path, ""); key(err) != c[1] {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := h.TakeIn(filepath.Join(dir, "gone"), ""); key(err) != "learn.file-unreadable" {
		t.Error(err)
	}
	if _, err := h.TakeIn(dir, ""); key(err) != "problem.file-unreadable" {
		t.Error(err)
	}
	if _, err := h.WriteBook(english(t), ui.FormTable, filepath.Join(dir, "gone", "a.csv")); key(err) != "exchange.cannot-write" {
		t.Error(err)
	}
	path, err := h.WriteBook(english(t), ui.FormFHIR, "")
	if err != nil || !strings.HasSuffix(path, ".json") {
		t.Error(path, err)
	}
	os.RemoveAll(filepath.Dir(path)) // the invented household's folder of papers
}

func english(t *testing.T) *i18n.Pair {
	t.Helper()
	w, err := i18n.New("en", "es")
	if err != nil {
		t.Fatal(err)
	}
	return w
}
