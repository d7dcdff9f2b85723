package water

import (
	"math/rand/v2"
	"testing"
	"time"

	"quietwater/model"
)

func entry(t testing.TB, zone *time.Location, when string, k model.Kind, cells ...any) model.Entry {
	t.Helper()
	w, err := model.ParseWhen(when, zone)
	if err != nil {
		t.Fatal(err)
	}
	e := model.Entry{ID: model.ID(when), Kind: k, When: w}
	for i := 0; i < len(cells); i += 3 {
		e.Values = append(e.Values, model.Value{Code: model.Code(cells[i].(string)), Number: cells[i+1].(float64), Unit: cells[i+2].(string)})
	}
	return e
}

func load(t testing.TB, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Skip(err) // a machine without zones
	}
	return zone
}

func TestDays(t *testing.T) {
	zone := load(t, "Europe/Madrid")
	at := func(s string) time.Time {
		w, err := model.ParseWhen(s, zone)
		if err != nil {
			t.Fatal(err)
		}
		return w.Time().In(zone)
	}
	entries := []model.Entry{
		entry(t, zone, "2026-10-23 23:59", model.Fluid, "drink", 999.0, "mL"), // the day before
		entry(t, zone, "2026-10-24 00:00", model.Fluid, "drink", 200.0, "mL"),
		entry(t, zone, "2026-10-24", model.Fluid, "drink", 0.25, "L"),
		entry(t, zone, "2026-10-25T00:30:00+02:00", model.Fluid, "drink", 100.0, "mL"),
		entry(t, zone, "2026-10-25T23:30:00+01:00", model.Fluid, "drink", 150.0, "mL"), // 24 hours later: the day has 25
		entry(t, zone, "2026-10-25 08:00", model.Fluid, "urine", 300.0, "mL"),
		entry(t, zone, "2026-10-26T08:00:00+01:00", model.Fluid, "urine", 1400.0, "mL", "urine-hours", 24.0, "h"),
		entry(t, zone, "2026-10-26T09:00:00+01:00", model.Vital, "weight", 70.0, "kg"),
		entry(t, zone, "2026-10-26T22:30:00-05:00", model.Fluid, "drink", 300.0, "mL"), // already the 27th at home
	}
	model.SortEntries(entries)
	days := Days(entries, at("2026-10-24"), at("2026-10-27"))
	want := []Day{{Drunk: 450, Drinks: 2}, {Drunk: 250, Drinks: 2, Passed: 300}, {}, {Drunk: 300, Drinks: 1}}
	if len(days) != len(want) {
		t.Fatalf("%d days", len(days))
	}
	for i, d := range days {
		w := want[i]
		if w.Date = at("2026-10-24").AddDate(0, 0, i); !d.Date.Equal(w.Date) {
			t.Errorf("day %d is %v", i, d.Date)
		}
		if d.Drunk != w.Drunk || d.Drinks != w.Drinks || d.Passed != w.Passed {
			t.Errorf("%v: %+v, want %+v", d.Date, d, w)
		}
	}
}

// What was drunk is set against a collection for its own hours, whatever day
// they ended on.
func TestDrunkDuring(t *testing.T) {
	entries := []model.Entry{
		entry(t, time.UTC, "2026-03-07 07:00", model.Fluid, "drink", 999.0, "mL"), // before it
		entry(t, time.UTC, "2026-03-07 07:01", model.Fluid, "drink", 500.0, "mL"),
		entry(t, time.UTC, "2026-03-08 07:00", model.Fluid, "drink", 1.5, "L"),
		entry(t, time.UTC, "2026-03-08 07:00", model.Fluid, "urine", 1700.0, "mL", "urine-hours", 24.0, "h"),
		entry(t, time.UTC, "2026-03-08 07:01", model.Fluid, "drink", 100.0, "mL"),
		entry(t, time.UTC, "2026-03-09", model.Fluid, "urine", 1700.0, "mL", "urine-hours", 24.0, "h"),
	}
	cs := Collections(entries, time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC))
	if ml, ok := DrunkDuring(entries, cs[0]); !ok || ml != 2000 {
		t.Errorf("%v mL, %v", ml, ok)
	}
	if _, ok := DrunkDuring(entries, cs[1]); ok {
		t.Error("hours are known of a day alone")
	}
}

// Hours that could belong to either of two amounts belong to none.
func TestWhoseHours(t *testing.T) {
	hours := entry(t, time.UTC, "2026-03-09", model.Fluid, "urine-hours", 24.0, "h")
	small, large := entry(t, time.UTC, "2026-03-09", model.Fluid, "urine", 300.0, "mL"), entry(t, time.UTC, "2026-03-09", model.Fluid, "urine", 450.0, "mL")
	for _, es := range [][]model.Entry{{small, hours, large}, {large, small, hours}, {hours, large, small}} {
		if cs := Collections(es, time.Time{}); len(cs) != 0 {
			t.Errorf("%+v", cs)
		}
	}
	if cs := Collections([]model.Entry{hours, small}, time.Time{}); len(cs) != 1 {
		t.Error("one amount has its hours")
	}
}

func TestCollections(t *testing.T) {
	entries := []model.Entry{
		entry(t, time.UTC, "2026-03-01 08:00", model.Fluid, "urine", 500.0, "mL", "urine-hours", 24.0, "h"), // too early
		entry(t, time.UTC, "2026-03-05 08:00", model.Fluid, "urine", 300.0, "mL"),                           // a portion
		entry(t, time.UTC, "2026-03-05 14:00", model.Fluid, "urine", 0.18, "L", "urine-hours", 6.0, "h"),
		entry(t, time.UTC, "2026-03-06", model.Lab, "urine-volume", 1.6, "L", "urine-hours", 24.0, "h"),
		entry(t, time.UTC, "2026-03-07", model.Lab, "urine-volume", 1.6, "L"),
		entry(t, time.UTC, "2026-03-07", model.Fluid, "urine-hours", 24.0, "h"), // of another kind
		entry(t, time.UTC, "2026-03-08 07:00", model.Fluid, "urine", 900.0, "mL"),
		entry(t, time.UTC, "2026-03-08 07:00", model.Fluid, "urine-hours", 12.0, "h"),
	}
	got := Collections(entries, time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC))
	if len(got) != 3 || got[2].ML != 900 || got[2].Hours != 12 || got[0].ML != 180 || got[0].Hours != 6 || got[1].ML != 1600 || got[0].WholeDay() || !got[1].WholeDay() {
		t.Fatalf("got %+v", got)
	}
	if r, ok := got[0].Rate(60); !ok || r != 0.5 {
		t.Errorf("180 mL in 6 h at 60 kg are %v mL/kg/h", r)
	}
	if _, ok := got[0].Rate(0); ok {
		t.Error("a rate without a weight")
	}
}

// Whatever is recorded lies on exactly one day, in any order of the rows.
func TestNothingIsCountedTwice(t *testing.T) {
	zone := load(t, "America/New_York")
	r := rand.New(rand.NewPCG(1, 2))
	from := time.Date(2027, 3, 10, 0, 0, 0, 0, zone) // the clocks go forward on the 14th
	for range 200 {
		var entries []model.Entry
		sum := 0.0
		for range r.IntN(40) {
			at := from.Add(time.Duration(r.IntN(8*24*60)) * time.Minute)
			if model.DaysBetween(model.At(from), model.At(at), zone) > 7 {
				continue
			}
			ml := float64(r.IntN(500))
			sum += ml
			entries = append(entries, model.Entry{ID: model.ID(at.String()), Kind: model.Fluid, When: model.At(at),
				Values: []model.Value{{Code: "drink", Number: ml, Unit: "mL"}}})
		}
		model.SortEntries(entries)
		got := 0.0
		for _, d := range Days(entries, from, from.AddDate(0, 0, 7)) {
			got += d.Drunk
		}
		if got != sum {
			t.Fatalf("%v of %v mL were counted", got, sum)
		}
	}
}

// Where the clocks go forward at midnight a day begins an hour late.
func TestDaysWithoutMidnight(t *testing.T) {
	cairo := load(t, "Africa/Cairo")
	days := Days(nil, time.Date(2026, 4, 22, 9, 0, 0, 0, cairo), time.Date(2026, 4, 26, 9, 0, 0, 0, cairo))
	if len(days) != 5 || days[2].Date.Day() != 24 || days[4].Date.Day() != 26 {
		t.Errorf("the days are %v", days)
	}
}
