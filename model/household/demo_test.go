package household

import (
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

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

// demoNows are times at which the invented household must be sound: at every
// time of day, where clocks change, on the day that most years have not.
func demoNows(t testing.TB) map[string]time.Time {
	utc := time.UTC
	madrid, cairo, kiritimati, pago := zone(t, "Europe/Madrid"), zone(t, "Africa/Cairo"), zone(t, "Pacific/Kiritimati"), zone(t, "Pacific/Pago_Pago")
	nows := map[string]time.Time{
		"clocks forward tonight":           time.Date(2026, 3, 29, 0, 30, 0, 0, madrid),
		"clocks forward just now":          time.Date(2026, 3, 29, 3, 1, 0, 0, madrid),
		"clocks back, the first two":       time.Date(2026, 10, 25, 0, 30, 0, 0, utc).In(madrid),
		"clocks back, the second":          time.Date(2026, 10, 25, 1, 30, 0, 0, utc).In(madrid),
		"clocks forward at midnight":       time.Date(2026, 4, 24, 1, 5, 0, 0, cairo),
		"clocks forward at midnight, next": time.Date(2026, 4, 25, 0, 0, 0, 0, cairo),
		"29 February":                      time.Date(2028, 2, 29, 9, 0, 0, 0, madrid),
		"the year after 29 February":       time.Date(2029, 3, 1, 0, 0, 1, 0, madrid),
		"new year":                         time.Date(2027, 1, 1, 0, 0, 0, 0, madrid),
		"before the demo was written":      time.Date(2020, 5, 5, 12, 0, 0, 0, utc),
		"a hundred years on":               time.Date(2126, 7, 1, 18, 0, 0, 0, utc),
		"a day ahead of most":              time.Date(2026, 11, 2, 6, 0, 0, 0, kiritimati),
		"a day behind":                     time.Date(2026, 11, 2, 23, 59, 59, 999, pago),
	}
	for h := range 24 {
		nows[fmt.Sprintf("%02d:37", h)] = time.Date(2026, 9, 17, h, 37, 12, 34, madrid)
	}
	return nows
}

func TestDemoIsSoundAtAnyTime(t *testing.T) {
	nows := demoNows(t)
	for _, name := range slices.Sorted(maps.Keys(nows)) {
		now := nows[name]
		book, refused := readDemo(now)
		for _, r := range refused {
			t.Errorf("%s: row %d refused: %s %s %v", name, r.Row, r.Field, r.Why.Key, r.Why.Args)
		}
		for _, p := range (Changes{Persons: book.Persons, Entries: book.Entries, Packs: book.Packs}).Validate(now) {
			t.Errorf("%s: %s: %s %v", name, p.Field, p.Why.Key, p.Why.Args)
		}
		for _, e := range book.Entries {
			if e.When.After(now) {
				t.Errorf("%s: %s %v lies ahead at %v", name, e.Kind, e.Values, e.When)
			}
			if v, named := e.Value("pack"); named {
				t.Errorf("%s: the pack %q of %v is not in the house", name, v.Word, e.When)
			}
		}
		if got, want := firstScreen(Derive(Demo(now), now)), demoOpen; !slices.Equal(got, want) {
			t.Errorf("%s: the first screen shows\n%q, want\n%q", name, got, want)
		}
	}
}

// demoOpen is the story as it stands today: one call for today, one for soon,
// strips to repeat, and one person of whom nothing is to be said.
var demoOpen = []string{
	"Emil: protein-trace retest",
	"Inés: quiet",
	"Nadia: pregnancy-warning today",
	"Rosa: protein-known/higher soon",
	"Rosa: blood-once retest",
	"Rosa: glucose/medicine note",
	"Tomás: infection-strip-only note",
	"Tomás: cap-left-off note",
}

func firstScreen(s State) []string {
	var out []string
	for _, m := range s.Members {
		if m.Quiet == finding.Silent {
			out = append(out, m.Person.Name+": quiet")
		}
		for _, f := range m.Result.Open {
			rule := f.Rule
			if f.Variant != "" {
				rule += "/" + f.Variant
			}
			if f.Old {
				rule += " old"
			}
			out = append(out, m.Person.Name+": "+rule+" "+f.Urgency.String())
		}
	}
	return out
}

// TestDemoWhereADayIsMissing: Apia went without 30 December 2011. Rows of that
// day may fall upon others, and nothing worse may happen.
func TestDemoWhereADayIsMissing(t *testing.T) {
	for h := range 24 {
		now := time.Date(2011, 12, 31, h, 20, 0, 0, zone(t, "Pacific/Apia"))
		if s := Derive(Demo(now), now); len(s.Members) != 5 {
			t.Errorf("at %v there are %d persons", now, len(s.Members))
		}
	}
}

func TestDemoIsTheSameTwice(t *testing.T) {
	now := time.Date(2026, 9, 17, 9, 0, 0, 0, zone(t, "Europe/Madrid"))
	a, b := Demo(now), Demo(now)
	if !slices.Equal(a.Book.Rows(), b.Book.Rows()) {
		t.Error("two books of one time differ")
	}
	for i := range a.Book.Entries {
		if a.Book.Entries[i].ID != b.Book.Entries[i].ID {
			t.Fatal("identities differ")
		}
	}
}

// TestDemoRaisesEveryRule lives the household through again, one record and
// one day after the other, and asks the rules each time.
func TestDemoRaisesEveryRule(t *testing.T) {
	now := time.Date(2026, 9, 17, 9, 0, 0, 0, zone(t, "Europe/Madrid"))
	r := Demo(now)
	raised := map[string][]string{}
	for _, p := range r.Book.Persons {
		first := now
		var times []time.Time
		for _, e := range r.Book.Entries {
			if e.Person == p.ID && e.Kind == model.Strip {
				times = append(times, e.When.Time())
				if e.When.Time().Before(first) {
					first = e.When.Time()
				}
			}
			if e.Person == p.ID && (e.Kind == model.Symptom || e.Kind == model.Vital || e.Kind == model.Lab || e.Kind == model.Fluid) {
				times = append(times, e.When.Time())
			}
		}
		for d := first; d.Before(now); d = d.AddDate(0, 0, 1) {
			times = append(times, d)
		}
		for _, at := range append(times, now) {
			in := finding.Input{Book: r.Book, Kinds: r.Kinds(), Now: at.In(now.Location())}
			for _, f := range finding.Run(in, p).Open {
				if f.Old {
					t.Errorf("on %v nobody had answered %s of %v to %s", at, f.Rule, f.Since, p.Name)
				}
				if !slices.Contains(raised[f.Rule], p.Name) {
					raised[f.Rule] = append(raised[f.Rule], p.Name)
				}
			}
		}
	}
	for _, rule := range finding.Rules() {
		if len(raised[rule.ID]) == 0 {
			t.Errorf("nobody in the demo ever meets the rule %s", rule.ID)
		}
		t.Logf("%s: %v", rule.ID, raised[rule.ID])
	}
}

// TestDemoAnswersItsAlarms: what called for a doctor in the past was answered,
// with who was asked and what they said.
func TestDemoAnswersItsAlarms(t *testing.T) {
	now := time.Date(2026, 9, 17, 9, 0, 0, 0, time.UTC)
	for _, e := range Demo(now).Book.Entries {
		for _, v := range e.Values {
			if e.Kind != model.Answer {
				continue
			}
			if _, known := finding.FindRule(string(v.Code)); !known {
				t.Errorf("the answer of %v is to %s, which is no rule", e.When, v.Code)
			}
			if v.Note == "" {
				t.Errorf("the answer to %s of %v does not say who said what", v.Code, e.When)
			}
		}
	}
}

func TestDemoPacks(t *testing.T) {
	now := time.Date(2026, 9, 17, 9, 0, 0, 0, time.UTC)
	s := Derive(Demo(now), now)
	has := func(what string, is func(PackState) bool) {
		t.Helper()
		if !slices.ContainsFunc(s.Packs, is) {
			t.Errorf("no pack is %s", what)
		}
	}
	has("in use with strips left", func(p PackState) bool {
		return p.wait() == 0 && !p.EndingSoon && p.LeftKnown && p.Left > FewStrips && !p.Pack.OpenedOn.IsZero()
	})
	has("ending in five days", func(p PackState) bool { return p.DaysLeft == 5 && p.EndingSoon && p.wait() == 0 })
	has("stale", func(p PackState) bool { return p.Freshness == strip.Stale })
	has("of an age only assumed", func(p PackState) bool { return p.Shelf.Assumed && p.Freshness == strip.Questionable })
	has("sealed singly and good", func(p PackState) bool { return p.Pack.Sealed == model.Single && p.wait() == 0 })
	has("somebody's own", func(p PackState) bool { return p.Pack.Person != "" })
	for _, p := range s.Packs {
		if !p.KindKnown {
			t.Errorf("%s is of a kind nobody knows", p.Pack.Label)
		}
		used := 0
		for _, e := range s.Records.Book.Entries {
			if e.Pack == p.Pack.ID {
				used++
			}
		}
		if used > p.Pack.Strips {
			t.Errorf("%s: %d strips were used of %d", p.Pack.Label, used, p.Pack.Strips)
		}
		t.Logf("%-20s left %d of %d, %d days, freshness %d, used by %d", p.Pack.Label, p.Left, p.Pack.Strips, p.DaysLeft, p.Freshness, used)
	}
}
