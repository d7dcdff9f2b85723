package model

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// table reads a CSV of outside checks, one map a row.
func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, rec := range recs[1:] {
		row := map[string]string{}
		for i, name := range recs[0] {
			row[name] = rec[i]
		}
		out = append(out, row)
	}
	return out
}

// checkDigit is LOINC's mod-10 check digit: from the right, every other digit
// is doubled, all digits are added, and the sum is filled up to a ten (LOINC
// Users' Guide, appendix on the check digit).
func checkDigit(body string) int {
	sum := 0
	for i := range len(body) {
		d := int(body[len(body)-1-i] - '0')
		if i%2 == 0 {
			d *= 2
		}
		sum += d/10 + d%10
	}
	return (10 - sum%10) % 10
}

func loincOK(code string) bool {
	body, digit, found := strings.Cut(code, "-")
	if n, err := strconv.Atoi(body); !found || err != nil || n <= 0 {
		return false
	}
	return digit == strconv.Itoa(checkDigit(body))
}

func TestCheckDigit(t *testing.T) {
	// 12345 → 5 is the guide's own example; 8999-4 is a misprint seen in the wild.
	for code, want := range map[string]bool{"12345-5": true, "2160-0": true, "718-7": true, "8999-5": true, "8999-4": false, "57369": false, "-0": false} {
		if loincOK(code) != want {
			t.Errorf("%s: want %v", code, want)
		}
	}
}

func TestTimedPad(t *testing.T) {
	for _, it := range Analytes() {
		pad, ok := TimedPad(OwnTime(it.Code))
		if _, there := Find(Strip, OwnTime(it.Code)); !ok || pad != it.Code || !there {
			t.Errorf("%s: its own time leads to %q %v, recordable %v", it.Code, pad, ok, there)
		}
		if _, ok := TimedPad(it.Code); ok {
			t.Errorf("%s is taken for a time", it.Code)
		}
	}
	if pad, ok := TimedPad(AfterDip); ok {
		t.Errorf("the time of the whole strip is taken for that of %q", pad)
	}
}

func TestCodesFile(t *testing.T) {
	for _, row := range table(t, "testdata/codes.csv") {
		if !loincOK(row["loinc"]) {
			t.Errorf("%s: impossible code %s", row["item"], row["loinc"])
		}
	}
}

func TestItemsWhole(t *testing.T) {
	codes := map[string]map[string]string{}
	for _, row := range table(t, "testdata/codes.csv") {
		codes[row["loinc"]] = row
	}
	seen := map[string]bool{}
	loincs := map[string]string{}
	for _, it := range Items() {
		name := string(it.Kind) + " " + string(it.Code)
		if seen[name] {
			t.Errorf("%s is there twice", name)
		}
		seen[name] = true
		if !slices.Contains(Kinds(), it.Kind) || !answerCode.MatchString(string(it.Code)) {
			t.Errorf("%s: odd kind or code", name)
		}
		checkUnits(t, name, it)
		if (it.Takes == Words) != (len(it.Words) > 0) {
			t.Errorf("%s: listed words %q", name, it.Words)
		}
		if _, known := FindSource(it.Cite.Source); it.Cite.Source != "" && !known {
			t.Errorf("%s: unknown source %q", name, it.Cite.Source)
		}
		if it.LOINC == "" {
			continue
		}
		if other := loincs[it.LOINC]; other != "" {
			t.Errorf("%s and %s share %s", name, other, it.LOINC)
		}
		loincs[it.LOINC] = name
		row, known := codes[it.LOINC]
		if !loincOK(it.LOINC) || !known {
			t.Errorf("%s: LOINC %s is impossible or not in codes.csv", name, it.LOINC)
			continue
		}
		if u := strings.Split(row["ucum"], " or "); row["ucum"] != "" && !slices.ContainsFunc(u, func(u string) bool { _, ok := it.Unit(u); return ok }) {
			t.Errorf("%s: LOINC %s is in %s, which is not accepted", name, it.LOINC, row["ucum"])
		}
	}
	for _, it := range ItemsOf(Lab) {
		if it.LOINC == "" && it.Takes == Number && it.Code != "urine-hours" {
			t.Errorf("lab %s has no LOINC", it.Code)
		}
	}
}

func checkUnits(t *testing.T, name string, it Item) {
	t.Helper()
	number := it.Takes == Number || it.Takes == GradeOrNumber
	if number != (len(it.Units) > 0) || it.NeedsUnit && !number || it.Whole && !number {
		t.Errorf("%s: units do not fit what it takes", name)
		return
	}
	ucum := map[string]bool{}
	for i, u := range it.Units {
		if ucum[u.UCUM] {
			t.Errorf("%s: unit %q twice", name, u.UCUM)
		}
		ucum[u.UCUM] = true
		if i == 0 && (u.Factor != 1 || u.Offset != 0) {
			t.Errorf("%s: the default unit does not stand for itself", name)
		}
		if !(u.Min < u.Max) || math.IsInf(u.Max-u.Min, 0) || u.Min < 0 || u.Factor < 0 {
			t.Errorf("%s: limits %g to %g %s", name, u.Min, u.Max, u.UCUM)
		}
		if it.Whole && (u.Min != math.Trunc(u.Min) || u.Max != math.Trunc(u.Max)) {
			t.Errorf("%s: whole numbers with broken limits", name)
		}
		if u.Factor == 0 {
			continue
		}
		// The same amount is accepted whatever unit it is written in.
		first := it.Units[0]
		lo, hi := u.Factor*u.Min+u.Offset, u.Factor*u.Max+u.Offset
		if hi < first.Max*0.9 || hi > first.Max*1.1 || lo > first.Min*3 || lo < first.Min/2 {
			t.Errorf("%s: %s allows %g to %g %s, but %s %g to %g", name, u.UCUM, lo, hi, first.UCUM, first.UCUM, first.Min, first.Max)
		}
	}
}

func TestAnalytesWhole(t *testing.T) {
	want := []Code{Leukocytes, Nitrite, Urobilinogen, Protein, PH, Blood, SpecificGravity, Ketones, Bilirubin, Glucose, Creatinine, Albumin}
	var got []Code
	for _, it := range Analytes() {
		got = append(got, it.Code)
		if it.Kind != Strip || it.LOINC == "" || it.Cite.Source == "" {
			t.Errorf("%s: wants kind strip, a LOINC and a cite", it.Code)
		}
		if f, ok := Find(Strip, it.Code); !ok || f.LOINC != it.LOINC {
			t.Errorf("%s is not in the catalogue", it.Code)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	for c, rows := range usualBlocks {
		if _, ok := Find(Strip, c); !ok || rows[0].from != 0 || rows[0].grade != Neg {
			t.Errorf("%s: usual blocks of no pad, or not from neg", c)
		}
		for i := 1; i < len(rows); i++ {
			if rows[i].from <= rows[i-1].from || rows[i].grade.Rank() <= rows[i-1].grade.Rank() {
				t.Errorf("%s: usual blocks out of order at %g", c, rows[i].from)
			}
		}
	}
}

// The unit rows of the outside checks, against published programs and molar
// masses.
func TestUnitsAgainstOutsideChecks(t *testing.T) {
	n := 0
	for _, row := range table(t, "testdata/checks.csv") {
		what, ok := strings.CutPrefix(row["topic"], "unit.")
		if !ok {
			continue
		}
		n++
		in := map[string]string{}
		for _, pair := range strings.Split(row["inputs"], ";") {
			k, v, _ := strings.Cut(pair, "=")
			in[k] = v
		}
		it, ok := Find(Lab, Code(what))
		if !ok {
			t.Errorf("no lab %s", what)
			continue
		}
		v, _ := strconv.ParseFloat(in["value"], 64)
		want, _ := strconv.ParseFloat(row["expected"], 64)
		tolerance, _ := strconv.ParseFloat(row["tolerance"], 64)
		if what == "urea" {
			// Urea against urea nitrogen: a sheet's mg/dL may mean either, so
			// we convert neither way, whatever the arithmetic.
			if got, ok := it.In(Value{Number: v, Unit: "mmol/L"}, "mg/dL"); ok {
				t.Errorf("urea was converted to %g", got)
			}
			continue
		}
		got, ok := it.In(Value{Number: v, Unit: in["from"]}, in["to"])
		if !ok || math.Abs(got-want) > tolerance {
			t.Errorf("%s %s: got %g %v, want %g ± %g (%s)", what, row["inputs"], got, ok, want, tolerance, row["source"])
		}
	}
	if n < 7 {
		t.Errorf("only %d rows", n)
	}
}

// Factors of exact definitions and molar masses. International avoirdupois
// pound and inch: 1959 agreement, exact. Fahrenheit: 212 is the boiling point.
// Molar masses in g/mol: creatinine 113.12, acetoacetic acid 102.09, bilirubin
// 584.66, phosphorus 30.97 (IUPAC atomic weights).
func TestUnitsByDefinition(t *testing.T) {
	for _, c := range []struct {
		kind          Kind
		code          Code
		value         float64
		from, to      string
		want, percent float64
	}{
		{Vital, "weight", 1, "[lb_av]", "kg", 0.45359237, 0},
		{Profile, "height", 1, "[in_i]", "cm", 2.54, 0},
		{Profile, "height", 1.58, "m", "cm", 158, 0},
		{Vital, "temperature", 98.6, "[degF]", "Cel", 37, 0},
		{Vital, "temperature", 38, "Cel", "[degF]", 100.4, 0},
		{Vital, "temperature", 212, "[degF]", "Cel", 100, 0},
		{Lab, "urine-creatinine", 1, "mmol/L", "mg/dL", 11.312, 0.01},
		{Lab, "urine-creatinine", 1000, "umol/L", "mmol/L", 1, 0.01},
		{Lab, "phosphate", 1, "mmol/L", "mg/dL", 3.097, 0.01},
		{Lab, "haemoglobin", 12.5, "g/dL", "g/L", 125, 0},
		{Lab, "urine-protein", 0.5, "g/(24.h)", "mg/(24.h)", 500, 0},
		{Lab, "potassium", 4.5, "meq/L", "mmol/L", 4.5, 0},
		{Lab, "acr", 3, "mg/mmol", "mg/g", 26.52, 0.1},
		{Strip, Ketones, 1, "mmol/L", "mg/dL", 10.209, 0.2},
		{Strip, Bilirubin, 17.1, "umol/L", "mg/dL", 1, 0.1},
		{Strip, Protein, 0.3, "g/L", "mg/dL", 30, 0},
		{Strip, Protein, 300, "mg/L", "mg/dL", 30, 0},
		{Strip, Albumin, 3, "mg/dL", "mg/L", 30, 0},
		{Fluid, "drink", 1.5, "L", "mL", 1500, 0},
	} {
		it, _ := Find(c.kind, c.code)
		got, ok := it.In(Value{Number: c.value, Unit: c.from}, c.to)
		if !ok || math.Abs(got-c.want) > c.want*max(c.percent/100, 1e-9) {
			t.Errorf("%s %s: %g %s is %g %s, want %g", c.kind, c.code, c.value, c.from, got, c.to, c.want)
		}
	}
}

func TestUnitsThereAndBack(t *testing.T) {
	for _, it := range Items() {
		for _, from := range it.Units {
			for _, to := range it.Units {
				for _, part := range []float64{0, 0.001, 0.37, 0.5, 1} {
					v := Value{Number: from.Min + part*(from.Max-from.Min), Unit: from.UCUM}
					there, ok := it.In(v, to.UCUM)
					if want := from.UCUM == to.UCUM || from.Factor != 0 && to.Factor != 0; ok != want {
						t.Fatalf("%s %s to %s: converted %v", it.Code, from.UCUM, to.UCUM, ok)
					}
					if !ok {
						continue
					}
					back, _ := it.In(Value{Number: there, Unit: to.UCUM}, from.UCUM)
					if math.Abs(back-v.Number) > 1e-9*max(1, v.Number) {
						t.Errorf("%s: %g %s comes back from %s as %g", it.Code, v.Number, from.UCUM, to.UCUM, back)
					}
				}
			}
		}
	}
	it, _ := Find(Lab, "creatinine")
	for _, v := range []Value{{Number: 1, Unit: "kg"}, {Grade: Neg}, {Word: "yes"}} {
		if got, ok := it.In(v, "mg/dL"); ok {
			t.Errorf("%+v became %g", v, got)
		}
	}
}

// Where the two units of an item never share a plausible number, a slip
// between them is always noticed (needs R29 and R30).
func TestUnitSlipsAreAlwaysSeen(t *testing.T) {
	for _, code := range []Code{"creatinine", "haemoglobin", "glucose", "calcium", "albumin"} {
		it, _ := Find(Lab, code)
		a, b := it.Units[0], it.Units[1]
		if a.Min <= b.Max && b.Min <= a.Max {
			t.Errorf("%s: %g to %g %s and %g to %g %s overlap", code, a.Min, a.Max, a.UCUM, b.Min, b.Max, b.UCUM)
		}
		for _, pair := range [][2]Unit{{a, b}, {b, a}} {
			for _, n := range []float64{pair[0].Min, (pair[0].Min + pair[0].Max) / 2, pair[0].Max} {
				_, ps := ParseValue(it, FormatNumber(n), pair[1].UCUM, "")
				if len(ps) != 1 || ps[0].Why.Key != "problem.did-you-mean" {
					t.Errorf("%s: %g taken for %s: %v", code, n, pair[1].UCUM, ps)
				}
			}
		}
	}
}

// facts D and the second reading (verified) name their sources: simerville2005
// is the American Family Physician table; "three tables" are laboratory
// strip tables; what is marked from memory says so.
func TestUsualGrade(t *testing.T) {
	for _, c := range []struct {
		pad    Code
		number float64
		unit   string
		want   Grade
		source string
	}{
		{Protein, 0, "mg/dL", Neg, "simerville2005"},
		{Protein, 9, "mg/dL", Neg, "simerville2005: trace from 10"},
		{Protein, 10, "mg/dL", Trace, "simerville2005: trace 10 to 20"},
		{Protein, 15, "mg/dL", Trace, "nephrology page: trace 15"},
		{Protein, 20, "mg/dL", Trace, "simerville2005"},
		{Protein, 30, "mg/dL", Plus1, "simerville2005"},
		{Protein, 0.3, "g/L", Plus1, "simerville2005, in g/L"},
		{Protein, 99, "mg/dL", Plus1, "simerville2005"},
		{Protein, 100, "mg/dL", Plus2, "simerville2005"},
		{Protein, 1, "g/L", Plus2, "simerville2005, in g/L"},
		{Protein, 300, "mg/dL", Plus3, "simerville2005"},
		{Protein, 3, "g/L", Plus3, "simerville2005, in g/L"},
		{Protein, 1000, "mg/dL", Plus4, "one table of three: the most cautious"},
		{Protein, 2000, "mg/dL", Plus4, "simerville2005"},
		{Glucose, 100, "mg/dL", Trace, "verified: three tables, 100 is labelled trace"},
		{Glucose, 250, "mg/dL", Plus1, "verified: three tables"},
		{Glucose, 500, "mg/dL", Plus2, "verified: three tables"},
		{Glucose, 1000, "mg/dL", Plus3, "verified: three tables"},
		{Glucose, 2000, "mg/dL", Plus4, "verified: three tables"},
		{Glucose, 5.5, "mmol/L", Trace, "verified: 5.5/14/28/55/110 mmol/L"},
		{Glucose, 14, "mmol/L", Plus1, "verified: 5.5/14/28/55/110 mmol/L"},
		{Glucose, 28, "mmol/L", Plus2, "verified: 5.5/14/28/55/110 mmol/L"},
		{Glucose, 55, "mmol/L", Plus3, "verified: 5.5/14/28/55/110 mmol/L"},
		{Glucose, 110, "mmol/L", Plus4, "verified: 5.5/14/28/55/110 mmol/L"},
		{Glucose, 111, "mmol/L", Plus4, "facts D: 5.5 to 111 mmol/L"},
		{Ketones, 4, "mg/dL", Neg, "verified: detection limit 5"},
		{Ketones, 5, "mg/dL", Trace, "verified: detection limit 5"},
		{Ketones, 15, "mg/dL", Plus1, "verified: paediatric diabetes team, small"},
		{Ketones, 40, "mg/dL", Plus2, "verified: paediatric diabetes team, moderate"},
		{Ketones, 80, "mg/dL", Plus3, "verified: paediatric diabetes team, large; decisions: a block of 80 or more"},
		{Ketones, 160, "mg/dL", Plus4, "verified: paediatric diabetes team, large"},
		{Blood, 4, "/uL", Neg, "verified: detection limit 5"},
		{Blood, 10, "/uL", Trace, "from memory"},
		{Blood, 25, "/uL", Plus1, "from memory"},
		{Blood, 80, "/uL", Plus2, "from memory"},
		{Blood, 200, "/uL", Plus3, "from memory"},
		{Leukocytes, 15, "/uL", Trace, "from memory"},
		{Leukocytes, 70, "/uL", Plus1, "from memory"},
		{Leukocytes, 125, "/uL", Plus2, "from memory"},
		{Leukocytes, 500, "/uL", Plus3, "from memory"},
	} {
		got, ok := UsualGrade(c.pad, Value{Number: c.number, Unit: c.unit})
		if !ok || got != c.want {
			t.Errorf("%s %g %s: got %s %v, want %s (%s)", c.pad, c.number, c.unit, got, ok, c.want, c.source)
		}
	}
	for _, pad := range []Code{PH, SpecificGravity, Urobilinogen, Creatinine, Albumin, Nitrite, "no-pad"} {
		if g, ok := UsualGrade(pad, Value{Number: 1}); ok {
			t.Errorf("%s was graded %s", pad, g)
		}
	}
	if g, ok := UsualGrade(Protein, Value{Number: 30, Unit: "furlong"}); ok {
		t.Errorf("an unknown unit was graded %s", g)
	}
	for _, g := range Grades() {
		if got, ok := UsualGrade(Nitrite, Value{Grade: g}); !ok || got != g {
			t.Errorf("%s became %s", g, got)
		}
	}
}

// Law: more of something is never a lower grade, in any unit.
func TestUsualGradeRises(t *testing.T) {
	for pad := range usualBlocks {
		it, _ := Find(Strip, pad)
		for _, u := range it.Units {
			last := Neg
			for i := range 2001 {
				g, ok := UsualGrade(pad, Value{Number: u.Max * float64(i) / 2000, Unit: u.UCUM})
				if !ok || g.Rank() < last.Rank() {
					t.Fatalf("%s: %s after %s", pad, g, last)
				}
				last = g
			}
		}
	}
}

func TestGrades(t *testing.T) {
	order := []Grade{Unclear, Neg, Trace, Plus1, Plus2, Plus3, Plus4}
	for i, g := range order[1:] {
		if g.Rank() != order[i].Rank()+1 {
			t.Errorf("%s does not follow %s", g, order[i])
		}
	}
	if Pos.Rank() != Plus1.Rank() || !Pos.AtLeast(Plus1) || Pos.AtLeast(Plus2) || !Plus1.AtLeast(Pos) {
		t.Error("pos does not count as 1+")
	}
	for _, g := range []Grade{NoGrade, Unclear, Grade(-1), Grade(99)} {
		if g.Judged() || g.AtLeast(Neg) || g.Rank() != -1 {
			t.Errorf("%d is judged", g)
		}
	}
	for _, g := range Grades() {
		if got, ok := ParseGrade(g.String()); !ok || got != g {
			t.Errorf("%s is read as %s", g, got)
		}
	}
	for _, s := range []string{"", "Neg", "negative", "+", "++", "5+", "1", " 1+", "+1"} {
		if g, ok := ParseGrade(s); ok {
			t.Errorf("%q is read as %s", s, g)
		}
	}
	if Grade(-1).String() != "" || Grade(99).String() != "" {
		t.Error("a grade that is none has a word")
	}
}

func TestLookups(t *testing.T) {
	for _, k := range Kinds() {
		if n := len(ItemsOf(k)); n == 0 && k != Answer {
			t.Errorf("nothing can be recorded under %s", k)
		}
	}
	if it, ok := ItemFor(Answer, "dilute-sample"); !ok || !slices.Equal(it.Words, AnswerWords()) {
		t.Error("an answer is unknown")
	}
	for _, c := range []Code{"", "Dilute", "a b", "-a", "a-", "a--b", Code(strings.Repeat("a", 65))} {
		if _, ok := ItemFor(Answer, c); ok {
			t.Errorf("%q is an answer", c)
		}
	}
	if it, _ := Find(Lab, "creatinine"); it.DefaultUnit() != "" {
		t.Error("a laboratory value has a default unit")
	}
	if it, _ := Find(Strip, Albumin); it.DefaultUnit() != "mg/L" {
		t.Error("the albumin pad's default is not mg/L")
	}
	if it, _ := Find(Strip, Nitrite); it.DefaultUnit() != "" {
		t.Error("nitrite has a unit")
	}
}
