package ui

import (
	"testing"
	"time"

	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/timeline"
)

// What was written down wrongly is put right in its place, and undo brings it
// back.
func TestChangeAnEntry(t *testing.T) {
	at := morning.Add(-3 * time.Hour).Format(time.RFC3339)
	d := open(t, rosas(t, at+",vital,weight,135,kg", at+",symptom,headache,3", at+",fluid,drink,250,mL,Mug",
		at+",vital,systolic,121", at+",vital,diastolic,79", "2025-01-02,lab,potassium,4.4,mmol/L", at+",strip,protein,neg"))
	for _, e := range d.book.records().Book.Entries {
		if e.Kind == model.Profile {
			continue
		}
		d.w.show("today")
		d.w.open(d.w.oneEntry(e))
		d.settle()
		if e.Kind == model.Strip {
			if d.has("change-entry") {
				t.Error("a strip test can be put right long after it was seen")
			}
			continue
		}
		d.tap("change-entry")
		if e.Kind == model.Lab { // on its sheet
			d.shows("lab.title")
			continue
		}
		d.shows("change.title")
	}
	weight := d.book.last(t, model.Vital)
	d.w.show("today")
	d.w.open(d.w.oneEntry(weight))
	d.settle()
	before := len(d.book.records().Book.Entries)
	d.tap("change-entry")
	d.fill("weight", "63,5")
	d.fill("time-hour", "7")
	d.tap("save")
	got := entryWith(t, d.book, weight.ID)
	if v, _ := got.Value("weight"); v.Number != 63.5 || v.Unit != "kg" || got.When.Time().Hour() != 7 {
		t.Errorf("kept %+v at %v", got.Values, got.When)
	}
	d.shows("screen.timeline")
	if n := len(d.book.records().Book.Entries); n != before {
		t.Errorf("%d entries after a change", n)
	}
	d.tap("undo")
	if v, _ := entryWith(t, d.book, weight.ID).Value("weight"); v.Number != 135 {
		t.Errorf("undone to %v", v.Number)
	}
}

func entryWith(t *testing.T, b *book, id model.ID) model.Entry {
	t.Helper()
	for _, e := range b.records().Book.Entries {
		if e.ID == id {
			return e
		}
	}
	t.Fatalf("entry %s is gone", id)
	return model.Entry{}
}

// A tap means what lies nearest in its own lane; where nothing of the lane is
// there, whatever is nearest.
func TestTappedInItsLane(t *testing.T) {
	at := func(ago time.Duration) string { return morning.Add(-ago).Format(time.RFC3339) }
	d := open(t, rosas(t, at(30*time.Hour)+",strip,protein,2+", at(20*time.Hour)+",vital,weight,70,kg", at(50*time.Hour)+",vital,weight,71,kg"))
	m := d.book.state.Members[0]
	days := timeline.Days([]finding.Result{m.Result}, morning.AddDate(0, 0, -9), morning)
	tests := map[string]model.ID{}
	for _, e := range d.book.records().Book.Entries {
		tests[e.When.String()] = e.ID
	}
	for _, c := range []struct {
		place charts.Place
		want  string
	}{
		{charts.Place{When: morning.Add(-21 * time.Hour), Kind: model.Strip, Code: model.Protein}, "strip"},
		{charts.Place{When: morning.Add(-31 * time.Hour), Kind: model.Vital, Code: "weight"}, "vital"},
		{charts.Place{When: morning.Add(-31 * time.Hour), Kind: model.Lab, Code: "egfr"}, "strip"},
		{charts.Place{When: morning.Add(-50 * time.Hour), Findings: true}, "finding"},
	} {
		day, row := tapped(days, c.place)
		found := ""
		for _, one := range days {
			for _, it := range one.Items {
				if rowOf(it) == row && one.Date.Equal(day) {
					found = "finding"
					if it.Entry != nil {
						found = string(it.Entry.Kind)
					}
				}
			}
		}
		if found != c.want {
			t.Errorf("%+v: %q in %v, a %q, want a %s", c.place, row, day, found, c.want)
		}
	}
	if day, row := tapped(nil, charts.Place{When: morning}); row != "" || !day.Equal(morning) {
		t.Errorf("of nothing %q on %v", row, day)
	}
}

// The row that was meant has the keyboard when its day opens.
func TestTheTappedRowIsFocused(t *testing.T) {
	at := func(ago time.Duration) string { return morning.Add(-ago).Format(time.RFC3339) }
	d := open(t, rosas(t, at(30*time.Hour)+",strip,protein,2+", at(29*time.Hour)+",vital,weight,70,kg"))
	m := d.book.state.Members[0]
	day, row := tapped(timeline.Days([]finding.Result{m.Result}, morning.AddDate(0, 0, -9), morning), charts.Place{When: morning.Add(-29 * time.Hour), Kind: model.Strip, Code: model.Protein})
	d.w.show("timeline")
	d.w.open(d.w.oneDay(m, day, row))
	d.settle()
	if got := d.focused(); got != row {
		t.Errorf("%q has the keyboard, not %q", got, row)
	}
}

// A correction is asked about as a new entry is, though never whether it is
// itself once more; and a time nobody touched keeps its seconds.
func TestACorrectionIsAskedAbout(t *testing.T) {
	at := morning.Add(-3*time.Hour + 31*time.Second)
	d := open(t, rosas(t, morning.AddDate(0, 0, -2).Format(time.RFC3339)+",vital,weight,63.4,kg", at.Format(time.RFC3339)+",vital,weight,63.5,kg"))
	e := d.book.last(t, model.Vital)
	d.w.open(d.w.oneEntry(e))
	d.settle()
	d.tap("change-entry")
	d.fill("weight", "635")
	d.tap("save")
	if got := entryWith(t, d.book, e.ID); got.Values[0].Number != 63.5 {
		t.Fatalf("kept %v unasked", got.Values[0].Number)
	}
	d.tap("answer-look")
	d.fill("weight", "64,5")
	d.tap("save")
	got := entryWith(t, d.book, e.ID)
	if got.Values[0].Number != 64.5 || !got.When.Time().Equal(at) {
		t.Errorf("kept %v at %v, want 64.5 at %v", got.Values[0].Number, got.When, at)
	}
	d.shows("screen.timeline")
	d.tap("change-entry")
	d.fill("weight", "645")
	d.tap("save", "answer-meant")
	if got := entryWith(t, d.book, e.ID); got.Values[0].Number != 64.5 {
		t.Errorf("meant %v", got.Values[0].Number)
	}
}
