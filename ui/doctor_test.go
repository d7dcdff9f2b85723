package ui

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
)

// TestPageForDoctor: questions stay as they were typed, for each person; the
// page is made as it was asked for; what found no room is said.
func TestPageForDoctor(t *testing.T) {
	d := open(t, newBook(fullBook()))
	d.press(fyne.KeyF7)
	rosa := d.w.house.State().Members[0].Person.ID
	d.w.person = rosa
	d.w.redraw()
	d.fill("ask-1", "Why do my ankles swell?")
	d.fill("ask-3", "May I eat salt?")
	d.press(fyne.KeyF2)
	if d.asked() {
		t.Fatal("leaving asks, though nothing would be lost")
	}
	if got := d.book.records().Asks(rosa); len(got) != 3 || got[0] != "Why do my ankles swell?" || got[2] != "May I eat salt?" {
		t.Fatalf("kept %q", got)
	}
	d.press(fyne.KeyF7)
	d.key("make-page")
	d.settle()
	if last := d.book.sheets[len(d.book.sheets)-1]; !strings.Contains(last, "doctor en [Why do my ankles swell?  May I eat salt?] false false") {
		t.Errorf("asked for %q", last)
	}
	d.shows("doctor.made-short", "path", "/home/rosa/Documents/for-the-doctor.pdf", "n", 3)
	d.key("more", "letter")
	d.key("make-page")
	d.settle()
	if last := d.book.sheets[len(d.book.sheets)-1]; !strings.HasSuffix(last, "true true") {
		t.Errorf("asked for %q", last)
	}
	d.shows("doctor.made-more", "path", "/home/rosa/Documents/for-the-doctor.pdf", "n", 3)

	how := d.book.records().DoctorPage()
	how.Language, how.Copy = "es", true
	if err := d.book.Save(household.KeepDoctorPage(how)); err != nil {
		t.Fatal(err)
	}
	d.w.redraw()
	d.key("make-page")
	d.settle()
	if last := d.book.sheets[len(d.book.sheets)-1]; !strings.HasPrefix(last, "doctor es+en") {
		t.Errorf("asked for %q", last)
	}

	other := d.w.house.State().Members[1].Person.ID
	d.w.person = other
	d.w.redraw()
	if strings.Contains(d.text(), "ankles") {
		t.Error("one person's question stands on another's page")
	}
}

// TestPageForDoctorFails: what cannot be written is said, and nothing typed is
// lost.
func TestPageForDoctorFails(t *testing.T) {
	d := open(t, newBook(fullBook()))
	d.press(fyne.KeyF7)
	d.fill("ask-2", "What now?")
	d.key("period-3")
	d.book.fails = told{model.T("trouble.disk-full")}
	d.key("make-page")
	d.settle()
	d.shows("trouble.disk-full")
	if !strings.Contains(d.text(), "What now?") {
		t.Error("the question is gone from the page")
	}
}

// TestPageForDoctorOfABookToRead: a book that can only be read still gives the
// page, as it is asked for.
func TestPageForDoctorOfABookToRead(t *testing.T) {
	b := newBook(fullBook())
	b.closed = model.T("trouble.read-only")
	d := open(t, b)
	d.press(fyne.KeyF7)
	d.key("more", "make-page")
	d.settle()
	if n := len(d.book.sheets); n != 1 || !strings.HasSuffix(d.book.sheets[n-1], "false true") {
		t.Errorf("asked for %q", d.book.sheets)
	}
}
