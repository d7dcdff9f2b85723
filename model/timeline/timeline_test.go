package timeline

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the tests must not depend on the machine's zones

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// book reads rows of "person,when,kind,what,value,unit,note".
func book(t testing.TB, zone *time.Location, rows ...string) model.Book {
	t.Helper()
	n := 0
	reader := model.Reader{Zone: zone, NewID: func() model.ID { n++; return model.ID(fmt.Sprintf("%032d", n)) }}
	var rs []model.Row
	for i, line := range rows {
		c := append(strings.Split(line, ","), "", "", "")
		rs = append(rs, model.Row{Number: i + 1, Person: c[0], When: c[1], Kind: c[2], What: c[3], Value: c[4], Unit: c[5], Note: c[6]})
	}
	b, refused := reader.Read(rs)
	if len(refused) > 0 {
		t.Fatalf("row %d refused: %v", refused[0].Row, refused[0].Why)
	}
	return b
}

func results(b model.Book, now time.Time) []finding.Result {
	var out []finding.Result
	for _, p := range b.Persons {
		out = append(out, finding.Run(finding.Input{Book: b, Kinds: strip.Generic(), Now: now}, p))
	}
	return out
}

// lines writes days as a reader would see them.
func lines(days []Day) []string {
	var out []string
	for _, d := range days {
		for _, it := range d.Items {
			s := d.Date.Format("2006-01-02") + " " + it.Person.Name + " "
			switch {
			case it.Due:
				s += "due " + it.Finding.Rule
			case it.Finding != nil:
				s += "found " + it.Finding.Rule
				if it.Finding.Answer != nil {
					s += ", " + it.Finding.Answer.Word
				}
			default:
				s += string(it.Entry.Kind) + " " + string(it.Entry.Values[0].Code)
				if it.Verdict != nil {
					s += ", judged"
				}
			}
			out = append(out, s)
		}
	}
	return out
}

func at(t testing.TB, z *time.Location, s string) time.Time {
	t.Helper()
	out, err := time.ParseInLocation("2006-01-02 15:04", s, z)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestDays(t *testing.T) {
	madrid := zone(t, "Europe/Madrid")
	now := at(t, madrid, "2027-03-02 12:00")
	b := book(t, madrid,
		"Rosa,,profile,sex,female",
		"Rosa,2027-03-01,profile,height,158,cm",
		"Rosa,2027-02-26 20:00,note,text,the day before the window",
		"Rosa,2027-02-27 00:00,fluid,drink,200",
		"Rosa,2027-02-28,symptom,tiredness,1",
		"Rosa,2027-02-28 09:00,vital,weight,71",
		"Rosa,2027-03-02 08:00,strip,protein,1+",
		"Rosa,2027-03-02 08:00,strip,specific-gravity,1.015",
		"Emil,2027-03-01 22:00,symptom,chest-pain,1",
		"Emil,2027-03-01 22:05,answer,red-flag-symptom,called,,ambulance",
		"Emil,2027-03-02 08:30,note,text,back home",
	)
	rs := results(b, now)
	from, to := at(t, madrid, "2027-02-27 18:00"), at(t, madrid, "2027-03-03 01:00")
	want := []string{
		"2027-03-03 Rosa due protein-once", // from 02:00 on: ahead of now, first of all
		"2027-03-02 Emil note text",
		"2027-03-02 Rosa strip protein, judged",
		"2027-03-02 Rosa found protein-once",
		"2027-03-01 Emil answer red-flag-symptom",
		"2027-03-01 Emil symptom chest-pain",
		"2027-03-01 Emil found red-flag-symptom, called",
		"2027-02-28 Rosa vital weight",
		"2027-02-28 Rosa symptom tiredness",
		"2027-02-27 Rosa fluid drink",
	}
	if got := lines(Days(rs, from, to)); !slices.Equal(got, want) {
		t.Errorf("days are\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	// One day alone, and days without anything in them.
	if got := lines(Days(rs, at(t, madrid, "2027-02-28 23:59"), at(t, madrid, "2027-02-28 00:01"))); !slices.Equal(got, want[7:9]) {
		t.Errorf("one day is %q", got)
	}
	if got := Days(rs, at(t, madrid, "2020-01-01 00:00"), at(t, madrid, "2020-12-31 00:00")); got != nil {
		t.Errorf("an empty year is %q", lines(got))
	}
	if got := Days(rs, to, from); got != nil {
		t.Errorf("a window that ends before it begins holds %q", lines(got))
	}
	if got := Days(nil, from, to); got != nil {
		t.Errorf("nobody has %q", lines(got))
	}
}

// TestDayBoundaries: an instant lies on the household's calendar day, a day
// that was written as such stays itself, wherever the house stands.
func TestDayBoundaries(t *testing.T) {
	for _, c := range []struct{ zone, when, want string }{
		{"UTC", "2027-03-01T23:59:59Z", "2027-03-01"},
		{"UTC", "2027-03-02T00:00:00Z", "2027-03-02"},
		{"Europe/Madrid", "2027-03-01T23:30:00Z", "2027-03-02"},
		{"Europe/Madrid", "2027-03-28T00:59:00Z", "2027-03-28"}, // before the clocks go forward
		{"Europe/Madrid", "2027-10-31T22:59:00Z", "2027-10-31"}, // the day of 25 hours
		{"Europe/Madrid", "2027-10-31T23:00:00Z", "2027-11-01"},
		{"Pacific/Kiritimati", "2027-03-01T10:00:00Z", "2027-03-02"},
		{"Pacific/Pago_Pago", "2027-03-02T10:59:00Z", "2027-03-01"},
		{"Africa/Cairo", "2026-04-23T21:59:00Z", "2026-04-23"},
		{"Africa/Cairo", "2026-04-23T22:00:00Z", "2026-04-24"}, // midnight is skipped
		{"Africa/Cairo", "2026-04-24", "2026-04-24"},
		{"Pacific/Pago_Pago", "2027-03-01", "2027-03-01"},
		{"Pacific/Kiritimati", "2027-03-01", "2027-03-01"},
	} {
		z := zone(t, c.zone)
		rs := results(book(t, z, "Rosa,"+c.when+",note,text,x"), at(t, z, "2028-01-01 00:00"))
		for _, day := range []string{c.want + " 00:00", c.want + " 12:00", c.want + " 23:59"} {
			if c.zone == "Africa/Cairo" && strings.HasSuffix(day, " 00:00") {
				continue // there is no such time that day
			}
			days := Days(rs, at(t, z, day), at(t, z, day))
			if len(days) != 1 || days[0].Date.Format("2006-01-02") != c.want || len(days[0].Items) != 1 {
				t.Errorf("%s in %s: the window of %s shows %q", c.when, c.zone, day, lines(days))
			}
		}
		for _, n := range []int{-1, 1} {
			other := at(t, z, c.want+" 12:00").AddDate(0, 0, n)
			if days := Days(rs, other, other); days != nil {
				t.Errorf("%s in %s also lies on %s", c.when, c.zone, lines(days))
			}
		}
	}
}

// TestOldDayOfAnotherZone: a household that moves keeps its days in order and
// each of them once.
func TestOldDayOfAnotherZone(t *testing.T) {
	far, home := zone(t, "Pacific/Kiritimati"), zone(t, "Pacific/Pago_Pago")
	b := book(t, far, "Rosa,2027-03-02,note,text,a day written far ahead", "Rosa,2027-03-01T20:00:00-11:00,note,text,b", "Rosa,2027-03-02T09:00:00-11:00,note,text,c")
	days := Days(results(b, at(t, home, "2027-03-05 12:00")), at(t, home, "2027-02-20 00:00"), at(t, home, "2027-03-05 00:00"))
	var dates []string
	for _, d := range days {
		dates = append(dates, d.Date.Format("01-02"))
	}
	if want := []string{"03-02", "03-01"}; !slices.Equal(dates, want) {
		t.Errorf("days are %v, want %v", dates, want)
	}
}

func TestPads(t *testing.T) {
	madrid := zone(t, "Europe/Madrid")
	now := at(t, madrid, "2027-03-20 12:00")
	b := book(t, madrid,
		"Rosa,,profile,sex,female",
		",,pack,use-by,2027-03-10,,Old tub",
		"Rosa,2027-03-01 08:00,strip,protein,1+",
		"Rosa,2027-03-01 08:00,strip,glucose,neg",
		"Rosa,2027-03-01 08:00,strip,first-morning,yes",
		"Rosa,2027-03-05 08:00,strip,ph,6.5",
		"Rosa,2027-03-05 08:00,strip,protein,unclear",
		"Rosa,2027-03-12 08:00,strip,protein,30,mg/dL",
		"Rosa,2027-03-12 08:00,strip,pack,Old tub",
		"Rosa,2027-03-14 21:00,symptom,chest-pain,1",
		"Rosa,2027-03-14 21:10,answer,red-flag-symptom,called,,ambulance",
		"Rosa,2027-03-20 08:00,strip,protein,2+",
	)
	r := results(b, now)[0]
	from, to := at(t, madrid, "2027-03-05 23:00"), at(t, madrid, "2027-03-20 00:00")
	p := Pads(r, from, to)
	var got []string
	for _, l := range p.Lanes {
		for _, c := range l.Cells {
			got = append(got, fmt.Sprintf("%s %s %s %q %d", l.Pad, c.When.Time().Format("01-02"), c.Value.Text(), c.Grade, c.Standing))
		}
	}
	want := []string{
		`protein 03-05 unclear "unclear" 0`,
		`protein 03-12 30 "1+" 0`, // the tub was stale by then
		`protein 03-20 2+ "2+" 3`,
		`ph 03-05 6.5 "" 3`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("lanes hold\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if !p.From.Equal(from) || !p.To.Equal(to) {
		t.Errorf("the picture goes from %v to %v", p.From, p.To)
	}
	if !slices.IsSortedFunc(p.Marks, func(a, b Mark) int { return a.When.Compare(b.When) }) {
		t.Error("marks are out of order")
	}
	answered := slices.ContainsFunc(p.Marks, func(m Mark) bool { return strings.Contains(m.Title.Key, "red-flag-symptom") })
	if !answered || len(p.Marks) != len(r.Open)+len(r.Answered) {
		t.Errorf("%d marks of %d findings, the answered alarm among them: %v", len(p.Marks), len(r.Open)+len(r.Answered), answered)
	}
	for _, m := range p.Marks {
		same := func(f finding.Finding) bool {
			return f.Title.Key == m.Title.Key && f.Since == m.When && f.Days == m.Days && f.Urgency == m.Urgency && reflect.DeepEqual(f.HowSoon(), m.HowSoon)
		}
		if m.Answered != slices.ContainsFunc(r.Answered, same) || m.Answered == slices.ContainsFunc(r.Open, same) {
			t.Errorf("%s does not say how soon as its finding does: %v, answered %v", m.Title.Key, m.HowSoon, m.Answered)
		}
	}
	if p := Pads(r, at(t, madrid, "2020-01-01 00:00"), at(t, madrid, "2020-12-31 00:00")); p.Lanes != nil || p.Marks != nil {
		t.Errorf("an empty year shows %v and %v", p.Lanes, p.Marks)
	}
}

// TestLanesStandInTheOrderOfTheTable for every pad there is.
func TestLanesStandInTheOrderOfTheTable(t *testing.T) {
	var rows []string
	want := []model.Code{}
	for _, it := range model.Analytes() {
		value := "neg"
		if it.Takes == model.Number {
			value = model.FormatNumber(it.Units[0].Min)
		}
		rows = append(rows, "Rosa,2027-03-01 08:00,strip,"+string(it.Code)+","+value)
		want = append(want, it.Code)
	}
	slices.Reverse(rows)
	day := at(t, time.UTC, "2027-03-01 09:00")
	var got []model.Code
	for _, l := range Pads(results(book(t, time.UTC, rows...), day)[0], day, day).Lanes {
		got = append(got, l.Pad)
	}
	if !slices.Equal(got, want) {
		t.Errorf("lanes %v, want %v", got, want)
	}
}

func BenchmarkDays(b *testing.B) {
	var rows []string
	now := time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)
	for i := range 3650 {
		d := now.AddDate(0, 0, -i).Format("2006-01-02")
		rows = append(rows, "Rosa,"+d+" 07:30,strip,protein,neg", "Rosa,"+d+" 08:00,vital,weight,70", "Rosa,"+d+" 09:00,fluid,drink,200", "Rosa,"+d+" 18:00,fluid,drink,300")
	}
	rs := results(book(b, time.UTC, rows...), now)
	b.Run("10-years", func(b *testing.B) {
		for b.Loop() {
			Days(rs, now.AddDate(-10, 0, 0), now)
		}
	})
	b.Run("10-years-floor", func(b *testing.B) {
		for b.Loop() {
			model.SortEntries(slices.Clone(rs[0].History.Entries))
		}
	})
}
