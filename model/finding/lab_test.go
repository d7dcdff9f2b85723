package finding_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
)

// labCase judges rows without a file.
func labCase(t *testing.T, rows ...string) finding.Result {
	t.Helper()
	c := testCase{now: time.Date(2027, 3, 1, 9, 0, 0, 0, time.FixedZone("", 3600))}
	for i, r := range rows {
		c.rows = append(c.rows, caseRow(t, "rows", r, i+1))
	}
	return judge(t, "rows", c)
}

func of(res finding.Result, rule string) (open, answered []finding.Finding) {
	other := func(f finding.Finding) bool { return f.Rule != rule }
	return slices.DeleteFunc(slices.Clone(res.Open), other), slices.DeleteFunc(slices.Clone(res.Answered), other)
}

// TestLabWords: a laboratory finding says the numbers of the sheet, whom to
// ring, and of which medicines to speak.
func TestLabWords(t *testing.T) {
	const (
		at       = "2027-03-01T08:00:00+01:00"
		k57      = at + ",lab,potassium,5.7,mmol/L"
		k67      = at + ",lab,potassium,6.7,meq/L"
		rise     = "2027-02-24T08:00:00+01:00,lab,creatinine,0.9,mg/dL\n" + at + ",lab,creatinine,1.8,mg/dL"
		usual    = "2026-09-01,lab,creatinine,0.9,mg/dL\n2026-10-01,lab,creatinine,1.0,mg/dL\n2027-03-01,lab,creatinine,1.8,mg/dL"
		dialysis = "2026-01-01,condition,dialysis,start\n"
		graft    = "2026-01-01,condition,transplant,start\n"
		arb      = "2026-01-01,medicine,acei-or-arb,start\n"
		three    = arb + "2026-01-01,medicine,diuretic,start\n2026-01-01,medicine,nsaid,start\n"
		over     = "2026-01-01,medicine,nsaid,start\n2026-02-01,medicine,nsaid,end\n"
	)
	for name, c := range map[string]struct {
		rule, rows, lang string
		says             []string
		never            string
	}{
		"a doctor":           {"potassium", k57, "en", []string{"was 5.7 mmol/L", "Ring your doctor or clinic now", "stood long or was shaken"}, "Say that you take"},
		"a transplant unit":  {"potassium", graft + k57, "en", []string{"Ring your transplant unit now"}, "your doctor or clinic"},
		"a dialysis unit":    {"potassium", dialysis + k57, "en", []string{"Ring your dialysis unit now for a visit"}, "your doctor or clinic"},
		"the unit, at once":  {"potassium", dialysis + k67, "en", []string{"was 6.7 mEq/L", "Ring your dialysis unit now, on its number for emergencies"}, "Ring your emergency number now"},
		"at once":            {"potassium", k67, "en", []string{"Ring your emergency number now", "potassium 6.7 mEq/L"}, "unit"},
		"one medicine":       {"potassium", arb + k57, "en", []string{"ring the same day. Say that you take: kidney and blood pressure tablet (ACE inhibitor or ARB)."}, "water tablet"},
		"three medicines":    {"potassium", three + k57, "es", []string{"fue de 5,7 mmol/L", "Diga que toma: ", "diurético", "AINE"}, ""},
		"a medicine of once": {"potassium", over + k57, "en", nil, "Say that you take"},
		"a blood thinner":    {"visible-blood", "2026-01-01,medicine,anticoagulant,start\n" + at + ",symptom,visible-blood,1", "en", []string{"Say that you take: blood thinner (anticoagulant)."}, ""},
		"no blood thinner":   {"visible-blood", arb + at + ",symptom,visible-blood,1", "en", nil, "Say that you take"},
		"low, and medicine":  {"potassium", arb + at + ",lab,potassium,3.2,mmol/L", "en", []string{"Say that you take"}, ""},
		"rise, and medicine": {"kidney-injury", arb + rise, "en", []string{"was 0.9 mg/dL on 24 February 2027", "it was 1.8 mg/dL, that is 2.0 times", "stage 2 of 3", "Say that you take"}, ""},
		"usual":              {"kidney-injury", usual, "en", []string{"about 0.95 mg/dL", "1.9 times", "stage 1 of 3"}, ""},
		"usual, other unit":  {"kidney-injury", strings.NewReplacer("0.9,mg/dL", "80,umol/L", "1.0,mg/dL", "90,umol/L").Replace(usual), "en", []string{"about 0.96 mg/dL"}, ""},
		"usual, in whole":    {"kidney-injury", "2026-09-01,lab,creatinine,80,umol/L\n2026-10-01,lab,creatinine,91,umol/L\n2027-03-01,lab,creatinine,170,umol/L", "en", []string{"about 86 µmol/L", "2.0 times"}, ""},
		"what is beside":     {"potassium", k57 + "\n" + rise + "\n" + at + ",symptom,vomiting,2", "en", []string{"vomiting and creatinine that rose quickly"}, ""},
		"calcium alone":      {"calcium", at + ",lab,calcium,3.1,mmol/L", "en", []string{"calcium 3.1 mmol/L, not adjusted for albumin"}, ""},
		"calcium adjusted":   {"calcium", at + ",lab,calcium,11.83,mg/dL\n" + at + ",lab,albumin,3.0,g/dL", "en", []string{"calcium 11.83 mg/dL with albumin 3.0 g/dL, which makes 12.6 mg/dL"}, ""},
		"calcium, a limit":   {"calcium", at + ",lab,calcium,2.65,mmol/L\n" + at + ",lab,albumin,<20,g/L", "es", []string{"calcio 2,65 mmol/L con albúmina <20 g/L, que ajustado es >3,05 mmol/L"}, ""},
		"calcium, the unit":  {"calcium", dialysis + at + ",lab,calcium,3.6,mmol/L", "en", []string{"Ring your dialysis unit now, on its number"}, ""},
		"first and newest":   {"haemoglobin", "2026-06-01,lab,haemoglobin,108,g/L\n2027-02-01,lab,haemoglobin,10.4,g/dL", "en", []string{"108 g/L on 1 June 2026, and 10.4 g/dL on 1 February 2027"}, ""},
		"old":                {"potassium", "2027-02-01,lab,potassium,6.7,mmol/L", "en", []string{"This result is from 1 February 2027. Was it dealt with?"}, ""},
	} {
		open, _ := of(labCase(t, strings.Split(c.rows, "\n")...), c.rule)
		if len(open) != 1 {
			t.Errorf("%s: %d findings", name, len(open))
			continue
		}
		words, err := i18n.New(c.lang, "")
		if err != nil {
			t.Fatal(err)
		}
		said := words.T(open[0].Title) + " " + words.T(open[0].Why) + " " + words.T(open[0].Do)
		for _, want := range c.says {
			if !strings.Contains(said, want) {
				t.Errorf("%s: %q is not said in %q", name, want, said)
			}
		}
		if c.never != "" && strings.Contains(said, c.never) {
			t.Errorf("%s: %q is said in %q", name, c.never, said)
		}
	}
}

// TestLimitThatProvesNothingIsNamed: what no rule could judge is no good news.
func TestLimitThatProvesNothingIsNamed(t *testing.T) {
	const at = "2027-03-01T08:00:00+01:00,lab,"
	for rows, want := range map[string]bool{
		at + "potassium,>5.0,mmol/L":  true,
		at + "potassium,>3.5,mmol/L":  true, // it may be high
		at + "potassium,<6.0,mmol/L":  true, // it may be low
		at + "potassium,>6.5,mmol/L":  false,
		at + "potassium,4.5,mmol/L":   false,
		at + "calcium,<1.9,mmol/L":    false,
		at + "calcium,>2.4,mmol/L":    true,
		at + "bicarbonate,>18,mmol/L": false,
		at + "bicarbonate,>15,mmol/L": true,
		at + "bicarbonate,<20,mmol/L": true,
		at + "haemoglobin,>110,g/L":   false,
		at + "haemoglobin,>11.0,g/dL": false,
		at + "haemoglobin,>100,g/L":   true,
		at + "haemoglobin,<120,g/L":   true,
		at + "haemoglobin,<11.0,g/dL": false,
		at + "creatinine,>600,umol/L": true,
		at + "creatinine,100,umol/L":  false,
		at + "sodium,139,mmol/L":      true, // no rule of ours
		"2027-02-01,lab,potassium,>5.0,mmol/L\n" + at + "potassium,4.5,mmol/L": false,
		"2027-02-01,lab,potassium,4.5,mmol/L\n" + at + "potassium,>5.0,mmol/L": true,
	} {
		if got := len(labCase(t, strings.Split(rows, "\n")...).Unread()) > 0; got != want {
			t.Errorf("%s: named %v, want %v", rows, got, want)
		}
	}
}

// TestAnsweredLabStays: what was answered stays with what was said, also after
// a newer result took its place; what came without an answer does not.
func TestAnsweredLabStays(t *testing.T) {
	for name, c := range map[string]struct {
		rule, rows     string
		open, answered int
	}{
		"answered, then in range": {"potassium", "2027-02-01,lab,potassium,6.7,mmol/L\n2027-02-02,answer,potassium,called\n2027-02-03,lab,potassium,5.0,mmol/L", 0, 1},
		"in range, then answered": {"potassium", "2027-02-01,lab,potassium,6.7,mmol/L\n2027-02-03,lab,potassium,5.0,mmol/L\n2027-02-04,answer,potassium,called", 0, 0},
		"answered, then again":    {"potassium", "2027-02-01,lab,potassium,6.7,mmol/L\n2027-02-02,answer,potassium,called\n2027-02-28,lab,potassium,6.6,mmol/L", 1, 1},
		"answered for a later":    {"potassium", "2027-01-01,lab,potassium,5.7,mmol/L\n2027-02-01,lab,potassium,6.7,mmol/L\n2027-02-02,answer,potassium,called", 0, 1},
		"typed twice":             {"potassium", "2027-02-01,lab,potassium,6.7,mmol/L\n2027-02-01,lab,potassium,6.70,meq/L\n2027-02-02,answer,potassium,called", 0, 1},
		"two of one day":          {"potassium", "2027-02-01,lab,potassium,6.7,mmol/L\n2027-02-01,lab,potassium,6.8,mmol/L\n2027-02-02,answer,potassium,called", 0, 2},
		"rise, then none":         {"kidney-injury", "2027-01-01,lab,creatinine,80,umol/L\n2027-01-04,lab,creatinine,200,umol/L\n2027-01-05,answer,kidney-injury,called\n2027-02-04,lab,creatinine,82,umol/L", 0, 1},
		"rise, not answered":      {"kidney-injury", "2027-01-01,lab,creatinine,80,umol/L\n2027-01-04,lab,creatinine,200,umol/L\n2027-02-04,lab,creatinine,82,umol/L\n2027-02-05,answer,kidney-injury,called", 0, 0},
		"low once":                {"haemoglobin", "2027-01-01,lab,haemoglobin,98,g/L\n2027-01-04,answer,haemoglobin,called", 0, 1},
		"lower later":             {"haemoglobin", "2027-01-01,lab,haemoglobin,108,g/L\n2027-01-04,answer,haemoglobin,called\n2027-02-04,lab,haemoglobin,98,g/L", 1, 1},
		"risen":                   {"haemoglobin", "2027-01-01,lab,haemoglobin,108,g/L\n2027-01-04,answer,haemoglobin,called\n2027-02-04,lab,haemoglobin,118,g/L", 0, 1},
	} {
		open, answered := of(labCase(t, strings.Split(c.rows, "\n")...), c.rule)
		if len(open) != c.open || len(answered) != c.answered {
			t.Errorf("%s: open%s, answered%s", name, describe(open), describe(answered))
		}
	}
}

// Along the numbers of the newest result, away from its range, the rule of the
// analyte never calls less, in any book and in either unit.
func TestLawAWorseResultNeverLowers(t *testing.T) {
	ladders := []struct {
		code    model.Code
		unit    string
		numbers []string
	}{
		{"potassium", "mmol/L", []string{"5.4", "5.5", "5.9", "6.0", "6.4", "6.5", "9"}},
		{"potassium", "meq/L", []string{"3.5", "3.4", "3.0", "2.9", "2.5", "2.4", "1.6"}},
		{"calcium", "mmol/L", []string{"2.9", "3.0", "3.5", "3.51", "4.5"}},
		{"calcium", "mg/dL", []string{"8.1", "8", "7.7", "7.6", "6"}},
		{"bicarbonate", "mmol/L", []string{"19", "18", "17.9", "9"}},
		{"creatinine", "mg/dL", []string{"0.5", "0.9", "1.4", "2", "3", "3.9", "4", "9", "15"}},
	}
	forBooks(t, func(d drawer, b model.Book) string {
		l := pick(d, ladders)
		rule := string(l.code)
		if l.code == "creatinine" {
			rule = "kidney-injury"
		}
		only := func(r finding.Result) finding.Result {
			r.Open, _ = of(r, rule)
			return r
		}
		var before finding.Result
		for i, s := range l.numbers {
			n, _ := model.ParseNumber(s)
			after := only(judgeBook(with(b, model.Entry{Kind: model.Lab, When: model.At(lawNow),
				Values: []model.Value{{Code: l.code, Number: n, Typed: s, Unit: l.unit}}})))
			if why := quieter(before, after); i > 0 && why != "" {
				return fmt.Sprintf("%s at %s %s: %s", l.code, s, l.unit, why)
			}
			before = after
		}
		return ""
	})
}

// TestTheStripHasItsOwnTime: what a text says of the strip is dated by the
// strip, also where a symptom that came later lends it weight.
func TestTheStripHasItsOwnTime(t *testing.T) {
	open, _ := of(labCase(t, "2027-02-28T07:30:00+01:00,strip,protein,3+", "2027-02-28T11:45:00+01:00,symptom,ankle-swelling,3"), "protein-high")
	if len(open) != 1 || open[0].Urgency != finding.Today {
		t.Fatalf("found %v", open)
	}
	w, err := i18n.New("en", "")
	if err != nil {
		t.Fatal(err)
	}
	if why := w.T(open[0].Why); !strings.Contains(why, "07:30, the strip showed") {
		t.Error(why)
	}
	if open[0].Since.Time().Hour() != 11 {
		t.Errorf("the finding is as new as %v", open[0].Since)
	}
}
