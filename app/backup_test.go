package main

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui"
)

// TestBackUpAtHome backs up as the window does, finds the file again, tries it
// and counts it beside a book that went on.
func TestBackUpAtHome(t *testing.T) {
	ctx := context.Background()
	dir, stick := t.TempDir(), t.TempDir()
	book, err := store.Open(ctx, store.Options{Path: filepath.Join(dir, "household.book")})
	if err != nil {
		t.Fatal(err)
	}
	s, err := session.Open(ctx, session.NewKept(book), newClock(time.Time{}, 1), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close(ctx)
	h := &home{Session: s, book: book, dir: dir}
	person := func(id, name string) household.Changes {
		return household.Changes{Persons: []model.Person{{ID: model.ID(id), Name: name}}}
	}
	save := func(c household.Changes) {
		t.Helper()
		if err := h.Save(c); err != nil {
			t.Fatal(err)
		}
	}
	save(person("a", "Rosa"))
	const secret = "lilies need water daily"
	made, err := h.BackUp(stick, secret)
	if err != nil {
		t.Fatal(err)
	}
	if made.Persons != 1 || !made.Encrypted || filepath.Dir(made.Path) != stick {
		t.Errorf("%+v", made)
	}
	save(household.KeepBackup(made))
	if !slices.Contains(h.Backups(), made.Path) {
		t.Errorf("it is not found again: %v", h.Backups())
	}
	save(person("b", "Emil"))
	got, err := h.Rehearse(made.Path, secret)
	if err != nil {
		t.Fatal(err)
	}
	if got.OtherBook || !slices.ContainsFunc(got.Rows, func(r ui.RehearsedRow) bool {
		return r.What.Key == "backup.what.persons" && r.Backup == 1 && r.Book == 2
	}) {
		t.Errorf("%+v", got)
	}
	if _, err := h.Rehearse(made.Path, "some other passphrase"); err == nil || err.(model.Told).Tell().Key != "backup.why.passphrase" {
		t.Errorf("a wrong passphrase: %v", err)
	}
	if _, err := h.BackUp(filepath.Join(stick, "pulled out"), ""); err == nil || err.(model.Told).Tell().IsZero() {
		t.Errorf("no stick: %v", err)
	}
	if list, _ := os.ReadDir(stick); len(list) != 1 {
		t.Errorf("%d files on the stick", len(list))
	}
	if h.Passphrase() != "" {
		t.Error("nobody said it should be remembered, and it is")
	}
	for range 2 { // told twice, forgotten twice
		if err := h.Remember(secret); err != nil || h.Passphrase() != secret {
			t.Errorf("remembered: %q, %v", h.Passphrase(), err)
		}
	}
	if st, err := os.Stat(h.secretFile()); err != nil || runtime.GOOS != "windows" && st.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", st, err)
	}
	for range 2 {
		if err := h.Remember(""); err != nil || h.Passphrase() != "" {
			t.Errorf("forgotten: %q, %v", h.Passphrase(), err)
		}
	}
	if list, _ := filepath.Glob(filepath.Join(dir, "*passphrase*")); len(list) > 0 {
		t.Errorf("a trace is left: %v", list)
	}
	if (&home{Session: s}).CanBackUp() || !h.CanBackUp() {
		t.Error("what is not kept cannot be backed up")
	}

	// The same file merged: what is known already brings nothing, and nothing
	// that was taken out of it stays behind.
	if c, err := h.Compare(made.Path, "some other passphrase"); err == nil || err.(model.Told).Tell().Key != "backup.why.passphrase" {
		t.Errorf("a wrong passphrase to merge: %+v, %v", c, err)
	}
	before, _ := os.ReadDir(dir)
	for range 2 { // looked at twice, as somebody does
		if c, err := h.Compare(made.Path, secret); err != nil || !c.Nothing() {
			t.Errorf("it would bring %+v, %v", c, err)
		}
	}
	if _, err := h.Merge(made.Path, nil); err != nil {
		t.Error(err)
	}
	if len(h.State().Members) != 2 {
		t.Errorf("%d persons after it", len(h.State().Members))
	}
	if after, _ := os.ReadDir(dir); len(after) != len(before) {
		t.Errorf("beside the book lie %v, before %v", after, before)
	}
}
