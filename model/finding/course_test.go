package finding_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"quietwater/i18n"
	"quietwater/model/finding"
)

// TestRestsOnTheVeryResults: what a rule about the course of kidney numbers
// shows as its evidence, and says in words, are the results it judged.
func TestRestsOnTheVeryResults(t *testing.T) {
	for _, c := range []struct{ file, rule, evidence, says string }{
		{"egfr-low/edge-ours.txt", "egfr-low", "2027-02-26 creatinine 158", "eGFR 29.8 mL/min/1.73 m², worked out here from creatinine"},
		{"egfr-low/edge-theirs.txt", "egfr-low", "2027-02-26 egfr 29", "eGFR 29 mL/min/1.73 m², as the laboratory wrote it"},
		{"egfr-low/edge-cystatin.txt", "egfr-low", "2027-02-26 creatinine 150; 2027-02-26 cystatin-c 2.6", "worked out here with cystatin C"},
		{"egfr-low/edge-bound-30.txt", "egfr-low", "2027-02-26 egfr <30", "eGFR <30 mL/min/1.73 m²"},
		{"egfr-low/edge-still.txt", "egfr-low", "2025-02-26 egfr 29; 2027-02-26 egfr 27", "On 26 February 2027: eGFR 27"},
		{"egfr-low/fires-itching.txt", "egfr-low", "2027-02-26 egfr 14; 2027-02-28T20:00:00+01:00 itching 2", "You also recorded: itching"},
		{"egfr-low/edge-signs-once.txt", "egfr-low", "2027-02-26 egfr 14; 2027-02-27T20:00:00+01:00 vomiting 1", "You also recorded: vomiting."},
		{"egfr-change/edge-umol.txt", "egfr-change", "2026-08-01 creatinine 100; 2027-02-26 creatinine 121", "On 1 August 2026: eGFR 52"},
		{"egfr-change/edge-report.txt", "egfr-change", "2026-08-01 egfr 60; 2027-02-26 egfr 47", "eGFR 60 mL/min/1.73 m², as the laboratory wrote it"},
		{"egfr-change/edge-mixed.txt", "egfr-change", "2026-08-01 egfr 58; 2027-02-26 creatinine 130", "eGFR 38 mL/min/1.73 m², worked out here"},
		{"egfr-change/edge-in-steps.txt", "egfr-change", "2027-01-10 egfr 60; 2027-02-26 egfr 41", "ACE inhibitor or ARB"},
		{"egfr-change/edge-both-medicines.txt", "egfr-change", "2027-01-10 egfr 60; 2027-02-26 egfr 45", "SGLT2 inhibitor"},
		{"egfr-change/edge-both-medicines-2.txt", "egfr-change", "2027-01-10 egfr 60; 2027-02-26 egfr 45", "ACE inhibitor or ARB"},
		{"acr-doubled/edge-units.txt", "acr-doubled", "2026-08-01 acr 40; 2027-02-26 acr 9.1", "40 mg/g on 1 August 2026, and 9.1 mg/mmol on 26 February 2027"},
		{"acr-high/edge-pcr-50.txt", "acr-high", "2027-02-26 pcr 50", "(PCR) of 50 mg/mmol. From 50 mg/mmol on"},
		{"failure-risk/fires.txt", "failure-risk", "2027-02-26 acr 300; 2027-02-26 egfr 35", "Of 100 people with numbers like these, about 8 need"},
		{"failure-risk/fires-high.txt", "failure-risk", "2027-02-26 acr 5000; 2027-02-26 egfr 5", "about 99 need"},
		{"rapid-decline/fires.txt", "rapid-decline", "2025-01-10 egfr 60; 2025-07-10 egfr 57; 2026-01-10 egfr 54; 2026-07-10 egfr 51",
			"From 10 January 2025 to 10 July 2026, eGFR fell by about 6.0 mL/min/1.73 m² a year. That rests on 4 results."},
		{"rapid-decline/fires-driven.txt", "rapid-decline", "2025-07-05 egfr 60; 2025-08-10 egfr 59; 2025-09-15 egfr 60; 2025-10-22 egfr 60; 2025-11-28 egfr 59; 2026-01-03 egfr 59; 2027-01-05 egfr 48",
			"One of the 7 results decides much of it."},
		{"rapid-decline/edge-driven-flat.txt", "rapid-decline", "", "Giving that one less weight, it is about 0.0 mL"},
		{"rapid-decline/edge-driven-up.txt", "rapid-decline", "", "Giving that one less weight, it is about 0.0 mL"},
		{"lab-due/fires.txt", "lab-due", "2026-03-01 creatinine 105; 2026-03-01 acr 1", "Guidelines ask for tests every 12 months at this stage. That is 1 March 2027."},
		{"lab-due/fires-doctor.txt", "lab-due", "2026-09-01 creatinine 80; 2026-09-01 acr 1", "Your doctor wants tests every 6 months. That is 1 March 2027."},
		{"lab-due/edge-newest-of-each.txt", "lab-due", "2026-02-20 acr 1; 2026-03-01 creatinine 105", "The last result is of 1 March 2026."},
	} {
		words, err := i18n.New("en", "")
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, f := range judge(t, c.file, readCase(t, "testdata/"+c.file)).Open {
			if f.Rule != c.rule {
				continue
			}
			found = true
			if got := restsOn(f); c.evidence != "" && got != c.evidence {
				t.Errorf("%s rests on %s, want %s", c.file, got, c.evidence)
			}
			if got := words.T(f.Why); !strings.Contains(got, c.says) {
				t.Errorf("%s says %q, want %q", c.file, got, c.says)
			}
		}
		if !found {
			t.Errorf("%s does not raise %s", c.file, c.rule)
		}
	}
}

// TestAnsweredLabsStay: what was answered is kept as it was, once, and newer
// results change nothing of it.
func TestAnsweredLabsStay(t *testing.T) {
	for file, want := range map[string]string{
		"egfr-low/edge-15-after-answer.txt":   "egfr-low: 2026-08-26 egfr 29",
		"egfr-low/quiet-answered.txt":         "egfr-low: 2026-08-26 egfr 29",
		"egfr-low/quiet-15-answered.txt":      "egfr-low/below-15: 2027-02-10 egfr 14",
		"egfr-low/quiet-15-sign-answered.txt": "egfr-low/below-15-ill: 2027-02-10 egfr 14; 2027-02-10T20:00:00+01:00 vomiting 1",
		"egfr-low/quiet-ill-answered.txt":     "egfr-low: 2026-08-26 egfr 25",
		"egfr-low/quiet-later-answer.txt":     "egfr-low: 2026-02-26 egfr 29; 2026-08-26 egfr 28",
		"egfr-change/quiet-answered-then.txt": "egfr-change: 2026-02-26 egfr 60; 2026-08-26 egfr 45",
		"egfr-change/quiet-answered-long.txt": "egfr-change: 2020-02-26 egfr 60; 2020-08-26 egfr 45",
		"acr-high/quiet-answered.txt":         "acr-high: 2026-02-01 acr 350",
		"failure-risk/quiet-answered.txt":     "failure-risk: 2025-02-26 acr 300; 2025-02-26 egfr 35",
		"rapid-decline/quiet-answered.txt":    "rapid-decline: 2025-01-10 egfr 60; 2025-07-10 egfr 57; 2026-01-10 egfr 54; 2026-07-10 egfr 51",
	} {
		rule, _, _ := strings.Cut(file, "/")
		var got []string
		for _, f := range judge(t, file, readCase(t, "testdata/"+file)).Answered {
			if f.Rule == rule {
				name := f.Rule
				if f.Variant != "" {
					name += "/" + f.Variant
				}
				got = append(got, name+": "+restsOn(f))
			}
		}
		if s := strings.Join(got, " | "); s != want {
			t.Errorf("%s: answered %q, want %q", file, s, want)
		}
	}
}

// TestUntold: a number of the kidneys that no rule can tell anything of is named
// as such, and no other.
func TestUntold(t *testing.T) {
	const who = ",profile,birth-date,1954-03-10\n,profile,sex,female\n"
	for rows, want := range map[string]string{
		"2027-02-26,lab,egfr,45,mL/min/{1.73_m2}":                                             "",
		"2027-02-26,lab,egfr,<45,mL/min/{1.73_m2}":                                            "egfr",
		"2027-02-26,lab,egfr,<30,mL/min/{1.73_m2}":                                            "",
		"2027-02-26,lab,egfr,>30,mL/min/{1.73_m2}":                                            "",
		"2027-02-26,lab,egfr,>20,mL/min/{1.73_m2}":                                            "egfr",
		"2027-02-26,lab,acr,<3,mg/g":                                                          "",
		"2027-02-26,lab,acr,>250,mg/g":                                                        "acr",
		"2027-02-26,lab,acr,>30,mg/mmol":                                                      "",
		"2027-02-26,lab,pcr,<600,mg/g":                                                        "pcr",
		"2027-02-26,lab,cystatin-c,1.1,mg/L":                                                  "cystatin-c",
		"2027-02-26,lab,cystatin-c,1.1,mg/L\n2027-02-25,lab,creatinine,80,umol/L":             "cystatin-c",
		"2027-02-26,lab,cystatin-c,1.1,mg/L\n2027-02-26,lab,creatinine,80,umol/L":             "",
		"2027-02-26,lab,creatinine,80,umol/L":                                                 "",
		"2027-02-26,lab,creatinine,80,umol/L\n2027-02-01,condition,dialysis,start":            "creatinine",
		"2027-02-26,lab,egfr,9,mL/min/{1.73_m2}\n2027-02-01,condition,dialysis,start":         "egfr",
		"2027-02-26,lab,acr,900,mg/g\n2027-02-01,condition,dialysis,start":                    "acr",
		"2027-02-26,lab,potassium,4.1,mmol/L\n2027-02-01,condition,dialysis,start":            "",
		"2027-02-26T08:00:00+01:00,strip,creatinine,100\n2027-02-01,condition,dialysis,start": "",
	} {
		tc := testCase{now: time.Date(2027, 3, 1, 9, 0, 0, 0, time.FixedZone("", 3600))}
		for i, l := range strings.Split(who+rows, "\n") {
			tc.rows = append(tc.rows, caseRow(t, rows, l, i+1))
		}
		var got []string
		for _, it := range judge(t, rows, tc).Unread() {
			got = append(got, string(it.Code))
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("%s: untold %q, want %q", rows, s, want)
		}
	}
}

func restsOn(f finding.Finding) string {
	var out []string
	for _, e := range f.Evidence {
		out = append(out, fmt.Sprint(e.When, " ", e.Value.Code, " ", e.Value.Text()))
	}
	return strings.Join(out, "; ")
}
