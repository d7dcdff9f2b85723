package calendar

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical" // not the library that wrote it

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/todo"
)

func words(t testing.TB, tag string) *i18n.Pair {
	t.Helper()
	w, err := i18n.New(tag, "")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func load(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// read parses a calendar with an independent library.
func read(t testing.TB, text string) []ical.Event {
	t.Helper()
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	if v, err := cal.Props.Text(ical.PropVersion); err != nil || v != "2.0" {
		t.Errorf("the version is %q, %v", v, err)
	}
	return cal.Events()
}

func write(t testing.TB, tag string, items []todo.Item, health bool) string {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, words(t, tag), items, health, time.Date(2026, 10, 24, 9, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func item(from, to time.Time) todo.Item {
	return todo.Item{ID: "finding.protein-once.abc", Person: "abc", Name: "Rosa", What: model.T("finding.protein-once.title", "name", "Rosa", "read", "1+"),
		Plain: model.T("todo.plain", "name", "Rosa"), From: from, To: to}
}

func uidOf(it todo.Item) string { return uid(it.ID) }

// On the nights that the clocks change, and in two zones, an instant stays the
// instant it was, and a day its day.
func TestNightsOfTheClocks(t *testing.T) {
	for _, c := range []struct {
		zone         string
		from         time.Time
		hours        time.Duration
		start, until string // in UTC
	}{
		{"Europe/Madrid", time.Date(2026, 10, 24, 22, 0, 0, 0, load(t, "Europe/Madrid")), 6, "20261024T200000Z", "20261025T020000Z"},      // 25 hours
		{"Europe/Madrid", time.Date(2027, 3, 27, 22, 0, 0, 0, load(t, "Europe/Madrid")), 6, "20270327T210000Z", "20270328T030000Z"},       // 23 hours
		{"America/New_York", time.Date(2027, 3, 13, 22, 0, 0, 0, load(t, "America/New_York")), 6, "20270314T030000Z", "20270314T090000Z"}, // 23 hours
		{"America/New_York", time.Date(2026, 10, 31, 22, 0, 0, 0, load(t, "America/New_York")), 6, "20261101T020000Z", "20261101T080000Z"},
	} {
		text := write(t, "en", []todo.Item{item(c.from, c.from.Add(c.hours*time.Hour))}, false)
		e := read(t, text)[0]
		if !strings.Contains(text, "DTSTART:"+c.start) || !strings.Contains(text, "DTEND:"+c.until) {
			t.Errorf("%s: want %s to %s in\n%s", c.zone, c.start, c.until, text)
		}
		start, err1 := e.DateTimeStart(load(t, c.zone))
		end, err2 := e.DateTimeEnd(load(t, c.zone))
		if err1 != nil || err2 != nil || !start.Equal(c.from) || end.Sub(start) != c.hours*time.Hour {
			t.Errorf("%s: read as %v to %v, %v %v", c.zone, start, end, err1, err2)
		}
	}
	for _, zone := range []string{"Europe/Madrid", "America/New_York", "Pacific/Kiritimati"} {
		it := item(time.Date(2026, 10, 24, 0, 0, 0, 0, load(t, zone)), time.Date(2026, 10, 26, 0, 0, 0, 0, load(t, zone)))
		it.Days = true
		text := write(t, "en", []todo.Item{it}, false)
		if !strings.Contains(text, "DTSTART;VALUE=DATE:20261024") || !strings.Contains(text, "DTEND;VALUE=DATE:20261027") {
			t.Errorf("%s: the days are not the 24th to the 26th in\n%s", zone, text)
		}
		read(t, text)
	}
}

// The file is as RFC 5545 wants it: lines of at most 75 octets that end in CR
// LF, an alarm in each event, one identity an event, and the same one again.
func TestForm(t *testing.T) {
	now := time.Date(2026, 9, 17, 9, 0, 0, 0, load(t, "Europe/Madrid"))
	items := todo.Of(household.Derive(household.Demo(now), now))
	for _, tag := range []string{"en", "es"} {
		for _, health := range []bool{false, true} {
			text := write(t, tag, items, health)
			events := read(t, text)
			if len(events) != len(items) || len(items) == 0 {
				t.Fatalf("%d events of %d items", len(events), len(items))
			}
			for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
				if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
					t.Errorf("%s: a line of %d octets: %q", tag, len(line), line)
				}
			}
			seen := map[string]bool{}
			for i, e := range events {
				uid, _ := e.Props.Text(ical.PropUID)
				if seen[uid] {
					t.Errorf("%s stands twice", uid)
				}
				seen[uid] = true
				if uid != uidOf(items[i]) {
					t.Errorf("the identity is %q", uid)
				}
				if len(e.Children) != 1 || e.Children[0].Name != ical.CompAlarm {
					t.Errorf("%s has no alarm", uid)
				}
				if s, _ := e.Props.Text(ical.PropSummary); s == "" || strings.Contains(s, "{{") {
					t.Errorf("%s says %q", uid, s)
				}
			}
			if again := write(t, tag, items, health); again != text {
				t.Error("written twice it differs")
			}
		}
	}
	if len(read(t, write(t, "en", nil, false))) != 0 {
		t.Error("nothing to do makes an event")
	}
}

// Names with signs that mean something in the format come back as they were.
func TestNamesComeBack(t *testing.T) {
	for _, name := range []string{"Rosa, the elder; \\ \"quoted\"", "Íñigo Ñandú 🙂", strings.Repeat("á", 90), "two\nlines"} {
		it := item(time.Unix(0, 0).UTC(), time.Unix(3600, 0).UTC())
		it.Plain = model.T("todo.plain", "name", name)
		got, err := read(t, write(t, "en", []todo.Item{it}, false))[0].Props.Text(ical.PropSummary)
		if want := oneLine(words(t, "en").T(it.Plain)); err != nil || got != want {
			t.Errorf("%q came back as %q, %v", want, got, err)
		}
	}
}

// Unless it is asked to, the file tells nothing of anybody's health: no word of
// what is to be done, and no number.
func TestNothingOfHealth(t *testing.T) {
	now := time.Date(2026, 9, 17, 9, 0, 0, 0, load(t, "Europe/Madrid"))
	items := todo.Of(household.Derive(household.Demo(now), now))
	for _, tag := range []string{"en", "es"} {
		w := words(t, tag)
		plain := map[string]bool{}
		for _, it := range items {
			plain[w.T(it.Plain)] = true
		}
		for _, e := range read(t, write(t, tag, items, false)) {
			if s, _ := e.Props.Text(ical.PropSummary); !plain[s] {
				t.Errorf("%s: %q tells more than it should", tag, s)
			}
			for name := range e.Props {
				if name != ical.PropUID && name != ical.PropDateTimeStamp && name != ical.PropSummary && name != ical.PropDateTimeStart && name != ical.PropDateTimeEnd {
					t.Errorf("%s: there is a %s", tag, name)
				}
			}
		}
		for _, r := range finding.Rules() {
			if strings.Contains(write(t, tag, items, false), r.ID) {
				t.Errorf("%s: the rule %s is named", tag, r.ID)
			}
		}
		told := write(t, tag, items, true)
		if !strings.Contains(strings.ReplaceAll(told, "\r\n ", ""), "Rosa") {
			t.Error("asked to, it does not say what is to be done")
		}
	}
}
