package page

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
)

var madrid = func() *time.Location {
	z, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		panic(err)
	}
	return z
}()

// now is the time every page here is written at.
var now = time.Date(2026, 6, 1, 10, 0, 0, 0, madrid)

// judged reads rows of the plain table (when,kind,what,value,unit,note) of a
// woman born in 1954 and judges them.
func judged(t testing.TB, lines ...string) (finding.Result, []model.Pack) {
	t.Helper()
	var rows []model.Row
	for i, line := range append([]string{",profile,birth-date,1954-03-10", ",profile,sex,female"}, lines...) {
		c := append(strings.Split(line, ","), "", "")
		rows = append(rows, model.Row{Number: i + 1, Person: "Ana", When: c[0], Kind: c[1], What: c[2], Value: c[3], Unit: c[4], Note: c[5]})
	}
	n := 0
	r := model.Reader{Zone: madrid, NewID: func() model.ID { n++; return model.ID(fmt.Sprintf("%04d", n)) }}
	b, refused := r.Read(rows)
	for _, f := range refused {
		t.Fatalf("row %d: %v", f.Row, f.Problem)
	}
	model.SortEntries(b.Entries)
	return household.Derive(household.Records{Book: b}, now).Members[0].Result, b.Packs
}

// said is the whole page in English, a line each: "section|label|fact · fact".
func said(t testing.TB, p Page) string {
	t.Helper()
	w, err := i18n.New("en", "")
	if err != nil {
		t.Fatal(err)
	}
	all := func(facts []model.Msg) string {
		out := make([]string, len(facts))
		for i, f := range facts {
			out[i] = w.T(f)
		}
		return strings.Join(out, " · ")
	}
	lines := []string{all(p.Who), w.T(p.Period)}
	for _, s := range p.Sections {
		for _, l := range s.Lines {
			lines = append(lines, s.ID+"|"+w.T(l.Label)+"|"+l.Own+all(l.Facts))
		}
	}
	out := strings.Join(lines, "\n")
	if i := strings.IndexAny(out, "⟦⟧"); i >= 0 {
		t.Errorf("a placeholder is open: …%s", out[max(0, i-40):])
	}
	return out
}

func pageOf(t testing.TB, questions []string, lines ...string) string {
	t.Helper()
	r, packs := judged(t, lines...)
	return said(t, Of(r, Asked{Since: now.AddDate(0, -6, 0), Questions: questions, Packs: packs}))
}

func TestPage(t *testing.T) {
	for _, c := range []struct {
		name      string
		questions []string
		rows      []string
		want      []string
		not       []string
	}{
		{"nothing recorded", nil, nil,
			[]string{"born 10 Mar 1954, 72 years · sex used in the equations: female", "Period: 1 Dec 2025 to 1 Jun 2026",
				"background|Conditions|none recorded", "findings||Nothing recorded yet", "kidney||No laboratory result", "strips||No strip test"},
			[]string{"asks|", "home|", "symptoms|", "told|"}},
		{"questions as they were written", []string{" Why twice? ", "", "Two", "Three", "Four"}, nil,
			[]string{"asks||Why twice?\nasks||Two\nasks||Three\n"}, []string{"Four"}},
		{"conditions and medicines with since when", nil, []string{"2015-04-02,condition,diabetes,start", "2019-01-05,medicine,metformin,start", "2020-01-05,medicine,nsaid,start", "2020-02-05,medicine,nsaid,end"},
			[]string{"Conditions|Diabetes, since 2 Apr 2015", "Medicines|Metformin, since 5 Jan 2019"}, []string{"NSAID"}},
		{"for years, nobody knows how many", nil, []string{"1954-03-10,condition,diabetes,start,,for years", "1954-03-10,condition,single-kidney,start"},
			[]string{"Diabetes, for years", "Only one kidney, since 10 Mar 1954"}, []string{"Diabetes, since"}},
		{"results of before a transplant say nothing of the graft", nil, []string{"2020-01-10,lab,creatinine,300,umol/L", "2025-08-01,condition,transplant,start", "2026-05-20,lab,creatinine,120,umol/L"},
			[]string{"eGFR below 60: not yet confirmed"}, []string{"days: confirmed"}},
		{"an albumin of years ago is no part of the cell", nil, []string{"2022-01-10,lab,acr,400,mg/g", "2022-08-10,lab,acr,400,mg/g", "2026-05-20,lab,creatinine,120,umol/L"},
			[]string{"ACR 400 mg/g (45.2 mg/mmol), 10 Aug 2022"}, []string{"albumin raised"}},
		{"low risk is said with its condition", nil, []string{"2026-05-20,lab,creatinine,70,umol/L", "2026-05-20,lab,acr,5,mg/g"}, []string{"Low risk · Low risk holds only where nothing else"}, nil},
		{"eGFR in pregnancy", nil, []string{"2026-03-01,condition,pregnancy,start", "2026-05-20,lab,creatinine,50,umol/L"}, []string{"· eGFR not valid in pregnancy", "Pregnancy, 13 completed weeks"}, []string{"Category", "slope", "Failure"}},
		{"an old call stands before a test to repeat", nil, []string{"2026-05-01 07:00,symptom,visible-blood,1", "2026-05-31 07:00,strip,protein,unclear"},
			[]string{"Next visit; an old call, no answer recorded: Blood seen in the urine|1 May 2026", "urine mild · source: NICE guideline NG12, 2015\nfindings|To be tested again: Pads that could not be read"}, []string{"Nothing is open"}},
		{"flags and symptoms asked for as there or not", nil, []string{"2026-05-30 07:00,strip,nitrite,pos", "2026-05-30 07:00,strip,cap-left-off,yes", "2026-05-31 07:00,symptom,passing-none,2"},
			[]string{"Nitrite pos", "Passing no urine yes"}, []string{"container yes", "cap yes", "cap Yes", "moderate"}},
		{"creatinine that moves says nothing of the stage", nil, []string{",profile,risk-region,other", "2025-12-01,lab,creatinine,150,umol/L", "2026-02-01,lab,creatinine,155,umol/L", "2026-04-01,lab,creatinine,152,umol/L",
			"2026-04-01,lab,acr,900,mg/g", "2026-05-31,lab,creatinine,330,umol/L"},
			[]string{"eGFR not valid: creatinine is changing", "2.2 times 152 µmol/L: by size, AKI stage 2", "Creatinine in blood|last 330 µmol/L (3.73 mg/dL), 31 May 2026 · before: 152 µmol/L"}, []string{"Category", "Failure", "slope"}},
		{"dialysis: no category, slope or risk, and the words in the line of the number", nil, []string{"2023-10-01,lab,creatinine,500,umol/L", "2024-02-01,condition,dialysis,start", "2026-05-01,lab,creatinine,700,umol/L", "2026-05-01,lab,acr,900,mg/g"},
			[]string{"kidney|eGFR|5 mL/min/1.73 m², 1 May 2026, CKD-EPI 2021, creatinine · eGFR not valid on dialysis"}, []string{"Category", "Failure", "slope"}},
		{"not valid then, though it is over", nil, []string{"2026-01-10,condition,pregnancy,start", "2026-05-01,lab,creatinine,90,umol/L", "2026-05-20,condition,pregnancy,end"},
			[]string{"eGFR not valid in pregnancy"}, []string{"Category"}},
		{"only results of the old kidneys", nil, []string{"2026-03-10,lab,creatinine,600,umol/L", "2026-04-10,condition,transplant,start"}, []string{"from before the transplant"}, []string{"Category", "slope"}},
		{"with cystatin C, set against the like only", nil, []string{"2026-01-10,lab,creatinine,100,umol/L", "2026-05-01,lab,creatinine,105,umol/L", "2026-05-01,lab,cystatin-c,1.6,mg/L"},
			[]string{"creatinine and cystatin C"}, []string{"eGFR|42 mL/min/1.73 m², 1 May 2026, CKD-EPI 2021, creatinine and cystatin C · before"}},
		{"protein of a whole day", nil, []string{"2026-05-01,lab,urine-protein,4200,mg/(24.h)", "2026-05-01,lab,urine-volume,1800,mL", "2026-05-01,lab,urine-hours,24,"},
			[]string{"Urine albumin, protein|1 May 2026: Protein"}, []string{"no laboratory ACR", "Other results"}},
		{"old numbers are told as old, and foretell nothing", nil, []string{",profile,risk-region,other", "2021-02-01,lab,creatinine,160,umol/L", "2021-02-01,lab,acr,900,mg/g"},
			[]string{"newest result older than a year", "eGFR of 1 Feb 2021, ACR of 1 Feb 2021"}, []string{"Very high risk", "Failure"}},
		{"what the failure risk rests on", nil, []string{",profile,risk-region,other", "2026-02-01,lab,creatinine,160,umol/L", "2026-02-01,lab,acr,900,mg/g"},
			[]string{"· with eGFR 29.5 mL/min/1.73 m², ACR 900 mg/g · results to 1 Feb 2026"}, nil},
		{"the result a finding is about stays on its line", nil, []string{"2026-05-28,lab,potassium,5.9,mmol/L", "2026-05-29 08:00,symptom,vomiting,2", "2026-05-31 08:00,symptom,visible-blood,1",
			"2026-05-31 08:00,symptom,yellow-eyes,1", "2026-05-31 08:00,symptom,headache,3", "2026-05-31 08:00,symptom,chest-pain,1"},
			[]string{"High potassium, with illness or rising creatinine|28 May 2026: Potassium 5.9 mmol/L"}, nil},
		{"the day's total over the limit, and the signs", nil, []string{"2026-05-01,profile,fluid-limit,1500,mL/d", "2026-05-28 09:00,fluid,drink,1900,mL", "2026-05-29 09:00,fluid,drink,1900,mL",
			"2026-05-30 09:00,fluid,drink,1000,mL", "2026-05-30 18:00,fluid,drink,900,mL", "2026-05-31 09:00,fluid,drink,1900,mL", "2026-05-31 10:00,symptom,ankle-swelling,1"},
			[]string{"1900 mL drunk in the day, limit 1500 mL · 31 May 2026: Swollen ankles or legs mild"}, nil},
		{"a peak that has gone", nil, []string{"2026-02-01,lab,potassium,4.4,mmol/L", "2026-05-20,lab,potassium,6.8,mmol/L", "2026-05-21,lab,potassium,5.0,mmol/L", "2026-05-28,lab,potassium,4.5,mmol/L"},
			[]string{"Potassium|last 4.5 mmol/L, 28 May 2026 · before: 5.0 mmol/L, 21 May 2026 · highest in the period 6.8 mmol/L, 20 May 2026"}, nil},
		{"a reading that was not judged counts nowhere", nil, []string{"2026-05-01 07:00,strip,protein,2+", "2026-05-01 07:00,strip,seconds-after-dip,400,s", "2026-05-02 07:00,strip,protein,neg"},
			[]string{"Protein|Neg: 1 × · 1 not judged · last neg, 2 May 2026"}, []string{"2+: 1"}},
		{"either number of a pressure can be the highest", nil, []string{"2026-05-10 08:00,vital,systolic,160,mm[Hg]", "2026-05-10 08:00,vital,diastolic,70,mm[Hg]", "2026-05-11 08:00,vital,systolic,150,mm[Hg]", "2026-05-11 08:00,vital,diastolic,125,mm[Hg]"},
			[]string{"readings 160/70, 10 May 2026 · highest diastolic 150/125, 11 May 2026"}, nil},
		{"pounds and kilograms", nil, []string{"2026-05-01,vital,weight,154,[lb_av]", "2026-05-20,vital,weight,69,kg"}, []string{"Weight|last 69 kg, 20 May 2026 · -0.9 kg since 1 May 2026"}, nil},
		{"an emergency somebody has called about stays for three days", nil, []string{"2026-05-31 09:00,symptom,chest-pain,2", "2026-05-31 09:20,answer,red-flag-symptom,called,,ambulance"},
			[]string{"Emergency, answered 31 May 2026: Chest pain"}, nil},
		{"and not for longer", nil, []string{"2026-05-20 09:00,symptom,chest-pain,2", "2026-05-20 09:20,answer,red-flag-symptom,called,,ambulance"}, []string{"told||20 May 2026"}, []string{"answered 20 May"}},
		{"an old call nobody answered says so", nil, []string{"2026-05-20,lab,potassium,6.8,mmol/L"}, []string{"an old call, no answer recorded: Potassium"}, nil},
		{"a severe symptom that stands is no quiet state", nil, []string{"2026-05-01 09:00,symptom,tiredness,3", "2026-05-10 09:00,symptom,tiredness,3", "2026-05-10 10:00,answer,severe-symptom,doctor-knows"}, nil, []string{"Nothing is open"}},
		{"a long question stands there whole", []string{strings.Repeat("Why so? ", 60) + "And the end."}, nil, []string{"And the end."}, nil},
		{"a strip whose age nobody knows", nil, []string{"2026-05-01 07:00,strip,protein,neg"}, []string{"Age of the strip not known: 1"}, nil},
		{"a region nobody chose is said to a doctor as that", nil, []string{"2026-05-20,lab,creatinine,174,umol/L", "2026-05-20,lab,acr,40,mg/mmol"},
			[]string{"Failure risk|region of the equation's constants not chosen"}, []string{"Choose the region"}},
		// 1.97 mg/dL, 72, female: 27 by CKD-EPI 2021 (Inker 2021, table S10).
		{"kidney numbers in both unit systems", nil, []string{"2026-02-01,lab,creatinine,160,umol/L", "2026-05-20,lab,creatinine,174,umol/L", "2026-05-20,lab,acr,40,mg/mmol", "2026-05-20,lab,potassium,5.1,mmol/L"},
			[]string{"kidney|eGFR|27 mL/min/1.73 m², 20 May 2026, CKD-EPI 2021, creatinine · before: 29.5 mL/min/1.73 m², 1 Feb 2026",
				"kidney|Urine albumin, protein|ACR 40 mg/mmol (354 mg/g), 20 May 2026", "kidney|Category|G4 A3 (KDIGO grid) · eGFR of 20 May 2026, ACR of 20 May 2026 · Very high risk",
				"eGFR below 60 for 108 days: confirmed", "albumin raised: not yet confirmed",
				"kidney|Creatinine in blood|last 174 µmol/L (1.97 mg/dL), 20 May 2026 · before: 160 µmol/L (1.81 mg/dL), 1 Feb 2026", "kidney|Potassium|last 5.1 mmol/L, 20 May 2026"}, nil},
		{"a laboratory's own number only where it differs", nil, []string{"2026-05-20,lab,creatinine,174,umol/L", "2026-05-20,lab,egfr,33,mL/min/{1.73_m2}"},
			[]string{"laboratory reported 33 mL/min/1.73 m²"}, nil},
		{"and not where it agrees", nil, []string{"2026-05-20,lab,creatinine,174,umol/L", "2026-05-20,lab,egfr,27,mL/min/{1.73_m2}"}, nil, []string{"laboratory reported"}},
		{"why there is no risk", nil, []string{"2026-05-20,lab,creatinine,174,umol/L", "2024-05-20,condition,transplant,start"},
			[]string{"kidney|Failure risk|With a transplant"}, nil},
		{"strips counted by grade", nil, []string{"2026-03-01 07:00,strip,protein,neg", "2026-04-01 07:00,strip,protein,1+", "2026-05-01 07:00,strip,protein,1+", "2026-05-01 07:00,strip,ketones,neg", "2025-11-01 07:00,strip,protein,trace"},
			[]string{"strips|Tests|3 tests", "strips|Protein|Neg: 1 × · 1+: 2 × · last 1+, 1 May 2026", "strips|Always the same|Ketones: neg (1 ×)"}, []string{"trace: "}},
		{"one positive throughout is not hidden", nil, []string{"2026-05-01 07:00,strip,blood,1+", "2026-05-08 07:00,strip,blood,1+"},
			[]string{"strips|Blood|1+: 2 ×"}, []string{"Always the same"}},
		{"what could not be told is counted apart", nil, []string{"2026-05-01 07:00,strip,blood,unclear"}, []string{"Could not be told: 1", "strips|Blood|", "1 not judged"}, nil},
		{"pressure by the protocol", nil, pairs("2026-05-10", "2026-05-11", "2026-05-12", "2026-05-13"),
			[]string{"home|Blood pressure|mean 138/84 of 12 readings on 3 days, first day left out, 11 May 2026 to 13 May 2026"}, nil},
		{"pressure without it", nil, []string{"2026-05-10 08:00,vital,systolic,150,mm[Hg]", "2026-05-10 08:00,vital,diastolic,90,mm[Hg]"},
			[]string{"home|Blood pressure|1 reading 150/90; within any 8 days too few for the protocol's mean"}, nil},
		{"half a pressure", nil, []string{"2026-05-10 08:00,vital,systolic,150,mm[Hg]"}, []string{"no mean: no reading has both numbers", "last 150/–"}, nil},
		{"weight and how it moved", nil, []string{"2026-05-01,vital,weight,70.5,kg", "2026-05-20,vital,weight,69.25,kg"},
			[]string{"home|Weight|last 69.25 kg, 20 May 2026 · -1.2 kg since 1 May 2026"}, nil},
		{"drinks against the limit", nil, []string{"2026-01-01,profile,fluid-limit,1500,mL/d", "2026-05-01 08:00,fluid,drink,200,mL", "2026-05-01 12:00,fluid,drink,400,mL", "2026-05-03 12:00,fluid,drink,1000,mL"},
			[]string{"home|Drinks|mean 800 mL a day on 2 days with entries · doctor's limit 1500 mL a day"}, nil},
		{"symptoms, the worst first", nil, []string{"2026-04-01 08:00,symptom,itching,1", "2026-05-01 08:00,symptom,ankle-swelling,2", "2026-05-02 08:00,symptom,ankle-swelling,3", "2026-05-09 08:00,symptom,ankle-swelling,0", "2026-05-01 08:00,symptom,nausea,0"},
			[]string{"symptoms|Swollen ankles or legs|worst severe, on 2 days, last 2 May 2026 · since recorded as gone\nsymptoms|Itching|worst mild"}, []string{"symptoms|Feeling sick"}},
		{"what was told to whom", nil, []string{"2026-05-01 09:00,answer,severe-symptom,called,,practice: come on Friday"},
			[]string{"told||1 May 2026, A symptom: severe – called · “practice: come on Friday”"}, nil},
	} {
		got := pageOf(t, c.questions, c.rows...)
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%s: %q is not on the page:\n%s", c.name, want, got)
			}
		}
		for _, not := range c.not {
			if strings.Contains(got, not) {
				t.Errorf("%s: %q is on the page:\n%s", c.name, not, got)
			}
		}
	}
}

// pairs are two readings in the morning and two in the evening of each day; the
// first day's are higher.
func pairs(days ...string) (rows []string) {
	for i, day := range days {
		for _, clock := range []string{"07:00", "07:02", "20:00", "20:02"} {
			high := 138
			if i == 0 {
				high = 170
			}
			rows = append(rows, fmt.Sprintf("%s %s,vital,systolic,%d,mm[Hg]", day, clock, high), fmt.Sprintf("%s %s,vital,diastolic,84,mm[Hg]", day, clock))
		}
	}
	return rows
}

// TestUrgentFirstAndKept: findings come most urgent first, say how soon and on
// what publication, and what calls for a doctor never gives way.
func TestUrgentFirstAndKept(t *testing.T) {
	r, packs := judged(t, "2026-05-31 09:00,symptom,chest-pain,1", "2026-05-30 07:00,strip,protein,3+", "2026-05-20,lab,potassium,5.6,mmol/L")
	p := Of(r, Asked{Since: now.AddDate(0, -3, 0), Packs: packs})
	i := slices.IndexFunc(p.Sections, func(s Section) bool { return s.ID == "findings" })
	last := finding.Emergency
	for _, l := range p.Sections[i].Lines {
		if l.Urgency == nil {
			t.Fatal("a finding without its urgency")
		}
		if *l.Urgency > last {
			t.Errorf("%v after %v", *l.Urgency, last)
		}
		last = *l.Urgency
		if (*l.Urgency >= finding.Today) != (l.Rank == Must) || (*l.Urgency == finding.Soon) != (l.Rank == Firm) {
			t.Errorf("%v has rank %d", *l.Urgency, l.Rank)
		}
	}
	got := said(t, p)
	for _, want := range []string{"Emergency: Chest pain", "Within 2 days: Much protein", "30 May 2026: Protein 3+ · source: Sumida K et al. 2020"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not there:\n%s", want, got)
		}
	}
}

// TestNothingAfterNow and nothing before the period is told as of the period.
func TestOnlyThePeriod(t *testing.T) {
	got := pageOf(t, nil, "2025-11-30 08:00,symptom,itching,2", "2025-12-01 08:00,symptom,nausea,2", "2026-06-01 12:00,symptom,dizziness,2")
	if !strings.Contains(got, "symptoms|Feeling sick") || strings.Contains(got, "symptoms|Itching") || strings.Contains(got, "symptoms|Diz") {
		t.Error(got)
	}
}

// TestDemoInEveryLanguage: no placeholder stays open, nothing panics.
func TestDemoInEveryLanguage(t *testing.T) {
	r := household.Demo(now)
	st := household.Derive(r, now)
	for _, lang := range i18n.Languages() {
		w, err := i18n.New(lang.Tag, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range st.Members {
			for _, months := range Months() {
				a := Asked{Since: now.AddDate(0, -months, 0), Packs: r.Book.Packs}
				p := Of(m.Result, a)
				var all []model.Msg
				for _, s := range p.Sections {
					all = append(all, s.Title)
					for _, l := range s.Lines {
						all = append(append(all, l.Label), l.Facts...)
					}
				}
				for _, tab := range Tables(m.Result, a, 1000) {
					all = append(all, tab.Title)
					for _, row := range append([][]Cell{tab.Head}, tab.Rows...) {
						if len(row) != len(tab.Head) {
							t.Fatalf("%s: a row of %d cells under %d", w.T(tab.Title), len(row), len(tab.Head))
						}
						for _, c := range row {
							all = append(all, c.Facts...)
						}
					}
				}
				for _, msg := range all {
					if s := w.T(msg); strings.ContainsAny(s, "⟦⟧") {
						t.Errorf("%s, %s: %s", lang.Tag, m.Person.Name, s)
					}
				}
			}
		}
	}
}

// TestChildrenAndTheYoung: the equation is named as it is, and pressure is not
// judged.
func TestChildrenAndTheYoung(t *testing.T) {
	for _, c := range []struct {
		birth string
		want  []string
	}{
		{"2012-03-10", []string{"CKiD U25, creatinine and cystatin C", "not judged under 18"}},
		// A woman's 41.4 x 1.50 m / (80 / 88.4 mg/dL) = 68.6 (Pierce 2021, table 3).
		{"2006-03-10", []string{"CKiD U25, creatinine: 69 mL/min/1.73 m²"}},
	} {
		got := pageOf(t, nil, "2026-01-01,profile,birth-date,"+c.birth, "2026-01-01,profile,height,150,cm", "2026-05-01,lab,creatinine,80,umol/L", "2026-05-01,lab,cystatin-c,1.3,mg/L",
			"2026-05-10 08:00,vital,systolic,118,mm[Hg]", "2026-05-10 08:00,vital,diastolic,78,mm[Hg]")
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("born %s: %q is not there:\n%s", c.birth, want, got)
			}
		}
	}
}

// TestTwoFormsAreSaid: where a record stands in two forms, the rules saw only
// one, and the page says so before all findings.
func TestTwoFormsAreSaid(t *testing.T) {
	r, _ := judged(t, "2026-05-20,lab,potassium,4.9,mmol/L")
	p := Of(r, Asked{Since: now.AddDate(0, -3, 0), Twofold: 1})
	i := slices.IndexFunc(p.Sections, func(s Section) bool { return s.ID == "findings" })
	if l := p.Sections[i].Lines[0]; l.Rank != Must || len(l.Facts) != 1 || l.Facts[0].Key != "merge.twofold-some" {
		t.Errorf("first stands %+v", l)
	}
}

// TestTablesEnd: a table has its newest rows, whole days, and no more than asked for.
func TestTablesEnd(t *testing.T) {
	r := household.Demo(now)
	for _, m := range household.Derive(r, now).Members {
		a := Asked{Since: now.AddDate(-100, 0, 0), Packs: r.Book.Packs}
		all := Tables(m.Result, a, 1000)
		for most := 1; most <= 3; most++ {
			for i, tab := range Tables(m.Result, a, most) {
				if tab.Title.Key == "doc.table.lab" { // a row for each result there is
					continue
				}
				if want := all[i].Rows[:min(most, len(all[i].Rows))]; !reflect.DeepEqual(tab.Rows, want) {
					t.Errorf("%s: %d rows of table %d are %v, want %v", m.Person.Name, most, i, tab.Rows, want)
				}
			}
		}
	}
}
