package model

import (
	"math/rand/v2"
	"regexp"
	"testing"
	"time"
	_ "time/tzdata" // the zones below, whatever the machine carries
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// zones: with summer time, with an offset of odd minutes, and with clocks
// that are put forward at midnight, where a day has no 00:00.
func zones(t testing.TB) []*time.Location {
	var out []*time.Location
	for _, n := range []string{"UTC", "Europe/Madrid", "America/New_York", "Asia/Kathmandu", "America/Santiago", "America/Havana", "Africa/Cairo", "Australia/Lord_Howe"} {
		out = append(out, zone(t, n))
	}
	return out
}

func TestParseWhen(t *testing.T) {
	madrid := zone(t, "Europe/Madrid")
	for in, want := range map[string]string{
		"2026-05-01":                     "2026-05-01",
		"2024-02-29":                     "2024-02-29",
		"2026-05-01 07:30":               "2026-05-01T07:30:00+02:00",
		"2026-01-01 07:30":               "2026-01-01T07:30:00+01:00",
		"2026-05-01T07:30:00Z":           "2026-05-01T07:30:00Z",
		"2026-05-01T07:30:00+00:00":      "2026-05-01T07:30:00Z",
		"2026-05-01T07:30:00+05:45":      "2026-05-01T07:30:00+05:45",
		"2026-05-01T07:30:00.250-05:00":  "2026-05-01T07:30:00.25-05:00",
		"1850-01-01 10:00":               "1850-01-01T10:00:44-00:14", // local mean time −0:14:44
		"":                               "",
		"2026-02-29":                     "",
		"2026-5-1":                       "",
		"2026-05-01 7:30":                "",
		"2026-05-01  7:30":               "",
		"2026-05-01  07:30":              "",
		"2026-05-01 07:30:00":            "",
		"2026-05-01T07:30":               "",
		"2026-05-01T07:30:00":            "",
		"2026-05-01T7:30:00Z":            "",
		"2026-05-01T07:30:00,5Z":         "",
		"2026-05-01T07:30:60Z":           "",
		"2026-05-01T24:00:00Z":           "",
		"2026-05-01T07:30:00+24:00":      "",
		"2026-05-01T07:30:00+05:60":      "",
		"2026-05-01T07:30:00 +02:00":     "",
		"01/05/2026":                     "",
		"05/13/2026":                     "",
		"2026/05/01":                     "",
		"1.5.2026":                       "",
		"1799-12-31":                     "",
		"9001-01-01":                     "",
		"2026-05-01T07:30:00Z ":          "",
		"２０２６-05-01":                     "",
		"2026-05-01T07:30:00.1234567891": "",
	} {
		w, err := ParseWhen(in, madrid)
		switch {
		case (err == nil) != (want != ""):
			t.Errorf("%q: %v", in, err)
		case err == nil && w.String() != want:
			t.Errorf("%q is %s, want %s", in, w, want)
		case err != nil && !w.IsZero():
			t.Errorf("%q: refused, but gave %s", in, w)
		}
	}
	if w, err := ParseWhen("2026-05-01 07:30", nil); err != nil || w.String() != "2026-05-01T07:30:00Z" {
		t.Error("without a zone:", w, err)
	}
}

// Local times that do not exist, or exist twice, are taken at one of the two
// offsets around the change.
func TestClockChanges(t *testing.T) {
	for _, c := range []struct{ zone, local, one, other string }{
		{"Europe/Madrid", "2026-03-29 02:30", "2026-03-29T01:30:00+01:00", "2026-03-29T03:30:00+02:00"},
		{"Europe/Madrid", "2026-10-25 02:30", "2026-10-25T02:30:00+01:00", "2026-10-25T02:30:00+02:00"},
		{"America/New_York", "2026-03-08 02:30", "2026-03-08T01:30:00-05:00", "2026-03-08T03:30:00-04:00"},
		{"America/New_York", "2026-11-01 01:30", "2026-11-01T01:30:00-05:00", "2026-11-01T01:30:00-04:00"},
		{"Asia/Kathmandu", "2026-03-29 02:30", "2026-03-29T02:30:00+05:45", ""},
	} {
		w, err := ParseWhen(c.local, zone(t, c.zone))
		if err != nil || w.String() != c.one && w.String() != c.other {
			t.Errorf("%s in %s: %s %v", c.local, c.zone, w, err)
		}
	}
}

// Law: every day is the day that was written, in every zone, and days follow
// each other by one.
func TestEveryDayOfTheYears(t *testing.T) {
	for _, z := range zones(t) {
		var last When
		for d := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC); d.Year() < 2031; d = d.AddDate(0, 0, 1) {
			text := d.Format(dayLayout)
			w, err := ParseWhen(text, z)
			if err != nil || w.String() != text || !w.DayOnly() {
				t.Fatalf("%s in %s: %s %v", text, z, w, err)
			}
			for _, there := range []*time.Location{z, time.UTC} {
				if got := w.DayIn(there).Format(dayLayout); got != text {
					t.Fatalf("%s in %s falls on %s in %s", text, z, got, there)
				}
			}
			if got := OnDay(w.Time()); got.String() != text {
				t.Fatalf("%s in %s: on day %s", text, z, got)
			}
			if at := At(time.Date(d.Year(), d.Month(), d.Day(), 12, 0, 0, 0, z)); at.DayIn(z) != w.DayIn(z) || DaysBetween(w, at, z) != 0 || w.Compare(at) >= 0 {
				t.Fatalf("noon of %s in %s is another day", text, z)
			}
			if !last.IsZero() {
				if n := DaysBetween(last, w, z); n != 1 || !last.Before(w) {
					t.Fatalf("%s follows %s by %d days in %s", w, last, n, z)
				}
			}
			last = w
		}
	}
}

// A day the whole zone skipped still reads back as it was written.
func TestADayThatNeverWas(t *testing.T) {
	w, err := ParseWhen("2011-12-30", zone(t, "Pacific/Apia"))
	if err != nil || w.String() != "2011-12-30" {
		t.Error(w, err)
	}
}

func randomInstant(r *rand.Rand, z *time.Location) time.Time {
	return time.Unix(r.Int64N(6e9)-2e9, r.Int64N(1e9)).In(z)
}

// Law: String is what ParseWhen reads back, to the nanosecond, in any zone.
func TestWhenThereAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	zs := zones(t)
	for range 20000 {
		from, to := zs[r.IntN(len(zs))], zs[r.IntN(len(zs))]
		at := randomInstant(r, from)
		w := At(at)
		got, err := ParseWhen(w.String(), to)
		if err != nil || !got.Time().Equal(at) || got.String() != w.String() || got.Compare(w) != 0 {
			t.Fatalf("%s came back as %s: %v", w, got, err)
		}
	}
}

func TestDaysBetween(t *testing.T) {
	for _, c := range []struct {
		from, to string
		days     int
	}{
		{"2026-03-28", "2026-03-30", 2}, // Madrid's clocks change between
		{"2026-10-24", "2026-10-26", 2},
		{"2024-02-28", "2024-03-01", 2},
		{"2026-02-28", "2026-03-01", 1},
		{"1900-02-28", "1900-03-01", 1},       // no leap year
		{"2000-02-28", "2000-03-01", 2},       // a leap year
		{"1800-01-01", "2200-01-01", 146097},  // days in 400 Gregorian years
		{"1800-01-01", "9000-01-01", 2629746}, // 18 times that
		{"2026-05-02", "2026-05-01", -1},
		{"2026-05-01T23:59:00+02:00", "2026-05-02T00:01:00+02:00", 1},
		{"2026-05-01T22:30:00Z", "2026-05-02", 0}, // half past midnight in Madrid
		{"2026-05-01T21:30:00Z", "2026-05-02", 1},
	} {
		z := zone(t, "Europe/Madrid")
		a, errA := ParseWhen(c.from, z)
		b, errB := ParseWhen(c.to, z)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if n := DaysBetween(a, b, z); n != c.days {
			t.Errorf("%s to %s: %d days, want %d", c.from, c.to, n, c.days)
		}
		if n := DaysBetween(b, a, z); n != -c.days {
			t.Errorf("%s to %s: %d days, want %d", c.to, c.from, n, -c.days)
		}
	}
}

// Laws: days add up, and an instant is never further than its hours say.
func TestDaysAddUp(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	zs := zones(t)
	for range 20000 {
		z := zs[r.IntN(len(zs))]
		var w [3]When
		for i := range w {
			if w[i] = At(randomInstant(r, zs[r.IntN(len(zs))])); r.IntN(2) == 0 {
				w[i] = OnDay(randomInstant(r, z))
			}
		}
		ab, bc, ac := DaysBetween(w[0], w[1], z), DaysBetween(w[1], w[2], z), DaysBetween(w[0], w[2], z)
		if ab+bc != ac {
			t.Fatalf("%v: %d + %d is not %d", w, ab, bc, ac)
		}
		days := time.Duration(max(ab, -ab)) * 24 * time.Hour
		for _, d := range []time.Duration{0, 24 * time.Hour, 72 * time.Hour, days, days - 1, 90 * 24 * time.Hour} {
			got := Within(w[0], w[1], d, z)
			if got != Within(w[1], w[0], d, z) {
				t.Fatalf("%v within %v depends on the order", w, d)
			}
			want := days <= d
			if !w[0].DayOnly() && !w[1].DayOnly() {
				want = w[1].Time().Sub(w[0].Time()).Abs() <= d
			}
			if got != want {
				t.Fatalf("%v within %v: %v", w[:2], d, got)
			}
		}
	}
}

func TestWithin(t *testing.T) {
	const h = time.Hour
	for _, c := range []struct {
		a, b string
		d    time.Duration
		want bool
	}{
		// Hours count where both have times (decision 12).
		{"2026-05-01T08:00:00+02:00", "2026-05-04T08:00:00+02:00", 72 * h, true},
		{"2026-05-01T08:00:00+02:00", "2026-05-04T08:00:01+02:00", 72 * h, false},
		{"2026-05-01T08:00:00+02:00", "2026-05-01T06:00:00Z", 0, true},
		// The day of 23 hours.
		{"2026-03-28 12:00", "2026-03-29 12:00", 23 * h, true},
		{"2026-10-24 12:00", "2026-10-25 12:00", 24 * h, false},
		// Calendar days otherwise.
		{"2026-05-01", "2026-05-04T23:59:00+02:00", 72 * h, true},
		{"2026-05-01", "2026-05-05T00:00:00+02:00", 72 * h, false},
		{"2026-05-01", "2026-05-01T23:59:00+02:00", 0, true},
		{"2026-05-01", "2026-05-02", 23 * h, false},
		{"2026-05-01", "2026-05-02", 24 * h, true},
		{"2026-05-01", "2026-05-01", -h, false},
		// Further apart than a Duration can say.
		{"1800-01-01T00:00:00Z", "2500-01-01T00:00:00Z", 72 * h, false},
		{"1800-01-01", "9000-01-01", 72 * h, false},
	} {
		z := zone(t, "Europe/Madrid")
		a, _ := ParseWhen(c.a, z)
		b, _ := ParseWhen(c.b, z)
		if Within(a, b, c.d, z) != c.want || Within(b, a, c.d, z) != c.want {
			t.Errorf("%s and %s within %s: want %v", c.a, c.b, c.d, c.want)
		}
	}
}

func TestAfter(t *testing.T) {
	now := time.Date(2026, 5, 1, 0, 30, 0, 0, zone(t, "Europe/Madrid"))
	for in, want := range map[string]bool{
		"2026-05-01": false, "2026-05-02": true, "2026-04-30": false,
		"2026-05-01 00:30": false, "2026-05-01 00:31": true, "2026-04-30T22:31:00Z": true, "2026-04-30T22:30:00Z": false,
	} {
		w, err := ParseWhen(in, now.Location())
		if err != nil || w.After(now) != want {
			t.Errorf("%s after %s: want %v", in, now, want)
		}
	}
	if (When{}).After(now) {
		t.Error("what has no date is in the future")
	}
	// A day keeps its name wherever it was written: in New York it is still April.
	if w, _ := ParseWhen("2026-05-01", time.UTC); !w.After(now.In(zone(t, "America/New_York"))) {
		t.Error("the first of May is there already in New York")
	}
}

func TestWhenZero(t *testing.T) {
	if w := At(time.Time{}); !w.IsZero() || w.String() != "" || w.DayOnly() {
		t.Error("the zero time is a date")
	}
}

// ISO 15223-1, 5.1.4: a month printed alone means its last day.
func TestLastDay(t *testing.T) {
	for _, c := range []struct {
		y    int
		m    time.Month
		want string
	}{
		{2027, 2, "2027-02-28"}, {2028, 2, "2028-02-29"}, {2100, 2, "2100-02-28"}, {2000, 2, "2000-02-29"},
		{2026, 4, "2026-04-30"}, {2026, 12, "2026-12-31"}, {2026, 1, "2026-01-31"},
	} {
		if got := LastDay(c.y, c.m).Format(dayLayout); got != c.want {
			t.Errorf("last day of %d-%d: %s, want %s", c.y, c.m, got, c.want)
		}
		if w, err := ParseDay(c.want[:7], true); err != nil || w.String() != c.want {
			t.Errorf("%s: %s %v", c.want[:7], w, err)
		}
	}
	for _, bad := range []string{"2027-02", "02/2027", "2027-2", "2027", "2027-13", "2027-02-29", ""} {
		if w, err := ParseDay(bad, bad != "2027-02"); err == nil {
			t.Errorf("%q is %s", bad, w)
		}
	}
}

var whenForm = regexp.MustCompile(`^\d{4}-\d\d-\d\d([ ]\d\d:\d\d|T\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d))?$`)

func FuzzParseWhen(f *testing.F) {
	for _, s := range []string{"2026-05-01", "2026-03-29 02:30", "2026-10-25T02:30:00.5+05:45", "01/05/2026", "2011-12-30", "1850-01-01 10:00", "1850-01-01  0:00", "0000-01-01T00:00:00-00:00"} {
		f.Add(s)
	}
	zs := zones(f)
	f.Fuzz(func(t *testing.T, s string) {
		for _, z := range zs {
			w, err := ParseWhen(s, z)
			if err != nil {
				continue
			}
			if !whenForm.MatchString(s) {
				t.Fatalf("%q was read as %s", s, w)
			}
			for _, there := range zs {
				again, err := ParseWhen(w.String(), there)
				if err != nil || again.String() != w.String() || !w.DayOnly() && !again.Time().Equal(w.Time()) {
					t.Fatalf("%q: %s came back as %s: %v", s, w, again, err)
				}
			}
			if w.DayOnly() && w.String() != s {
				t.Fatalf("the day %q became %s", s, w)
			}
		}
	})
}
