package todo

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/household"
)

var (
	zone = time.FixedZone("", 3600)
	now  = time.Date(2027, 3, 10, 9, 0, 0, 0, zone)
)

func state(t testing.TB, at time.Time, settings map[string]string, rows ...string) household.State {
	t.Helper()
	n := 0
	reader := model.Reader{Zone: zone, Now: at, NewID: func() model.ID {
		n++
		return model.ID(strings.Repeat("0", 30) + string(rune('a'+n/26)) + string(rune('a'+n%26)))
	}}
	var table []model.Row
	for i, line := range rows {
		c := append(strings.SplitN(line, ",", 7), "", "", "", "", "")
		table = append(table, model.Row{Number: i + 1, Person: c[0], When: c[1], Kind: c[2], What: c[3], Value: c[4], Unit: c[5], Note: c[6]})
	}
	book, refused := reader.Read(table)
	if len(refused) > 0 {
		t.Fatal(refused)
	}
	return household.Derive(household.Records{Book: book, Settings: settings}, at)
}

func told(items []Item) []string {
	var out []string
	for _, it := range items {
		line := it.What.Key + " " + it.From.Format("02T15:04") + "–" + it.To.Format("02T15:04")
		if it.Days {
			line = it.What.Key + " " + it.From.Format("02") + "–" + it.To.Format("02")
		}
		out = append(out, line)
	}
	return out
}

func TestOf(t *testing.T) {
	s := state(t, now, nil,
		"Rosa,2027-03-10T08:00:00+01:00,strip,protein,1+", // tomorrow
		"Rosa,2027-03-09T08:00:00+01:00,symptom,vomiting,3",
		"Rosa,2027-03-09T08:00:00+01:00,symptom,chest-pain,1", // the same day: no entry for a calendar
		"Emil,2027-03-10T08:55:00+01:00,vital,systolic,184,mm[Hg]",
		",,pack,opened-on,2026-12-15,,Tub", ",,pack,days-after-opening,90,,Tub", ",,pack,kind-of-strip,ten-pads,,Tub",
		",,pack,opened-on,2027-03-01,,New tub", ",,pack,days-after-opening,90,,New tub", ",,pack,kind-of-strip,ten-pads,,New tub",
	)
	want := []string{
		"todo.visit 09–11",
		"finding.pressure-crisis.title 10T09:00–10T09:55",
		"todo.again 11T02:00–12T08:00",
		"todo.pack-ends 15–15",
	}
	got := told(Of(s))
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	later := told(Of(household.Derive(s.Records, now.Add(time.Minute))))
	if !slices.Equal(later, want) {
		t.Errorf("a minute later\n%s", strings.Join(later, "\n"))
	}
	ids := map[string]bool{}
	for i, it := range Of(s) {
		if ids[it.ID] {
			t.Errorf("%s stands twice", it.ID)
		}
		ids[it.ID] = true
		if it.ID != Of(household.Derive(s.Records, now.Add(time.Minute)))[i].ID {
			t.Errorf("%s changed its name", it.ID)
		}
	}
}

// What is to be measured again with a call stays when the call was made, until its
// time is over or it was measured; the call itself does not.
func TestMeasureAfterTheCall(t *testing.T) {
	ill := []string{"Rosa,2020-01-01,condition,diabetes,start", "Rosa,2027-03-10T08:30:00+01:00,strip,ketones,2+"}
	again := []string{"todo.again 10T10:30–10T11:30"}
	for _, c := range []struct {
		name string
		at   time.Time
		row  string
		want []string
	}{
		{"nobody called", now, "", again},
		{"called", now, "Rosa,2027-03-10T08:40:00+01:00,answer,ketones,called", again},
		{"the doctor knows", now, "Rosa,2027-03-10T08:40:00+01:00,answer,ketones,doctor-knows", again},
		{"settled", now, "Rosa,2027-03-10T08:40:00+01:00,answer,ketones,done", nil},
		{"measured again", now.Add(100 * time.Minute), "Rosa,2027-03-10T10:20:00+01:00,strip,ketones,neg", nil},
		{"measured too soon", now, "Rosa,2027-03-10T08:50:00+01:00,strip,ketones,neg", again},
		{"another pad then", now.Add(100 * time.Minute), "Rosa,2027-03-10T10:30:00+01:00,strip,glucose,neg", again},
		{"its time is over", now.Add(150 * time.Minute), "Rosa,2027-03-10T08:40:00+01:00,answer,ketones,called", nil},
	} {
		s := state(t, c.at, nil, append(slices.Clone(ill), c.row)[:len(ill)+min(1, len(c.row))]...)
		if got := told(Of(s)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v", c.name, got)
		}
		if got := told(AfterCalls(s.Members[0], s.Now)); strings.Contains(c.row, "answer") && !slices.Equal(got, c.want) || !strings.Contains(c.row, "answer") && len(got) > 0 {
			t.Errorf("%s: after calls %v", c.name, got)
		}
	}
	// Emil's answer to a strip that is only to be repeated settles it.
	if got := told(Of(state(t, now, nil, "Emil,2027-03-10T08:00:00+01:00,strip,protein,1+", "Emil,2027-03-10T08:40:00+01:00,answer,protein-once,doctor-knows"))); len(got) > 0 {
		t.Errorf("left is %v", got)
	}
}

func TestAWeekOfPressure(t *testing.T) {
	s := state(t, now, map[string]string{household.SetWeeks: `{"` + strings.Repeat("0", 30) + `ab":"2027-03-09"}`}, "Rosa,2027-03-09T08:00:00+01:00,vital,weight,70,kg")
	if got, want := told(Of(s)), []string{"todo.pressure 10T06:00–10T10:00"}; !slices.Equal(got, want) {
		t.Errorf("got %v for %v", got, s.Members[0].Person.ID)
	}
}

func TestPacksThatRunOut(t *testing.T) {
	s := state(t, now, nil, ",,pack,strips,3,,Few", ",,pack,use-by,2029-01,,Few", ",,pack,kind-of-strip,ten-pads,,Few")
	if got, want := told(Of(s)), []string{"todo.pack-few 10–10"}; !slices.Equal(got, want) {
		t.Errorf("got %v", got)
	}
}

func TestOverdue(t *testing.T) {
	days := Item{From: now.AddDate(0, 0, -3), To: now, Days: true}
	midnight := time.Date(2027, 3, 11, 0, 0, 0, 0, zone)
	if days.Overdue(midnight.Add(-time.Second)) || !days.Overdue(midnight) {
		t.Error("a day is over when it is over")
	}
	timed := Item{From: now, To: now.Add(time.Hour)}
	if timed.Overdue(now.Add(time.Hour)) || !timed.Overdue(now.Add(61*time.Minute)) {
		t.Error("an hour is over when it is over")
	}
}

// Several things of one rule and one day are several entries of a calendar.
func TestEachHasItsOwnName(t *testing.T) {
	s := state(t, now, nil, "Rosa,2027-03-10T08:00:00+01:00,symptom,itching,3", "Rosa,2027-03-10T08:00:00+01:00,symptom,cramps,3",
		"Rosa,2027-03-10T08:00:00+01:00,symptom,nausea,3", "Rosa,2027-03-10T08:00:00+01:00,symptom,vomiting,3")
	ids := map[string]bool{}
	items := Of(s)
	for _, it := range items {
		ids[it.ID] = true
	}
	if len(items) != 4 || len(ids) != 4 {
		t.Errorf("%d items with %d names", len(items), len(ids))
	}
}

// What is to be done does not depend on the order of the records.
func TestAnyOrder(t *testing.T) {
	r := household.Demo(now)
	want := Of(household.Derive(r, now))
	for seed := range uint64(20) {
		rnd := rand.New(rand.NewPCG(seed, 1))
		mixed := r
		mixed.Book.Entries = slices.Clone(r.Book.Entries)
		rnd.Shuffle(len(mixed.Book.Entries), func(i, j int) {
			mixed.Book.Entries[i], mixed.Book.Entries[j] = mixed.Book.Entries[j], mixed.Book.Entries[i]
		})
		if got := Of(household.Derive(mixed, now)); !slices.Equal(told(got), told(want)) {
			t.Fatalf("mixed as %d: %v, want %v", seed, told(got), told(want))
		}
	}
}

// That no good strip is left stays listed until there is one, and is reminded
// of once.
func TestNoGoodStripIsLeft(t *testing.T) {
	old := []string{",,pack,opened-on,2026-12-01,,Tub", ",,pack,days-after-opening,90,,Tub", ",,pack,kind-of-strip,ten-pads,,Tub"}
	for _, at := range []time.Time{now, now.AddDate(0, 1, 0)} {
		items := Of(state(t, at, nil, old...))
		if len(items) != 1 || items[0].What.Key != "todo.pack-none" || !items[0].Overdue(at) || items[0].From.Format("2006-01-02") != "2027-03-01" {
			t.Errorf("at %v: %+v", at, items)
		}
	}
	if items := Of(state(t, now, nil, append(old, ",,pack,opened-on,2027-03-05,,New", ",,pack,days-after-opening,90,,New", ",,pack,kind-of-strip,ten-pads,,New")...)); len(items) != 0 {
		t.Errorf("with a new pack: %+v", items)
	}
}

// Every item is reminded of once, however time is cut into pieces.
func TestDueOnce(t *testing.T) {
	items := []Item{
		{ID: "timed", From: now.Add(90 * time.Second)},
		{ID: "today", From: now.Add(-3 * time.Hour), Days: true},
		{ID: "tomorrow", From: now.AddDate(0, 0, 1).Add(-9 * time.Hour), Days: true},
		{ID: "past", From: now.Add(-time.Hour)},
	}
	seen := map[string]int{}
	for at := now.Add(-time.Minute); at.Before(now.Add(30 * time.Hour)); at = at.Add(time.Minute) {
		for _, it := range Due(items, at.Add(-time.Minute), at) {
			seen[it.ID]++
		}
	}
	if seen["timed"] != 1 || seen["today"] != 1 || seen["tomorrow"] != 1 || seen["past"] != 0 {
		t.Errorf("reminded %v", seen)
	}
}

// A month after the last backup, or after a new book's first entry of a day,
// one is due; copied papers do not count.
func TestBackup(t *testing.T) {
	rows := []string{"Rosa,2026-06-01,lab,urea,5,mmol/L", "Rosa,2027-03-09T08:00:00+01:00,vital,weight,70,kg"}
	due := func(at time.Time, made time.Time) []string {
		set := map[string]string{}
		if !made.IsZero() {
			set = household.KeepBackup(household.Backup{At: made}).Settings
		}
		var out []string
		for _, line := range told(Of(state(t, at, set, rows...))) {
			if strings.HasPrefix(line, "todo.backup") {
				out = append(out, line)
			}
		}
		return out
	}
	never := time.Time{}
	first := time.Date(2027, 4, 8, 0, 0, 0, 0, zone)
	for _, c := range []struct {
		at, made time.Time
		want     []string
	}{
		{now, never, nil},
		{first.Add(-time.Second), never, nil},
		{first, never, []string{"todo.backup 08–08"}},
		{first.AddDate(0, 1, 0), never, []string{"todo.backup 08–08"}},
		{first.AddDate(0, 1, 0), first, []string{"todo.backup 08–08"}}, // 8 May
		{first.AddDate(0, 0, 29), first, nil},
	} {
		if got := due(c.at, c.made); !slices.Equal(got, c.want) {
			t.Errorf("at %v, made %v: %v", c.at, c.made, got)
		}
	}
	if items := Of(state(t, first, map[string]string{household.SetBackup: "torn"}, rows...)); len(items) != 1 {
		t.Errorf("a note nobody can read: %v", told(items))
	}
	if items := Of(state(t, first, nil, rows[0])); len(items) != 0 && told(items)[0] == "todo.backup 08–08" {
		t.Errorf("papers only: %v", told(items))
	}
}

// A plain text tells nothing about anybody's health: it names a person or
// nothing, and no argument of a finding.
func TestPlainIsPlain(t *testing.T) {
	s := household.Derive(household.Demo(now), now)
	items := Of(s)
	if len(items) < 4 {
		t.Fatalf("the invented household has only %d things to do", len(items))
	}
	for _, it := range items {
		switch {
		case it.Plain.Key == "todo.plain" && len(it.Plain.Args) == 1 && it.Plain.Args["name"] == it.Name:
		case it.Plain.Key == "todo.plain-pack" && len(it.Plain.Args) == 0:
		default:
			t.Errorf("%s: %+v", it.ID, it.Plain)
		}
	}
}

func TestRemindAt(t *testing.T) {
	at := func(s string) time.Time {
		w, err := model.ParseWhen(s, zone)
		if err != nil {
			t.Fatal(err)
		}
		return w.Time()
	}
	for _, c := range []struct {
		from, to string
		days     bool
		want     string
	}{
		{"2027-03-10 08:00", "2027-03-10 10:00", false, "2027-03-10 08:00"},
		{"2027-03-10 02:00", "2027-03-11 08:00", false, "2027-03-10 07:00"},
		{"2027-03-10 22:00", "2027-03-11 08:00", false, "2027-03-11 07:00"},
		{"2027-03-10 22:00", "2027-03-10 22:55", false, "2027-03-10 22:00"}, // cannot wait
		{"2027-03-10 02:00", "2027-03-10 07:00", false, "2027-03-10 02:00"},
		{"2027-03-10", "2027-03-12", true, "2027-03-10 09:00"},
	} {
		it := Item{From: at(c.from), To: at(c.to), Days: c.days}
		if got := it.RemindAt(zone); !got.Equal(at(c.want)) {
			t.Errorf("%s to %s: reminded at %v", c.from, c.to, got)
		}
	}
}
