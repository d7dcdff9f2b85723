package numbers

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"quietwater/model"
)

// TestRiskCourse: the risk stands at the end of each day that brought a result;
// its last is the one told as Failure.
func TestRiskCourse(t *testing.T) {
	sixty := []string{",profile,birth-date,1966-01-10", ",profile,sex,female", ",profile,risk-region,other"}
	g := func(day string, v int) string { return fmt.Sprintf("%s,lab,egfr,%d,mL/min/{1.73_m2}", day, v) }
	a := func(day string, v int) string { return fmt.Sprintf("%s,lab,acr,%d,mg/g", day, v) }
	for _, c := range []struct {
		name string
		rows []string
		want string // day of the eGFR, eGFR, ACR of each
	}{
		{"nothing", nil, ""},
		{"blood and urine of one day", []string{a("2025-01-10", 900), g("2026-01-10", 45), a("2026-01-10", 25)}, "2026-01-10 45 25"},
		{"urine a week later", []string{g("2026-01-10", 45), a("2026-01-17", 25)}, "2026-01-10 45 25"},
		{"urine of a year before", []string{a("2025-01-10", 25), g("2026-01-10", 45)}, "2026-01-10 45 25"},
		{"and a day", []string{a("2025-01-09", 25), g("2026-01-10", 45)}, ""},
		{"the nearest urine", []string{a("2025-12-01", 20), g("2026-01-10", 45), a("2026-01-20", 30), a("2026-04-20", 90)}, "2026-01-10 45 20; 2026-01-10 45 30; 2026-01-10 45 30"},
		{"ill", []string{g("2026-01-10", 45), a("2026-01-10", 25), g("2026-02-10", 20), "2026-02-10,lab,ill-then,yes"}, "2026-01-10 45 25; 2026-01-10 45 25"},
		{"too high for the equation", []string{g("2026-01-10", 45), a("2026-01-10", 25), g("2026-02-10", 60)}, "2026-01-10 45 25; 2026-02-10 60 none"},
		{"dialysis for a while", []string{g("2026-01-10", 45), a("2026-01-10", 25), "2026-02-01,condition,dialysis,start", g("2026-02-10", 20),
			"2026-03-01,condition,dialysis,end", g("2026-04-10", 40)}, "2026-01-10 45 25; 2026-04-10 40 25"},
		{"pregnancy for a while", []string{g("2026-01-10", 45), a("2026-01-10", 25), "2026-02-01,condition,pregnancy,start", g("2026-02-10", 20),
			"2026-03-01,condition,pregnancy,end", g("2026-04-10", 40)}, "2026-01-10 45 25; 2026-04-10 40 25"},
		{"a transplant that was lost", []string{g("2026-01-10", 45), a("2026-01-10", 25), "2026-02-01,condition,transplant,start", g("2026-02-10", 20),
			"2026-03-01,condition,transplant,end", g("2026-04-10", 40)}, "2026-01-10 45 25; 2026-04-10 40 25"},
		{"blood, then urine", []string{g("2026-01-10", 45), a("2026-01-10", 25), g("2026-02-10", 40), a("2026-02-20", 90)}, "2026-01-10 45 25; 2026-02-10 40 25; 2026-02-10 40 90"},
		{"hours apart on one day", []string{a("2025-06-10", 900), g("2026-01-10T08:00:00+01:00", 45), a("2026-01-10T09:00:00+01:00", 25)}, "2026-01-10T08:00:00+01:00 45 25"},
		{"no region", append(slices.Clone(sixty[:2]), g("2026-01-10", 45), a("2026-01-10", 25)), ""},
	} {
		rows := c.rows
		if c.name != "no region" {
			rows = slices.Concat(sixty, c.rows)
		}
		n := of(t, "2026-06-01", rows...)
		var got []string
		course := n.RiskCourse()
		for _, f := range course {
			acr := "none"
			if f.ACR.Value.Code == "acr" {
				acr = f.ACR.Value.Text()
			}
			if (acr == "none") != (f.Four.Five == 0) {
				t.Errorf("%s: %+v", c.name, f)
			}
			got = append(got, fmt.Sprint(f.When, " ", f.GFR.Value, " ", acr))
		}
		if s := strings.Join(got, "; "); s != c.want {
			t.Errorf("%s: %s, want %s", c.name, s, c.want)
		}
		if n.NoRisk.IsZero() && course[len(course)-1].Four != n.Failure.Four {
			t.Errorf("%s: the course ends at %+v, the risk told is %+v", c.name, course[len(course)-1].Four, n.Failure.Four)
		}
	}
}

func TestTrendAt(t *testing.T) {
	n := of(t, "2026-06-01", with(woman, "2024-01-10,lab,egfr,60,mL/min/{1.73_m2}", "2024-07-10,lab,egfr,57,mL/min/{1.73_m2}",
		"2025-01-10T08:00:00+01:00,lab,egfr,54,mL/min/{1.73_m2}", "2025-07-10,lab,egfr,54,mL/min/{1.73_m2}")...)
	for day, want := range map[string]int{"2023-01-01": 0, "2024-01-10": 1, "2025-01-09": 2, "2025-01-10": 3, "2025-01-10T08:00:00+01:00": 3, "2025-01-10T07:59:00+01:00": 2, "2026-01-01": 4} {
		w, err := model.ParseWhen(day, madrid)
		if err != nil {
			t.Fatal(err)
		}
		trend, of := n.TrendAt(w)
		if len(of) != want || trend.Rapid != (want == 3) {
			t.Errorf("%s: %d results, %+v", day, len(of), trend)
		}
	}
	if now, of := n.TrendAt(model.At(n.person.now)); now != n.Trend || len(of) != len(n.TrendOf) {
		t.Errorf("now %+v, told %+v", now, n.Trend)
	}
}

// TestTwoReportsOfADay: a second number that a sheet reports is not lost beside
// the one set against our own.
func TestTwoReportsOfADay(t *testing.T) {
	n := of(t, "2026-06-01", with(woman, "2026-04-01,lab,creatinine,150,umol/L", "2026-04-01,lab,egfr,31,mL/min/{1.73_m2}", "2026-04-01,lab,egfr,9,mL/min/{1.73_m2}")...)
	var got []float64
	for _, g := range n.GFR {
		got = append(got, g.Reported.Value.Number)
	}
	if len(got) != 2 || math.Min(got[0], got[1]) != 9 {
		t.Errorf("reports %v", got)
	}
}
