package pressure

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"quietwater/model"
)

var zone = time.FixedZone("", 3600)

func when(t testing.TB, s string) model.When {
	t.Helper()
	w, err := model.ParseWhen(s, zone)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// pairs makes readings: two in the morning and two in the evening of each day.
func pairs(t testing.TB, first, days int, sys, dia float64) []Reading {
	var out []Reading
	for d := range days {
		for _, clock := range []string{"07:00", "07:01", "20:00", "20:01"} {
			out = append(out, Reading{When: when(t, fmt.Sprintf("2026-03-%02d %s", first+d, clock)), Systolic: sys, Diastolic: dia})
		}
	}
	return out
}

func TestReadings(t *testing.T) {
	vital := func(s string, cells ...any) model.Entry {
		e := model.Entry{ID: model.ID(s), Kind: model.Vital, When: when(t, s)}
		for i := 0; i < len(cells); i += 2 {
			e.Values = append(e.Values, model.Value{Code: model.Code(cells[i].(string)), Number: cells[i+1].(float64)})
		}
		return e
	}
	got := Readings([]model.Entry{
		vital("2026-03-01 07:00", "systolic", 190.0, "diastolic", 90.0), // before
		vital("2026-03-03 07:00", "weight", 70.0),
		vital("2026-03-03 08:00", "systolic", 142.0, "diastolic", 88.0, "pulse", 66.0),
		vital("2026-03-03 09:00", "systolic", 130.0),
	}, time.Date(2026, 3, 2, 0, 0, 0, 0, zone))
	if len(got) != 2 || got[0].Systolic != 142 || got[0].Diastolic != 88 || got[0].Pulse != 66 || got[1].Diastolic != 0 {
		t.Fatalf("got %+v", got)
	}
	if !got[0].Either(180, 88) || !got[0].Either(142, 120) || got[0].Either(143, 89) {
		t.Error("either number counts, at its limit")
	}
}

func TestMean(t *testing.T) {
	at := func(s string, sys, dia float64) Reading {
		return Reading{When: when(t, s), Systolic: sys, Diastolic: dia}
	}
	with := func(rs []Reading, more ...Reading) []Reading { return append(more, rs...) }
	for _, c := range []struct {
		name     string
		rs       []Reading
		sys, dia float64
		n        int
	}{
		{"nothing", nil, 0, 0, 0},
		{"a week, its first day dropped", with(pairs(t, 2, 6, 130, 80), pairs(t, 1, 1, 170, 100)...), 130, 80, 24},
		{"three days, the first dropped", pairs(t, 1, 3, 136, 84), 136, 84, 8},
		{"two days", pairs(t, 1, 2, 136, 84), 0, 0, 0},
		{"three days with five readings left", append(pairs(t, 1, 2, 136, 84), at("2026-03-03 07:00", 136, 84)), 0, 0, 0},
		{"three days with six readings left", append(pairs(t, 1, 2, 136, 84), at("2026-03-03 07:00", 136, 84), at("2026-03-03 08:00", 136, 84)), 136, 84, 6},
		{"only the newest eight days", with(pairs(t, 10, 8, 130, 80), pairs(t, 1, 9, 170, 100)...), 130, 80, 28},
		{"readings with one number are left out", append(pairs(t, 1, 3, 136, 84), at("2026-03-03 22:00", 200, 0)), 136, 84, 8},
		{"days alone count", []Reading{at("2026-03-01", 1, 1), at("2026-03-02", 120, 70), at("2026-03-02", 121, 71), at("2026-03-02", 122, 72),
			at("2026-03-03", 123, 73), at("2026-03-03", 124, 74), at("2026-03-03", 125, 75)}, 122.5, 72.5, 6},
	} {
		m, ok := MeanOf(c.rs, zone)
		if ok != (c.n > 0) || m.Systolic != c.sys || m.Diastolic != c.dia || len(m.Of) != c.n {
			t.Errorf("%s: %v/%v of %d, %v", c.name, m.Systolic, m.Diastolic, len(m.Of), ok)
		}
		if m.Good() != (c.n >= 12) {
			t.Errorf("%s: good is %v with %d readings", c.name, m.Good(), c.n)
		}
	}
}

// The mean lies between the least and the most of the readings it is taken from.
func TestMeanLiesBetween(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		var rs []Reading
		for d := range 1 + r.IntN(10) {
			for range r.IntN(5) {
				rs = append(rs, Reading{When: when(t, fmt.Sprintf("2026-03-%02d %02d:00", d+1, 6+len(rs)%12)), Systolic: float64(90 + r.IntN(90)), Diastolic: float64(50 + r.IntN(40))})
			}
		}
		m, ok := MeanOf(rs, zone)
		if !ok {
			continue
		}
		low, high := 999.0, 0.0
		for _, x := range m.Of {
			low, high = min(low, x.Systolic), max(high, x.Systolic)
		}
		if m.Systolic < low || m.Systolic > high || m.Days < MeanDays-1 || m.Days >= MeanSpan || len(m.Of) < MeanLeast {
			t.Fatalf("%+v of %+v", m, rs)
		}
	}
}

func TestWeek(t *testing.T) {
	start := when(t, "2026-03-02")
	at := func(s string) time.Time { return when(t, s).Time().In(zone) }
	rs := append(pairs(t, 2, 1, 140, 85), Reading{When: when(t, "2026-03-03 06:30"), Systolic: 140}, Reading{When: when(t, "2026-03-03"), Systolic: 140},
		Reading{When: when(t, "2026-03-09 07:00"), Systolic: 140}, Reading{When: when(t, "2026-03-01 20:00"), Systolic: 140})
	for _, c := range []struct {
		now  string
		day  int
		from string // of the next pair; "" for none
	}{
		{"2026-03-02 05:00", 1, "2026-03-03 06:00"}, // today's are in
		{"2026-03-03 09:00", 2, "2026-03-03 06:00"}, // one of two
		{"2026-03-03 11:59", 2, "2026-03-03 06:00"},
		{"2026-03-03 12:00", 2, "2026-03-03 18:00"},
		{"2026-03-03 23:59", 2, "2026-03-03 18:00"},
		{"2026-03-04 00:00", 3, "2026-03-04 06:00"},
		{"2026-03-08 23:00", 7, "2026-03-08 18:00"},
		{"2026-03-09 00:00", 8, ""},
	} {
		w := WeekOf(rs, start, at(c.now))
		if w.Day != c.day || w.Over != (c.from == "") || !w.Over && !w.From.Equal(at(c.from)) {
			t.Errorf("%s: day %d, next %v, over %v", c.now, w.Day, w.From, w.Over)
		}
	}
	w := WeekOf(rs, start, at("2026-03-03 09:00"))
	if w.Days[0].Morning != 2 || w.Days[0].Evening != 2 || w.Days[1].Morning != 1 || w.Days[1].Evening != 0 || w.Days[6].Morning != 0 {
		t.Errorf("counted %+v", w.Days)
	}
	if full := WeekOf(pairs(t, 2, 7, 120, 70), start, at("2026-03-08 20:05")); !full.Over {
		t.Errorf("a full week still wants %v", full.From)
	}
}

// Whatever the night the clocks change, the pairs stay at their hours.
func TestWeekOverAChangeOfClocks(t *testing.T) {
	madrid, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		t.Skip(err)
	}
	start := model.OnDay(time.Date(2026, 10, 22, 9, 0, 0, 0, madrid)) // the clocks go back on the 25th
	for d := range 7 {
		w := WeekOf(nil, start, time.Date(2026, 10, 22+d, 5, 0, 0, 0, madrid))
		if w.Day != d+1 || w.From.Hour() != MorningFrom || w.From.Day() != 22+d {
			t.Errorf("day %d: %d, %v", d+1, w.Day, w.From)
		}
	}
}
