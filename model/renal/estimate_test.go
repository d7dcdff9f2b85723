package renal

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"quietwater/i18n"
	"quietwater/model"
)

func val(c model.Code, typed, unit string) model.Value {
	x, _ := model.ParseNumber(strings.TrimLeft(typed, "<>"))
	return model.Value{Code: c, Number: x, Typed: typed, Unit: unit}
}

// answers gives, by name, the word or number of each result, and the key of
// each caution and refusal.
func answers(c Case) (got, caution, why map[Name]string) {
	got, caution, why = map[Name]string{}, map[Name]string{}, map[Name]string{}
	results, refused := Estimate(c)
	for _, r := range results {
		if got[r.Name] = r.Word; r.Word == "" {
			got[r.Name] = model.FormatNumber(r.Value)
		}
		caution[r.Name] = strings.TrimPrefix(r.Caution.Key, "renal.")
	}
	for _, r := range refused {
		why[r.Name] = strings.TrimPrefix(r.Why.Key, "renal.refused.")
	}
	return got, caution, why
}

// woman of 72 with everything known; a case changes what it is about.
func woman() Case {
	yes, no := true, false
	return Case{Age: 72.4, Sex: Female, Height: val("height", "160", "cm"), Weight: val("weight", "70", "kg"),
		Creatinine: val("creatinine", "97", "umol/L"), CystatinC: val("cystatin-c", "1.4", ""), ACR: val("acr", "40", "mg/mmol"), PCR: val("pcr", "600", "mg/g"),
		Albumin: val("albumin", "38", "g/L"), Phosphate: val("phosphate", "1.2", "mmol/L"), Bicarbonate: val("bicarbonate", "23", "mmol/L"), Calcium: val("calcium", "2.3", "mmol/L"),
		UrineCreatinine: val("urine-creatinine", "60", "mg/dL"), UrineVolume: val("urine-volume", "1.8", "L"), UrineHours: val("urine-hours", "24", ""),
		EGFR: val("egfr", "33", ""), StripProtein: model.Plus1, Diabetes: &yes, HighPressure: &no, Region: Elsewhere}
}

// staged leaves only a reported eGFR and an ACR in mg/g to read a stage from.
func staged(egfr, acr string) func(*Case) {
	return func(c *Case) {
		c.Age, c.EGFR, c.ACR = -1, val("egfr", egfr, ""), val("acr", acr, "mg/g")
	}
}

// TestWhoBeforeWhat: whom an equation is for is said before what is missing.
// Nobody is sent for a height that would not be used.
func TestWhoBeforeWhat(t *testing.T) {
	for _, c := range []struct {
		age  float64
		name Name
		want string
	}{
		{-1, NameCreatinine2021, "age"}, {130, NameCreatinine2021, "age"}, {17.99, NameCreatinine2021, "adult-only"}, {18, NameCreatinine2021, "creatinine"},
		{10, NameBoth2021, "adult-only"}, {10, NameCystatin2012, "adult-only"}, {10, NameCockcroft, "adult-only"},
		{72, NameChild2009, "child-only"}, {0.99, NameChild2009, "child-only"}, {18, NameChild2009, "child-only"}, {17.99, NameChild2009, "creatinine"},
		{72, NameU25Creatinine, "young-only"}, {25.01, NameU25Cystatin, "young-only"}, {25, NameU25Cystatin, "cystatin"}, {1, NameU25Creatinine, "creatinine"},
		{10, NameFailure4Five, "adult-only"}, {10, NameACRFromPCR, "adult-only"}, {10, NameACRFromStrip, "adult-only"}, {-1, NameACRFromStrip, "strip"},
	} {
		if _, _, why := answers(Case{Age: c.age, Sex: Male}); why[c.name] != c.want {
			t.Errorf("%s at %v: %q, want %q", c.name, c.age, why[c.name], c.want)
		}
	}
}

// TestConditions: what a condition makes of each number (clinical decision 7).
func TestConditions(t *testing.T) {
	for _, c := range []struct {
		name    string
		change  func(*Case)
		of      Name
		caution string
		why     string
	}{
		{"nothing", func(*Case) {}, NameBoth2021, "", ""},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameCreatinine2021, "caution.dialysis", ""},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameCystatin2012, "caution.dialysis", ""},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameG, "", "dialysis"},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameA, "", "dialysis"},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameRisk, "", "dialysis"},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameChecks, "", "dialysis"},
		{"dialysis", func(c *Case) { c.Dialysis = true }, NameFailure8Two, "", "risk-dialysis"},
		{"transplant", func(c *Case) { c.Transplant = true }, NameFailure4Two, "", "risk-transplant"},
		{"transplant", func(c *Case) { c.Transplant = true }, NameG, "", ""},
		{"pregnancy", func(c *Case) { c.Pregnant = true }, NameCystatin2012, "caution.pregnancy", ""},
		{"pregnancy", func(c *Case) { c.Pregnant = true }, NameG, "", "pregnancy"},
		{"pregnancy", func(c *Case) { c.Pregnant = true }, NameFailure4Five, "", "pregnancy"},
		{"amputation", func(c *Case) { c.Amputation = true }, NameCreatinine2021, "caution.amputation", ""},
		{"amputation leaves cystatin C alone", func(c *Case) { c.Amputation = true }, NameCystatin2012, "", ""},
		{"amputation leaves what was measured", func(c *Case) { c.Amputation = true }, NameMeasured, "", ""},
		{"amputation", func(c *Case) { c.Amputation = true }, NameFailure4Five, "caution.risk-amputation", ""},
		{"every risk", func(*Case) {}, NameFailure4Five, "caution.risk", ""},
		{"dialysis is graver than amputation", func(c *Case) { c.Dialysis, c.Amputation = true, true }, NameCreatinine2021, "caution.dialysis", ""},
		{"young", func(c *Case) { c.Age = 18 }, NameCreatinine2021, "caution.young", ""},
		{"young", func(c *Case) { c.Age = 25 }, NameU25Average, "caution.young", ""},
		{"no longer young", func(c *Case) { c.Age = 25.5 }, NameCreatinine2021, "", ""},
		{"young, but measured", func(c *Case) { c.Age = 20 }, NameMeasured, "", ""},
		{"little in the collection", func(c *Case) { c.UrineCreatinine = val("urine-creatinine", "20", "mg/dL") }, NameMeasured, "collection.little", ""},
		{"a child's is not judged so", func(c *Case) { c.Age, c.UrineCreatinine = 10, val("urine-creatinine", "20", "mg/dL") }, NameMeasured, "", ""},
		{"more than kidneys manage", func(c *Case) { c.UrineVolume = val("urine-volume", "19", "L") }, NameMeasured, "", "clearance"},
		{"checks only if", staged("60", "5"), NameChecks, "caution.checks-if-ckd", ""},
		{"checks anyway", staged("59", "5"), NameChecks, "", ""},
		{"checks anyway", staged("61", "30"), NameChecks, "", ""},
		{"checks or more", staged("14", "5"), NameChecks, "caution.checks-or-more", ""},
		{"checks or more", staged("20", "300"), NameChecks, "caution.checks-or-more", ""},
		{"just checks", staged("20", "299"), NameChecks, "", ""},
		{"a child of one", func(c *Case) { c.Age, c.Height = 1, val("height", "74", "cm") }, NameChild2009, "", ""},
		{"adult of 18", func(c *Case) { c.Age, c.UrineCreatinine = 18, val("urine-creatinine", "20", "mg/dL") }, NameMeasured, "collection.little", ""},
		{"below two", func(c *Case) { c.Age = 1.9 }, NameG, "", "below-two"},
		{"two", func(c *Case) { c.Age = 2 }, NameG, "", ""},
		{"diabetes not said", func(c *Case) { c.Diabetes = nil }, NameACRFromPCR, "caution.rough-without", ""},
		{"by PCR", func(c *Case) { c.ACR = model.Value{} }, NameA, "caution.from-pcr", ""},
		{"no ACR", func(c *Case) { c.ACR = model.Value{} }, NameFailure4Two, "", "risk-acr"},
	} {
		k := woman()
		c.change(&k)
		_, caution, why := answers(k)
		if caution[c.of] != c.caution || why[c.of] != c.why {
			t.Errorf("%s: %s says %q, refused for %q", c.name, c.of, caution[c.of], why[c.of])
		}
	}
}

// TestStageRestsOn: which eGFR a stage is read from.
func TestStageRestsOn(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Case)
		want   string
	}{
		// 72 years, 97 µmol/L, 1.4 mg/L: 49.7 together (own working by Inker 2021).
		{"both", func(*Case) {}, "G3a"},
		{"both: 35.0, by creatinine alone 53.5", func(c *Case) { c.CystatinC = val("cystatin-c", "2.2", "mg/L") }, "G3b"},
		{"creatinine", func(c *Case) { c.CystatinC = model.Value{} }, "G3a"},
		{"reported, the creatinine in doubt", func(c *Case) {
			c.CystatinC, c.Creatinine = model.Value{}, val("creatinine", "97", "mg/dL")
		}, "G3b"},
		{"reported", func(c *Case) { c.CystatinC, c.Creatinine = model.Value{}, model.Value{} }, "G3b"},
		{"reported, the age not known", func(c *Case) { c.Age = -1 }, "G3b"},
		{"an adult from 18: 73 by the adults' equation, 59 by U25", func(c *Case) {
			c.Age, c.Creatinine, c.CystatinC, c.EGFR = 18, val("creatinine", "1.12", "mg/dL"), model.Value{}, model.Value{}
		}, "G2"},
		{"creatinine in doubt, and nothing else", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = model.Value{}, val("creatinine", "97", "mg/dL"), model.Value{}
		}, "problem.did-you-mean"},
		{"cystatin C in doubt, and nothing else", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = val("cystatin-c", "140", "mg/L"), model.Value{}, model.Value{}
		}, "problem.out-of-range"},
		{"above 90", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = model.Value{}, model.Value{}, val("egfr", ">90", "")
		}, "G1"},
		{"below 15", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = model.Value{}, model.Value{}, val("egfr", "<15", "")
		}, "G5"},
		{"below 30", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = model.Value{}, model.Value{}, val("egfr", "<30", "")
		}, "limit"},
		{"above 60", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = model.Value{}, model.Value{}, val("egfr", ">60", "")
		}, "limit"},
		{"nothing", func(c *Case) {
			c.CystatinC, c.Creatinine, c.EGFR = model.Value{}, model.Value{}, model.Value{}
		}, "egfr"},
		// Boy of 11, 120 cm, 0.9 mg/dL, 1.3 mg/L: 57.9 (the authors' calculator).
		{"a child's average", func(c *Case) {
			c.Age, c.Sex, c.Height, c.Creatinine, c.CystatinC = 11, Male, val("height", "120", "cm"), val("creatinine", "0.9", "mg/dL"), val("cystatin-c", "1.3", "mg/L")
		}, "G3a"},
		{"a child without cystatin C: 51.6", func(c *Case) {
			c.Age, c.Sex, c.Height, c.Creatinine, c.CystatinC = 11, Male, val("height", "1.2", "m"), val("creatinine", "0.9", "mg/dL"), model.Value{}
		}, "G3a"},
		{"a child without height: 64.2 by cystatin C", func(c *Case) {
			c.Age, c.Sex, c.Height, c.CystatinC = 11, Male, model.Value{}, val("cystatin-c", "1.3", "mg/L")
		}, "G2"},
	} {
		k := woman()
		c.change(&k)
		got, _, why := answers(k)
		if got[NameG]+why[NameG] != c.want {
			t.Errorf("%s: %q, refused for %q, want %s", c.name, got[NameG], why[NameG], c.want)
		}
	}
}

// TestEstimateNumbers: names and units as the design has them, and published
// results that come out under each name, the last column their source.
func TestEstimateNumbers(t *testing.T) {
	kfre := Case{Age: 60, Sex: Female, EGFR: val("egfr", "45", ""), ACR: val("acr", "25", "mg/g"), Albumin: val("albumin", "3.8", "g/dL"),
		Phosphate: val("phosphate", "3.9", "mg/dL"), Bicarbonate: val("bicarbonate", "25", "meq/L"), Calcium: val("calcium", "9.4", "mg/dL"), Region: Elsewhere}
	boy := Case{Age: 11, Sex: Male, Height: val("height", "120", "cm"), Creatinine: val("creatinine", "0.9", "mg/dL"), CystatinC: val("cystatin-c", "1.3", "mg/L")}
	man := Case{Age: 60.99, Sex: Male, Creatinine: val("creatinine", "1.4", "mg/dL"), CystatinC: val("cystatin-c", "0.8", "mg/L"), Height: val("height", "170", "cm"), Weight: val("weight", "70", "kg"),
		UrineCreatinine: val("urine-creatinine", "100", "mg/dL"), UrineVolume: val("urine-volume", "1500", "mL"), UrineHours: val("urine-hours", "24", "")}
	for i, c := range []struct {
		name   string
		unit   string
		of     Case
		want   float64
		within float64
	}{
		{"egfr-creatinine-2021", "mL/min/{1.73_m2}", man, 57.54, 0.05},           // checks.csv, completed years
		{"egfr-creatinine-cystatin-2021", "mL/min/{1.73_m2}", man, 83.97, 0.05},  // checks.csv
		{"egfr-cystatin-2012", "mL/min/{1.73_m2}", man, 104.57, 0.01},            // checks.csv, with 0.996
		{"egfr-child-2009", "mL/min/{1.73_m2}", boy, 0.413 * 120 / 0.9, 1e-9},    // Schwartz 2009
		{"egfr-u25-creatinine", "mL/min/{1.73_m2}", boy, 51.6, 0.05},             // the authors' calculator
		{"egfr-u25-cystatin", "mL/min/{1.73_m2}", boy, 64.2, 0.05},               // the same
		{"egfr-u25-average", "mL/min/{1.73_m2}", boy, 57.9, 0.05},                // the same
		{"clearance-cockcroft-gault", "mL/min", man, 80 * 70 / (72 * 1.4), 1e-9}, // Cockcroft and Gault 1976
		{"clearance-measured", "mL/min", man, 104.17 / 1.4, 0.05},                // checks.csv, for 1.0 mg/dL
		{"bsa-du-bois", "m2", man, 1.8097, 0.0005},                               // checks.csv
		{"bsa-mosteller", "m2", man, 1.8181, 0.0005},                             // checks.csv
		{"g-category", "", kfre, 3, 0},                                           // G3a is the third
		{"a-category", "", kfre, 1, 0},
		{"risk-category", "", kfre, 2, 0},
		{"checks-per-year", "/a", kfre, 1, 0},
		{"failure-risk-4-2y", "%", kfre, 0.289, 0.001},   // a public library's page
		{"failure-risk-4-5y", "%", kfre, 1.116, 0.001},   // the same
		{"failure-risk-8-2y", "%", kfre, 0.470, 0.002},   // the same
		{"failure-risk-8-5y", "%", kfre, 2.099, 0.002},   // the same
		{"acr-from-pcr", "mg/g", woman(), 237.66, 0.01},  // Sumida 2020, reckoned apart: 600 mg/g, woman, diabetes
		{"acr-from-strip", "mg/g", woman(), 58.53, 0.01}, // the same, for 1+
	} {
		if names := Names(); i >= len(names) || names[i] != Name(c.name) {
			t.Fatalf("name %d is not %s", i, c.name)
		}
		results, refused := Estimate(c.of)
		j := slices.IndexFunc(results, func(r Result) bool { return r.Name == Name(c.name) })
		if j < 0 {
			t.Errorf("%s: %v", c.name, refused)
			continue
		}
		if r := results[j]; math.Abs(r.Value-c.want) > c.within || r.Unit != c.unit || r.Cite != r.Name.Cite() {
			t.Errorf("%s: %v %s %v, want %v %s", c.name, r.Value, r.Unit, r.Cite, c.want, c.unit)
		}
	}
	if n := len(Names()); n != 21 {
		t.Errorf("%d names", n)
	}
	for _, n := range Names() {
		if _, ok := model.FindSource(n.Cite().Source); !ok {
			t.Errorf("%s: the source %q is not in the table", n, n.Cite().Source)
		}
	}
}

// TestUnitDoubts: clinical decision 5. What fits the other unit better is
// asked, 18 to 25 always; a missing unit is taken only where there is one.
func TestUnitDoubts(t *testing.T) {
	for _, c := range []struct{ typed, unit, want string }{
		{"17.9", "mg/dL", ""}, {"18", "mg/dL", "problem.out-of-range"}, {"25", "mg/dL", "problem.out-of-range"}, {"26", "mg/dL", "problem.did-you-mean"}, {"97", "mg/dL", "problem.did-you-mean"},
		{"26", "umol/L", ""}, {"25.9", "umol/L", "problem.out-of-range"}, {"18", "umol/L", "problem.out-of-range"}, {"17.9", "umol/L", "problem.did-you-mean"}, {"1.1", "umol/L", "problem.did-you-mean"},
		{"1.1", "", "problem.unit-missing"}, {"1.1", "g/L", "problem.unit-unknown"}, {"<0.3", "mg/dL", "limit"}, {"0.1", "mg/dL", "problem.out-of-range"},
	} {
		k := woman()
		k.Creatinine = val("creatinine", c.typed, c.unit)
		if _, _, why := answers(k); why[NameCreatinine2021] != c.want {
			t.Errorf("%s %s: %q, want %q", c.typed, c.unit, why[NameCreatinine2021], c.want)
		}
	}
	k := woman()
	k.Creatinine = model.Value{Code: "creatinine", Word: "yes"}
	if _, _, why := answers(k); why[NameCreatinine2021] == "" {
		t.Error("a word was taken for a number")
	}
}

// TestCategoryInItsUnit: 27 mg/g is more than 3 mg/mmol once converted, yet A1.
func TestCategoryInItsUnit(t *testing.T) {
	for _, c := range []struct{ acr, unit, pcr, want string }{
		{"27", "mg/g", "", "A1"}, {"3", "mg/mmol", "", "A2"}, {"<3", "mg/mmol", "", "A1"}, {">300", "mg/g", "", "A3"}, {"<100", "mg/g", "", "ratio"},
		{"", "mg/g", "150", "A2"}, {"", "mg/mmol", "50", "A3"}, {"", "mg/g", "", "acr"}, {"40000", "mg/g", "", "problem.out-of-range"},
	} {
		k := woman()
		k.ACR, k.PCR = model.Value{}, model.Value{}
		if c.acr != "" {
			k.ACR = val("acr", c.acr, c.unit)
		}
		if c.pcr != "" {
			k.PCR = val("pcr", c.pcr, c.unit)
		}
		got, _, why := answers(k)
		if got[NameA]+why[NameA] != c.want {
			t.Errorf("%+v: %q, refused for %q", c, got[NameA], why[NameA])
		}
	}
}

var reason = regexp.MustCompile(`(?:refused|lab|take)\([^\n]*?"([a-z0-9-]+)"(?:, "(?:n|what)", [^)]*(?:\([a-z]+\))?)?\)`)

// TestReasonsHaveTexts: every reason, caution and doubt written in this
// package can be said in every language.
func TestReasonsHaveTexts(t *testing.T) {
	files, _ := filepath.Glob("*.go")
	keys := map[string]bool{}
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range reason.FindAllStringSubmatch(string(b), -1) {
			keys["renal.refused."+m[1]] = true
		}
		for _, m := range regexp.MustCompile(`model\.T\("(renal\.[a-z.-]+)"\)`).FindAllStringSubmatch(string(b), -1) {
			keys[m[1]] = true
		}
	}
	if len(keys) < 40 {
		t.Errorf("found only %d keys", len(keys))
	}
	for _, l := range i18n.Languages() {
		words, err := i18n.New(l.Tag, "")
		if err != nil {
			t.Fatal(err)
		}
		for k := range keys {
			if s := words.T(model.T(k, "n", 2, "what", model.Code("creatinine"))); s == "" || strings.Contains(s, k) {
				t.Errorf("%s: %s has no text: %q", l.Tag, k, s)
			}
		}
	}
}
