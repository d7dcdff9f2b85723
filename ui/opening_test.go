package ui

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit/kittest"
)

// TestOpeningSaysNothingOfCalls: before all of a book is read, nothing may stand
// there of what its newest days call for, and nobody may take silence for calm.
func TestOpeningSaysNothingOfCalls(t *testing.T) {
	b := rosas(t, morning.Add(-time.Hour).Format(time.RFC3339)+",symptom,chest-pain,2", morning.Add(-time.Hour).Format(time.RFC3339)+",strip,protein,3+")
	d := open(t, b)
	called := d.text()
	page, ok := Opening(d.win, b.state, func(fyne.Theme) {}, Options{})
	if !ok {
		t.Fatal("no page")
	}
	d.win.SetContent(page)
	d.settle()
	d.shows("screen.opening-why")
	if say := d.w.words.T(model.T("screen.opening-month", "name", "Rosa")); !strings.Contains(d.text(), say) {
		t.Errorf("%q is not there", say)
	}
	for _, f := range b.state.Members[0].Result.Open {
		title := d.w.words.T(f.Title)
		if !strings.Contains(called, title) {
			t.Errorf("%q is not on Today: this test proves nothing", title)
		}
		if strings.Contains(d.text(), title) || strings.Contains(d.text(), d.w.words.T(f.HowSoon())) {
			t.Errorf("%q is told before the book is examined", title)
		}
	}
	for _, quiet := range []string{"quiet.silent", "quiet.silent-strips", "quiet.nothing-yet"} {
		if strings.Contains(d.text(), d.w.words.T(model.T(quiet))) {
			t.Errorf("%s is said before the book is examined", quiet)
		}
	}
	if troubles := kittest.Check(d.win.Canvas()); len(troubles) > 0 {
		t.Error(troubles)
	}
}

// TestNothingToSeeWhileOpening: no person, or nothing of the last month.
func TestNothingToSeeWhileOpening(t *testing.T) {
	test.NewApp()
	for name, r := range map[string]household.Records{
		"nobody":   {},
		"old days": {Book: model.Book{Persons: []model.Person{{ID: "a", Name: "Anna"}}}},
	} {
		st := household.Derive(r, morning)
		if _, ok := Opening(test.NewWindow(nil), &st, func(fyne.Theme) {}, Options{}); ok {
			t.Errorf("%s: a page with nothing on it", name)
		}
	}
}
