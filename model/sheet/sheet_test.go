package sheet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

var (
	now = time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC)
	day = model.OnDay(now.AddDate(0, 0, -2))
)

// earlier is a sheet of the book: code value unit …, of a day and laboratory.
func earlier(days int, laboratory string, cells ...string) model.Entry {
	e := model.Entry{ID: model.ID(fmt.Sprint("e", days, laboratory)), Person: "ana", Kind: model.Lab, When: model.OnDay(now.AddDate(0, 0, -days))}
	for i := 0; i+2 < len(cells); i += 3 {
		x, _ := model.ParseNumber(strings.TrimLeft(cells[i+1], "<>"))
		e.Values = append(e.Values, model.Value{Code: model.Code(cells[i]), Number: x, Typed: cells[i+1], Unit: cells[i+2]})
	}
	if laboratory != "" {
		e.Values = append(e.Values, model.Value{Code: "laboratory", Word: laboratory})
	}
	return e
}

func draft(lines ...Line) Draft {
	d := Draft{Person: "ana", Day: day, Laboratory: "Bridge", Sure: map[string]bool{}}
	for _, l := range lines {
		d.Set(l)
	}
	return d
}

func kinds(qs []Doubt) string {
	var out []string
	for _, q := range qs {
		out = append(out, string(q.Kind))
	}
	return strings.Join(out, " ")
}

func answers(q Doubt) string {
	var out []string
	for _, a := range q.Answers {
		out = append(out, a.ID)
	}
	return strings.Join(out, " ")
}

func TestUnitsAreRememberedByLaboratory(t *testing.T) {
	book := []model.Entry{
		earlier(400, "Bridge", "creatinine", "88", "umol/L", "acr", "3", "mg/mmol"),
		earlier(100, " bridge ", "creatinine", "1.0", "mg/dL"),
		earlier(50, "Clinic", "creatinine", "90", "umol/L", "haemoglobin", "12.1", "g/dL"),
		earlier(30, "", "potassium", "4.4", "mmol/L"),
	}
	for _, c := range []struct{ laboratory, creatinine, acr, haemoglobin, potassium string }{
		{"BRIDGE", "mg/dL", "mg/mmol", "", ""}, {"Clinic", "umol/L", "", "g/dL", ""}, {"", "", "", "", "mmol/L"}, {"New place", "", "", "", ""},
	} {
		got := Remembered(book, c.laboratory)
		if got["creatinine"] != c.creatinine || got["acr"] != c.acr || got["haemoglobin"] != c.haemoglobin || got["potassium"] != c.potassium {
			t.Errorf("%q: %v", c.laboratory, got)
		}
	}
	if got := Laboratories(book); !slices.Equal(got, []string{"Clinic", "bridge"}) && !slices.Equal(got, []string{"Clinic", " bridge "}) {
		t.Errorf("laboratories %q", got)
	}
	if got := Usual(book); !slices.Contains(got, "potassium") || slices.Contains(got, "sodium") || got[0] != "creatinine" {
		t.Errorf("usual %v", got)
	}
}

// TestEveryResultHasAPlace: what the catalogue can hold can be copied.
func TestEveryResultHasAPlace(t *testing.T) {
	places := map[model.Code]int{}
	for _, g := range Groups() {
		for _, c := range g.Codes {
			places[c]++
		}
	}
	for _, it := range model.ItemsOf(model.Lab) {
		if want := map[bool]int{true: 1, false: 0}[it.Takes == model.Number]; places[it.Code] != want {
			t.Errorf("%s stands on the page %d times", it.Code, places[it.Code])
		}
	}
}

// slip is what people copy of a result that a healthy or a sick body can have:
// the range of each analyte in its first unit (handbook ranges of values seen
// in hospitals, common practice).
var plausible = map[model.Code][2]float64{
	"creatinine": {35, 1500}, "haemoglobin": {50, 200}, "glucose": {2.9, 40}, "calcium": {1.3, 4}, "potassium": {2, 8.5},
}

// TestSlipsOutsideTheRangeAreAsked: of true values over the whole plausible
// range, each slip to another unit, and each to ten times or a tenth, that
// leaves the accepted range is asked about, and nothing is converted unasked.
func TestSlipsOutsideTheRangeAreAsked(t *testing.T) {
	for code, r := range plausible {
		it, _ := model.Find(model.Lab, code)
		asked, slips := 0, 0
		for i := range 400 {
			first := r[0] * math.Pow(r[1]/r[0], float64(i)/399)
			for _, u := range it.Units {
				true1, ok := it.In(model.Value{Code: code, Number: first, Unit: it.Units[0].UCUM}, u.UCUM)
				if !ok {
					t.Fatalf("%s does not convert to %s", code, u.UCUM)
				}
				typed := fmt.Sprintf("%.3g", true1)
				if strings.Contains(typed, "e") {
					typed = fmt.Sprintf("%.0f", true1)
				}
				slip := func(typed, unit string) {
					n, _ := model.ParseNumber(typed)
					in, _ := it.Unit(unit)
					if n >= in.Min && n <= in.Max {
						return // inside what is accepted: only the last result can tell
					}
					slips++
					d := draft(Line{Code: code, Typed: typed, Unit: unit})
					qs := Check(d, nil, now)
					if len(qs) == 0 {
						t.Errorf("%s: %s %s is not asked about", code, typed, unit)
						return
					}
					asked++
					if l := d.Line(code); l.Typed != typed || l.Unit != unit {
						t.Errorf("%s: %s %s became %v unasked", code, typed, unit, l)
					}
				}
				for _, other := range it.Units {
					if differ(u, other) {
						slip(typed, other.UCUM)
					}
				}
				slip(movePoint(typed, 1), u.UCUM)
				slip(movePoint(typed, -1), u.UCUM)
			}
		}
		t.Logf("%s: %d of %d slips that leave the range were asked about", code, asked, slips)
	}
}

// TestTenfoldSlipsInsideTheRangeAreAskedByTheLast: where a slip stays inside,
// the person's last result tells.
func TestTenfoldSlipsInsideTheRangeAreAskedByTheLast(t *testing.T) {
	for code, r := range plausible {
		it, _ := model.Find(model.Lab, code)
		u := it.Units[0]
		for i := range 100 {
			n := r[0] * math.Pow(r[1]/r[0], float64(i)/99)
			typed := model.FormatNumber(math.Round(n*100) / 100)
			last := earlier(90, "Bridge", string(code), typed, u.UCUM)
			for _, places := range []int{-1, 1} {
				d := draft(Line{Code: code, Typed: movePoint(typed, places), Unit: u.UCUM})
				qs := Check(d, []model.Entry{last}, now)
				if len(qs) != 1 || qs[0].Kind == Twice {
					t.Fatalf("%s: %s after %s: %q", code, movePoint(typed, places), typed, kinds(qs))
				}
				if qs[0].Kind == Jump && !strings.Contains(answers(qs[0]), "point") {
					t.Errorf("%s: %s after %s: the moved point is not offered: %s", code, movePoint(typed, places), typed, answers(qs[0]))
				}
			}
		}
	}
}

func TestDoubts(t *testing.T) {
	for _, c := range []struct {
		name    string
		line    Line
		before  []model.Entry
		want    string
		answers string
	}{
		{"97 as mg/dL", Line{Code: "creatinine", Typed: "97", Unit: "mg/dL"}, nil, "unit", "unit-umol/L look note"},
		{"1.10 as µmol/L", Line{Code: "creatinine", Typed: "1.10", Unit: "umol/L"}, nil, "unit", "unit-mg/dL look note"},
		{"fits neither: 20 mg/dL", Line{Code: "creatinine", Typed: "20", Unit: "mg/dL"}, nil, "range", "look note"},
		{"fits neither: 20 µmol/L", Line{Code: "creatinine", Typed: "20", Unit: "umol/L"}, nil, "range", "look note"},
		{"accepted edges", Line{Code: "creatinine", Typed: "17.9", Unit: "mg/dL"}, nil, "", ""},
		{"accepted edges", Line{Code: "creatinine", Typed: "26", Unit: "umol/L"}, nil, "", ""},
		{"12.1 as g/L", Line{Code: "haemoglobin", Typed: "12.1", Unit: "g/L"}, nil, "unit", "unit-g/dL look note"},
		{"121 as g/dL", Line{Code: "haemoglobin", Typed: "121", Unit: "g/dL"}, nil, "unit", "unit-g/L look note"},
		{"100 as mmol/L glucose", Line{Code: "glucose", Typed: "100", Unit: "mmol/L"}, nil, "unit", "unit-mg/dL look note"},
		{"9.6 as mmol/L calcium", Line{Code: "calcium", Typed: "9.6", Unit: "mmol/L"}, nil, "unit", "unit-mg/dL look note"},
		{"47 for potassium", Line{Code: "potassium", Typed: "47", Unit: "mmol/L"}, nil, "range", "look note"},
		{"0.47 for potassium", Line{Code: "potassium", Typed: "0.47", Unit: "mmol/L"}, nil, "range", "look note"},
		{"ACR fits both", Line{Code: "acr", Typed: "30", Unit: "mg/g"}, nil, "either-fit", "yes unit-mg/mmol look"},
		{"ACR that only mg/g can be", Line{Code: "acr", Typed: "5000", Unit: "mg/g"}, nil, "", ""},
		{"phosphate fits both", Line{Code: "phosphate", Typed: "1.2", Unit: "mmol/L"}, nil, "either-fit", "yes unit-mg/dL look"},
		{"urea fits both", Line{Code: "urea", Typed: "40", Unit: "mg/dL"}, nil, "either-fit", "yes unit-mmol/L look"},
		{"potassium in two names of one unit", Line{Code: "potassium", Typed: "4.4", Unit: "meq/L"}, nil, "", ""},
		{"remembered", Line{Code: "acr", Typed: "30", Unit: "mg/g"}, []model.Entry{earlier(90, "Bridge", "acr", "25", "mg/g")}, "", ""},
		{"remembered elsewhere", Line{Code: "acr", Typed: "30", Unit: "mg/g"}, []model.Entry{earlier(90, "Clinic", "acr", "25", "mg/g")}, "either-fit", "yes unit-mg/mmol look"},
		{"remembered, the other unit", Line{Code: "acr", Typed: "30", Unit: "mg/mmol"}, []model.Entry{earlier(90, "Bridge", "acr", "25", "mg/g")}, "either-fit", "yes unit-mg/g look"},
		{"twice the last", Line{Code: "creatinine", Typed: "200", Unit: "umol/L"}, []model.Entry{earlier(90, "Bridge", "creatinine", "100", "umol/L")}, "", ""},
		{"more than twice", Line{Code: "creatinine", Typed: "201", Unit: "umol/L"}, []model.Entry{earlier(90, "Bridge", "creatinine", "100", "umol/L")}, "jump", "yes look"},
		{"half the last", Line{Code: "creatinine", Typed: "50", Unit: "umol/L"}, []model.Entry{earlier(90, "Bridge", "creatinine", "100", "umol/L")}, "", ""},
		{"less than half", Line{Code: "creatinine", Typed: "49", Unit: "umol/L"}, []model.Entry{earlier(90, "Bridge", "creatinine", "100", "umol/L")}, "jump", "yes look"},
		{"ten times, in the other unit", Line{Code: "creatinine", Typed: "11.3", Unit: "mg/dL"}, []model.Entry{earlier(90, "Bridge", "creatinine", "100", "umol/L")}, "jump", "yes point look"},
		{"a tenth of potassium is out of range", Line{Code: "potassium", Typed: "0.44", Unit: "mmol/L"}, []model.Entry{earlier(90, "Bridge", "potassium", "4.4", "mmol/L")}, "range", "look note"},
		{"the last is later", Line{Code: "creatinine", Typed: "201", Unit: "umol/L"}, []model.Entry{earlier(1, "Bridge", "creatinine", "100", "umol/L")}, "", ""},
		{"the last was a limit", Line{Code: "acr", Typed: "30", Unit: "mg/g"}, []model.Entry{earlier(90, "Bridge", "acr", "<3", "mg/g")}, "", ""},
		{"a limit now", Line{Code: "acr", Typed: "<3", Unit: "mg/g"}, []model.Entry{earlier(90, "Bridge", "acr", "30", "mg/g")}, "", ""},
		{"the unit would explain the jump", Line{Code: "acr", Typed: "4", Unit: "mg/g"}, []model.Entry{earlier(90, "Bridge", "acr", "35", "mg/g")}, "jump", "yes point unit-mg/mmol look"},
		{"the same again", Line{Code: "creatinine", Typed: "100", Unit: "umol/L"}, []model.Entry{earlier(2, "Bridge", "creatinine", "100.0", "umol/L")}, "twice", "leave-out yes look"},
		{"the same in another unit", Line{Code: "haemoglobin", Typed: "12.1", Unit: "g/dL"}, []model.Entry{earlier(2, "Bridge", "haemoglobin", "121", "g/L")}, "twice", "leave-out yes look"},
		{"another of the day", Line{Code: "creatinine", Typed: "104", Unit: "umol/L"}, []model.Entry{earlier(2, "Bridge", "creatinine", "100", "umol/L")}, "", ""},
		{"no unit is no doubt but a problem", Line{Code: "creatinine", Typed: "97"}, nil, "", ""},
	} {
		qs := Check(draft(c.line), c.before, now)
		if kinds(qs) != c.want {
			t.Errorf("%s: %q, want %q", c.name, kinds(qs), c.want)
		} else if c.want != "" && answers(qs[0]) != c.answers {
			t.Errorf("%s: answers %q, want %q", c.name, answers(qs[0]), c.answers)
		}
	}
}

func TestDayOfLongAgoIsAsked(t *testing.T) {
	for days, want := range map[int]string{0: "", 30: "", 31: "old-day", 400: "old-day"} {
		d := draft(Line{Code: "potassium", Typed: "4.4", Unit: "mmol/L"})
		d.Day = model.OnDay(now.AddDate(0, 0, -days))
		if got := kinds(Check(d, nil, now)); got != want {
			t.Errorf("%d days: %q", days, got)
		}
	}
}

// who is a person of whom the equations know enough.
func who(birth string) []model.Entry {
	return []model.Entry{{ID: "b", Person: "ana", Kind: model.Profile, Values: []model.Value{{Code: "birth-date", Word: birth}}},
		{ID: "s", Person: "ana", Kind: model.Profile, Values: []model.Value{{Code: "sex", Word: "female"}}}}
}

// Creatinine and the sheet's own eGFR are asked about where no equation lets
// both be right.
func TestCreatinineAgainstTheSheetsOwnEGFR(t *testing.T) {
	const perArea = "mL/min/{1.73_m2}"
	for _, c := range []struct {
		name             string
		creatinine, unit string
		egfr             string
		who              []model.Entry
		want             string
	}{
		{"far apart", "1.9", "mg/dL", "62", who("1948-03-09"), "apart"},
		{"the other way round", "0.8", "mg/dL", "31", who("1948-03-09"), "apart"},
		{"a limit far off", "168", "umol/L", ">60", who("1948-03-09"), "apart"},
		{"another equation", "1.9", "mg/dL", "30", who("1948-03-09"), ""},
		{"nobody knows who", "1.9", "mg/dL", "62", nil, ""},
		{"no eGFR", "1.9", "mg/dL", "", who("1948-03-09"), ""},
		{"only a limit of creatinine", "<1.9", "mg/dL", "62", who("1948-03-09"), ""},
		{"unit not chosen yet", "1.9", "", "62", who("1948-03-09"), ""},
	} {
		d := draft(Line{Code: "creatinine", Typed: c.creatinine, Unit: c.unit}, Line{Code: "egfr", Typed: c.egfr, Unit: perArea})
		had := append(c.who, earlier(400, "Bridge", "creatinine", "1", c.unit)) // the unit is known here
		had[len(had)-1].Values[0].Number = 0                                    // and there is nothing to jump from
		qs := Check(d, had, now)
		if got := kinds(qs); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
			continue
		}
		if c.want == "" {
			continue
		}
		if got := answers(qs[0]); got != "yes look" {
			t.Errorf("%s: answers %s", c.name, got)
		}
		if d.Give(qs[0], "yes"); len(Check(d, had, now)) > 0 {
			t.Errorf("%s: asked again", c.name)
		}
		d.Set(Line{Code: "egfr", Typed: c.egfr + "1", Unit: perArea})
		if c.name == "far apart" && len(Check(d, had, now)) == 0 {
			t.Errorf("%s: another number is not asked about", c.name)
		}
	}
}

// TestAnswers: each answer ends its question, changing the number asks anew,
// and looking again changes nothing.
func TestAnswers(t *testing.T) {
	ask := func(d *Draft) Doubt { return Check(*d, nil, now)[0] }
	d := draft(Line{Code: "acr", Typed: "30", Unit: "mg/g", Mark: "H"})
	q := ask(&d)
	if d.Give(q, "look") || len(Check(d, nil, now)) != 1 {
		t.Error("looking again answers")
	}
	if !d.Give(q, "yes") || len(Check(d, nil, now)) != 0 {
		t.Error("yes does not answer")
	}
	d.Set(Line{Code: "acr", Typed: "31", Unit: "mg/g"})
	if len(Check(d, nil, now)) != 1 {
		t.Error("another number is not asked about")
	}
	d.Give(ask(&d), "unit-mg/mmol")
	if l := d.Line("acr"); l.Unit != "mg/mmol" || l.Typed != "31" {
		t.Errorf("the other unit: %+v", l)
	}
	d = draft(Line{Code: "potassium", Typed: "47", Unit: "mmol/L", Mark: "H"})
	d.Give(ask(&d), "note")
	if d.Note != "potassium 47 mmol/L H" || len(d.Lines) != 0 {
		t.Errorf("as a note: %q %v", d.Note, d.Lines)
	}
	if keep, _ := d.Entries("Ana", ids()); len(keep) != 1 || keep[0].Kind != model.Note {
		t.Errorf("kept %v", keep)
	}
	d = draft(Line{Code: "creatinine", Typed: "10.3", Unit: "mg/dL"})
	last := []model.Entry{earlier(90, "Bridge", "creatinine", "1.00", "mg/dL")}
	d.Give(Check(d, last, now)[0], "point")
	if l := d.Line("creatinine"); l.Typed != "1.03" || len(Check(d, last, now)) != 0 {
		t.Errorf("the point moved: %+v", l)
	}
}

func ids() func() model.ID {
	n := 0
	return func() model.ID { n++; return model.ID(fmt.Sprintf("new%d", n)) }
}

// TestEntries: one entry with all results, digits and marks as on the sheet.
func TestEntries(t *testing.T) {
	d := draft(Line{Code: "potassium", Typed: "4.40", Unit: "mmol/L", Mark: "H"}, Line{Code: "creatinine", Typed: "1.10", Unit: "mg/dL"}, Line{Code: "acr", Typed: "<3", Unit: "mg/mmol"})
	d.Laboratory, d.Fasting, d.Ill, d.Note = " Bridge ", "yes", "no", "nurse rang"
	keep, remove := d.Entries("Emil", ids())
	if len(keep) != 2 || len(remove) != 0 {
		t.Fatalf("%v %v", keep, remove)
	}
	var got []string
	for _, v := range keep[0].Values {
		got = append(got, string(v.Code)+" "+v.Text()+" "+v.Unit+" "+v.Note)
	}
	want := []string{"creatinine 1.10 mg/dL ", "acr <3 mg/mmol ", "potassium 4.40 mmol/L H", "laboratory Bridge  ", "fasting yes  ", "ill-then no  "}
	if !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	if keep[0].Author != "Emil" || keep[0].When != day || keep[1].Values[0].Word != "nurse rang" {
		t.Errorf("%+v", keep)
	}
	for _, e := range keep {
		if ps := e.Validate(now); ps != nil {
			t.Errorf("%v", ps)
		}
	}
}

// TestChanging takes the place of what was there, whatever it came from.
func TestChanging(t *testing.T) {
	one, two := earlier(90, "", "creatinine", "1.00", "mg/dL"), earlier(90, "", "creatinine", "1.04", "mg/dL")
	two.ID, one.Values[0].Note = "e90b", "H"
	all := []model.Entry{one, two, earlier(90, "Bridge", "acr", "3", "mg/mmol"), earlier(400, "", "creatinine", "1", "mg/dL")}
	sheets := Sheets(all)
	if len(sheets) != 2 || len(sheets[0].Entries) != 3 || sheets[0].Laboratory != "Bridge" || len(sheets[0].Values()) != 3 {
		t.Fatalf("%+v", sheets)
	}
	d := Open("ana", sheets[0])
	if len(d.Lines) != 3 || d.Lines[0].Typed == "" || !d.Changing() {
		t.Fatalf("%+v", d)
	}
	if qs := Check(d, all, now); len(qs) != 0 {
		t.Errorf("an unchanged sheet is doubted: %s", kinds(qs))
	}
	keep, remove := d.Entries("", ids())
	if len(keep) != 2 || len(remove) != 1 || slices.Contains(remove, keep[0].ID) || slices.Contains(remove, keep[1].ID) {
		t.Errorf("keeps %v, removes %v", keep, remove)
	}
	marks := ""
	for _, e := range keep {
		for _, v := range e.Values {
			marks += v.Note
		}
	}
	if marks != "H" || len(d.Replaces()) != 3 {
		t.Errorf("marks %q, replaces %v", marks, d.Replaces())
	}
}

// FuzzMovePoint: there and back gives the same number.
func FuzzMovePoint(f *testing.F) {
	for _, s := range []string{"1.10", "97", "0.5", "0", "100", "10.03", "5000"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, ok := model.ParseNumber(s)
		if !ok || n < 0 || strings.HasPrefix(s, "-") || len(s) > 15 {
			return
		}
		for _, places := range []int{-1, 1} {
			moved := movePoint(s, places)
			x, ok := model.ParseNumber(moved)
			back, ok2 := model.ParseNumber(movePoint(moved, -places))
			if want := n * math.Pow10(places); !ok || !ok2 || math.Abs(x-want) > 1e-9*max(1, want) || math.Abs(back-n) > 1e-9*max(1, n) {
				t.Errorf("%q by %d: %q and back %q", s, places, moved, movePoint(moved, -places))
			}
		}
	})
}

// TestNeverUnasked: whatever is typed, Check neither changes the draft nor
// panics, and every doubt can be left by looking again.
func TestNeverUnasked(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	items := model.ItemsOf(model.Lab)
	for range 3000 {
		it := items[rng.IntN(len(items))]
		unit := ""
		if len(it.Units) > 0 && rng.IntN(5) > 0 {
			unit = it.Units[rng.IntN(len(it.Units))].UCUM
		}
		typed := []string{"", "<", "x", "-4"}[rng.IntN(4)]
		if rng.IntN(4) > 0 {
			typed = model.FormatNumber(math.Round(math.Pow(10, rng.Float64()*7-2)*100) / 100)
		}
		d := draft(Line{Code: it.Code, Typed: typed, Unit: unit})
		was := fmt.Sprint(d.Lines)
		for _, q := range Check(d, []model.Entry{earlier(40, "Bridge", "creatinine", "1", "mg/dL", "acr", "4", "mg/g")}, now) {
			if q.Ask.IsZero() || !slices.ContainsFunc(q.Answers, func(a Answer) bool { return a.Look }) {
				t.Fatalf("%+v", q)
			}
		}
		if fmt.Sprint(d.Lines) != was {
			t.Fatalf("%s became %v", was, d.Lines)
		}
	}
}
