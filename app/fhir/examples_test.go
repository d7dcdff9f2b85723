package fhir

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange/booktest"
	"quietwater/model"
)

// published4 are R4's own examples (testdata/README.md).
func published4(t testing.TB) []string {
	t.Helper()
	names, err := filepath.Glob("testdata/r4/*.json")
	if err != nil || len(names) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	return names
}

// cells are the rows of a book without the header and the name.
func cells(t testing.TB, b model.Book) string {
	lines := strings.Split(strings.TrimSpace(table(t, b)), "\r\n")[1:]
	for i, l := range lines {
		_, lines[i], _ = strings.Cut(l, ",")
	}
	return strings.Join(lines, "\n")
}

// R4's examples, said to be Rosa's: what is taken of each, to the letter, and
// what is not. Those of the dipstick use codes that do not say "by test strip",
// and units in words: all of it is named and nothing guessed.
func TestPublishedExamples(t *testing.T) {
	want := map[string][2]string{
		"Observation-blood-pressure": {"2012-09-17,vital,systolic,107,mm[Hg],\n2012-09-17,vital,diastolic,60,mm[Hg],", "ok"},
		// The lower pressure was not measured: data-absent-reason.
		"Observation-blood-pressure-dar":    {"2012-09-17,vital,systolic,107,mm[Hg],", "2  fhir-no-value"},
		"Observation-blood-pressure-cancel": {"", "1  fhir-status\n2  fhir-status"},
		"Observation-body-temperature":      {"1999-07-02,vital,temperature,36.5,Cel,", "ok"},
		"Observation-body-height":           {"1999-07-02,profile,height,66.899999999999991,[in_i],", "ok"},
		"Observation-heart-rate":            {"1999-07-02,vital,pulse,44,/min,", "ok"},
		"Observation-example":               {"2016-03-28,vital,weight,185,[lb_av],", "ok"},
		"Observation-f001":                  {"", `unknown-code 15074-8 "Glucose [Moles/volume] in Blood"  ×1`},
		"Observation-f005":                  {"2013-04-05T10:30:10+01:00,lab,haemoglobin,7.2,g/dL,", "ok"},
		"Observation-f202":                  {"", "1  fhir-status"}, // entered-in-error
		"Observation-f203":                  {"", `unit-words 1963-8 "Bicarbonate [Moles/?volume] in Serum" mmol/L ×1`},
		"Observation-f205": {"", `unknown-code 48643-1 "Glomerular filtration rate/1.73 sq M predicted among blacks [Volume Rate/?Area]…"  ×1
unknown-code 48642-3 "Glomerular filtration rate/1.73 sq M predicted among non-blacks [Volume Rate/Ar…"  ×1`},
		"Observation-decimal": {"", `unknown-code  "Component"  ×7`},
	}
	for _, path := range published4(t) {
		name := strings.TrimSuffix(filepath.Base(path), ".json")
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got := Import(strings.NewReader(string(text)), Target{Zone: time.UTC, Now: noon, Person: "Rosa", NewID: booktest.IDs()})
		if name == "Bundle-ghp" {
			ghp(t, got)
			continue
		}
		w, known := want[name]
		if !known {
			t.Errorf("%s: nobody said what to expect", name)
		}
		if have := cells(t, got.Book); have != w[0] {
			t.Errorf("%s: taken:\n%s\nwant:\n%s", name, have, w[0])
		}
		if outcome(got) != w[1] {
			t.Errorf("%s: %s\nwant %s", name, outcome(got), w[1])
		}
	}
}

// ghp is the general health profile with its dipstick: haemoglobin has a known
// code, a unit of UCUM, and the time of its panel; nothing else has all three.
func ghp(t *testing.T, got Result) {
	if have := cells(t, got.Book); have != "2015-08-16T06:40:17Z,lab,haemoglobin,176,g/L," {
		t.Errorf("Bundle-ghp: taken:\n%s", have)
	}
	named := outcome(got)
	for _, u := range []string{
		`unit-words 2823-3 "Potassium [Moles/volume] in Serum or Plasma" mmol/L`, `unit-words 14682-9 "Creatinine [Moles/volume] in Serum or Plasma" mmol/L`,
		`unknown-code 2756-5 "pH of Urine"`, `unknown-code 2887-8 "Protein [Presence] in Urine"`, `unknown-code 2965-2 "Specific gravity of Urine"`,
		`unknown-code 2349-9 "Glucose [Presence] in Urine"`, `unknown-code 33052-2 "Leukocytes [Presence] in Urine"`,
	} {
		if !strings.Contains(named, u) {
			t.Errorf("Bundle-ghp: %s is not named in\n%s", u, named)
		}
	}
	if fmt.Sprint(got.Passed[:2]) != "[{DiagnosticReport.specimen 1} {Observation.interpretation 8}]" || got.Passed[len(got.Passed)-1] != (Passed{"Specimen", 3}) {
		t.Errorf("Bundle-ghp: passed over %v", got.Passed)
	}
}
