package model

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"
)

func at(t testing.TB, s string) When {
	t.Helper()
	if s == "" {
		return When{}
	}
	w, err := ParseWhen(s, zone(t, "Europe/Madrid"))
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func number(c Code, typed, unit string) Value {
	n, _ := ParseNumber(typed)
	return Value{Code: c, Number: n, Typed: typed, Unit: unit}
}

func word(c Code, w string) Value { return Value{Code: c, Word: w} }

func keys(ps []Problem) string {
	var out []string
	for _, p := range ps {
		out = append(out, p.Field+" "+strings.TrimPrefix(p.Why.Key, "problem."))
	}
	return strings.Join(out, "; ")
}

func TestValidate(t *testing.T) {
	now := time.Date(2026, 5, 1, 12, 0, 0, 0, zone(t, "Europe/Madrid"))
	const day = "2026-05-01"
	for _, c := range []struct {
		name   string
		kind   Kind
		when   string
		values []Value
		want   string
	}{
		{"a weight", Vital, day, []Value{number("weight", "61.50", "kg")}, ""},
		{"a weight computed, not typed", Vital, day, []Value{{Code: "weight", Number: 61.5, Unit: "kg"}}, ""},
		{"the default unit left out", Vital, day, []Value{number("weight", "61.5", "")}, ""},
		{"a pressure", Vital, day, []Value{number("systolic", "142", "mm[Hg]"), number("diastolic", "88", "mm[Hg]")}, ""},
		{"a strip", Strip, day, []Value{{Code: Protein, Grade: Plus1}, {Code: Nitrite, Grade: Unclear}, word("menstruating", "no")}, ""},
		{"a profile without date", Profile, "", []Value{word("sex", "female")}, ""},
		{"five minutes fast", Vital, "2026-05-01 12:05", []Value{number("weight", "61", "kg")}, ""},
		{"an answer", Answer, day, []Value{word("protein-once", "called")}, ""},

		{"nothing", Vital, day, nil, "value nothing-entered"},
		{"no date", Vital, "", []Value{number("weight", "61", "kg")}, "when when-missing"},
		{"tomorrow", Vital, "2026-05-02", []Value{number("weight", "61", "kg")}, "when in-the-future"},
		{"six minutes ahead", Vital, "2026-05-01 12:06", []Value{number("weight", "61", "kg")}, "when in-the-future"},
		{"twice", Strip, day, []Value{{Code: Protein, Grade: Plus1}, {Code: Protein, Grade: Neg}}, "what twice"},
		{"unknown", Vital, day, []Value{number("mass", "61", "kg")}, "what what-unknown"},
		{"of another kind", Lab, day, []Value{number("weight", "61", "kg")}, "what what-unknown"},
		{"pressures swapped", Vital, day, []Value{number("systolic", "88", "mm[Hg]"), number("diastolic", "142", "mm[Hg]")}, "value pressure-order"},
		{"pressures equal", Vital, day, []Value{number("systolic", "88", "mm[Hg]"), number("diastolic", "88", "mm[Hg]")}, "value pressure-order"},
		{"out of range", Vital, day, []Value{number("weight", "900", "kg")}, "value out-of-range"},
		{"unit slip", Lab, day, []Value{number("creatinine", "97", "mg/dL")}, "value did-you-mean"},
		{"no unit", Lab, day, []Value{number("creatinine", "97", "")}, "unit unit-missing"},
		{"unknown unit", Lab, day, []Value{number("creatinine", "97", "µmol/L")}, "unit unit-unknown"},
		{"not whole", Symptom, day, []Value{number("nausea", "1.5", "")}, "value not-whole"},
		{"a grade where a number belongs", Strip, day, []Value{{Code: PH, Grade: Plus1}}, "value not-a-number"},
		{"a number where a grade belongs", Strip, day, []Value{number(Nitrite, "1", "")}, "value value-missing"},
		{"a word left empty", Note, day, []Value{word("text", "")}, "value value-missing"},
		{"a flag left empty", Strip, day, []Value{word("menstruating", "")}, "value value-missing"},
		{"a wrong word", Condition, day, []Value{word("diabetes", "yes")}, "value not-one-of"},
		{"born tomorrow", Profile, "", []Value{word("birth-date", "2026-05-02")}, "value in-the-future"},
		{"born today", Profile, "", []Value{word("birth-date", day)}, ""},
		{"a note with a zero byte", Vital, day, []Value{{Code: "weight", Number: 61, Note: "a\x00"}}, "note not-text"},
		{"a text that is none", Note, day, []Value{word("text", "\xff")}, "value not-text"},
		{"a text at its limit", Note, day, []Value{word("text", strings.Repeat("x", MaxText))}, ""},
		{"a text beyond it", Note, day, []Value{word("text", strings.Repeat("x", MaxText+1))}, "value too-long"},
		{"a label at its limit", Strip, day, []Value{word("pack", strings.Repeat("x", MaxLabel))}, ""},
		{"a label beyond it", Strip, day, []Value{word("pack", strings.Repeat("x", MaxLabel+1))}, "value too-long"},
		{"two things", Vital, "", []Value{number("weight", "900", "kg")}, "when when-missing; value out-of-range"},
	} {
		e := Entry{Kind: c.kind, When: at(t, c.when), Values: c.values}
		if got := keys(e.Validate(now)); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// Creatinine's limits and the doubtful zone (needs R29, decision 5).
func TestCreatinineLimits(t *testing.T) {
	it, _ := Find(Lab, "creatinine")
	for _, c := range []struct{ value, unit, want string }{
		{"0.2", "mg/dL", ""}, {"17.9", "mg/dL", ""}, {"26", "umol/L", ""}, {"1600", "umol/L", ""},
		{"0.19", "mg/dL", "value out-of-range"}, {"17.91", "mg/dL", "value out-of-range"},
		{"25.9", "umol/L", "value out-of-range"}, {"1601", "umol/L", "value out-of-range"},
		{"18", "mg/dL", "value out-of-range"}, {"18", "umol/L", "value out-of-range"}, {"25", "mg/dL", "value out-of-range"}, {"25", "umol/L", "value out-of-range"},
		{"97", "mg/dL", "value did-you-mean"}, {"26", "mg/dL", "value did-you-mean"}, {"1.1", "umol/L", "value did-you-mean"}, {"17.9", "umol/L", "value did-you-mean"},
	} {
		_, ps := ParseValue(it, c.value, c.unit, "")
		if got := keys(ps); got != c.want {
			t.Errorf("%s %s: got %q, want %q", c.value, c.unit, got, c.want)
		}
	}
	_, ps := ParseValue(it, "97", "mg/dL", "")
	if want := (Quantity{"97", "umol/L"}); ps[0].Why.Args["other"] != want {
		t.Errorf("97 mg/dL: asks for %v", ps[0].Why.Args["other"])
	}
}

func TestParseValueKeepsWhatWasTyped(t *testing.T) {
	it, _ := Find(Vital, "weight")
	v, ps := ParseValue(it, "061.50", "", "after breakfast")
	want := Value{Code: "weight", Number: 61.5, Typed: "061.50", Unit: "kg", Note: "after breakfast"}
	if ps != nil || v != want || v.Text() != "061.50" {
		t.Errorf("%+v %v", v, ps)
	}
}

func TestMessagesClipForeignText(t *testing.T) {
	it, _ := Find(Vital, "weight")
	_, ps := ParseValue(it, strings.Repeat("ñ", 5000)+"\xff", "", "")
	if got := ps[0].Why.Args["value"].(string); len([]rune(got)) != 40 {
		t.Errorf("%q", got)
	}
}

var plainNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"1", "-1.50", "007", "1e3", "1,5", ".5", "5.", "-", "--1", "-.5", "1.2.3", "0x1", "Inf", strings.Repeat("9", 41)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, ok := ParseNumber(s)
		if want := plainNumber.MatchString(s) && len(s) <= 40; ok != want {
			t.Fatalf("%q: %v", s, ok)
		}
		if !ok {
			return
		}
		if math.IsNaN(n) || math.IsInf(n, 0) {
			t.Fatalf("%q is %g", s, n)
		}
		if text := FormatNumber(n); len(text) <= 40 {
			if back, ok := ParseNumber(text); !ok || back != n {
				t.Fatalf("%q is %g, written %q, read %g", s, n, text, back)
			}
		}
	})
}

func TestSwitched(t *testing.T) {
	span := func(when string, person ID, k Kind, c Code, w string) Entry {
		return Entry{Person: person, Kind: k, When: at(t, when), Values: []Value{word(c, w)}}
	}
	entries := []Entry{
		span("2026-03-01", "a", Medicine, "metformin", "start"),
		span("2026-03-10", "a", Medicine, "metformin", "end"),
		span("2026-04-01T09:00:00+02:00", "a", Medicine, "metformin", "start"),
		span("2026-04-20", "a", Medicine, "metformin", "start"),
		span("2026-04-20", "a", Medicine, "metformin", "end"),
		span("2026-01-01", "b", Medicine, "metformin", "start"),
		span("2026-01-01", "a", Condition, "diabetes", "end"),
	}
	r := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct {
		now   string
		on    bool
		since string
	}{
		{"2026-02-28T23:59:00+01:00", false, ""},
		{"2026-03-01T00:00:00+01:00", true, "2026-03-01"},
		{"2026-03-09T23:59:00+01:00", true, "2026-03-01"},
		{"2026-03-10T00:00:00+01:00", false, "2026-03-10"},
		{"2026-04-01T08:59:00+02:00", false, "2026-03-10"},
		{"2026-04-01T09:00:00+02:00", true, "2026-04-01T09:00:00+02:00"},
		{"2026-05-01T09:00:00+02:00", true, "2026-04-20"}, // of a start and an end on one day, the start holds
	} {
		r.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		SortEntries(entries)
		now := at(t, c.now).Time().In(zone(t, "Europe/Madrid"))
		on, since := Switched(entries, "a", Medicine, "metformin", now)
		if on != c.on || since.String() != c.since {
			t.Errorf("at %s: %v since %s, want %v since %s", c.now, on, since, c.on, c.since)
		}
	}
	now := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	if on, _ := Switched(entries, "a", Condition, "diabetes", now); on {
		t.Error("an end alone switches on")
	}
	if on, _ := Switched(entries, "a", Medicine, "insulin", now); on {
		t.Error("what was never recorded is on")
	}
}

func TestFactsAt(t *testing.T) {
	fact := func(when string, vs ...Value) Entry {
		return Entry{Person: "a", Kind: Profile, When: at(t, when), Values: vs}
	}
	entries := []Entry{
		fact("", word("birth-date", "1948-03-09"), word("sex", "female"), number("height", "1.6", "m")),
		fact("2026-02-01", number("height", "62", "[in_i]"), word("risk-region", "other")),
		fact("2026-03-01", number("height", "158", "cm"), number("fluid-limit", "1500", "mL/d")),
		fact("2026-06-01", number("height", "150", "cm"), word("language", "es"), word("second-language", "en")),
		{Person: "b", Kind: Profile, Values: []Value{word("sex", "male")}},
		{Person: "a", Kind: Vital, When: at(t, "2026-01-01"), Values: []Value{number("weight", "61", "kg")}},
	}
	SortEntries(entries)
	for now, want := range map[string]Facts{
		"2026-01-01": {Sex: "female", HeightCM: 160},
		"2026-02-15": {Sex: "female", HeightCM: 157.48, Region: "other"},
		"2026-05-01": {Sex: "female", HeightCM: 158, Region: "other", FluidLimit: 1500},
		"2026-06-01": {Sex: "female", HeightCM: 150, Region: "other", FluidLimit: 1500, Language: "es", Second: "en"},
	} {
		want.Birth, _ = ParseDay("1948-03-09", false)
		if got := FactsAt(entries, "a", at(t, now).Time()); !reflect.DeepEqual(got, want) {
			t.Errorf("at %s: %+v, want %+v", now, got, want)
		}
	}
	if got := FactsAt(entries, "c", at(t, "2026-05-01").Time()); !reflect.DeepEqual(got, Facts{}) {
		t.Errorf("of nobody: %+v", got)
	}
}

func TestAgeYears(t *testing.T) {
	for _, c := range []struct {
		born, at string
		years    int
		ok       bool
	}{
		{"1948-03-09", "2026-03-08", 77, true},
		{"1948-03-09", "2026-03-09", 78, true},
		{"1948-03-09", "2026-12-31", 78, true},
		{"2008-02-29", "2026-02-28", 17, true},
		{"2008-02-29", "2026-03-01", 18, true},
		{"2026-05-01", "2026-05-01", 0, true},
		{"2026-05-02", "2026-05-01", 0, false},
		{"", "2026-05-01", 0, false},
	} {
		var f Facts
		f.Birth, _ = ParseDay(c.born, false)
		years, ok := f.AgeYears(at(t, c.at).Time())
		if years != c.years || ok != c.ok {
			t.Errorf("born %s, at %s: %d %v, want %d %v", c.born, c.at, years, ok, c.years, c.ok)
		}
	}
}

// Law: the order of entries comes from what they hold, not from how they were
// read.
func TestSortEntries(t *testing.T) {
	var es []Entry
	for i, s := range []string{"", "2026-05-01", "2026-05-01T00:00:00+02:00", "2026-05-01", "2026-05-01T00:30:00Z", "2026-04-30"} {
		for _, v := range []Value{{Code: "nausea", Number: 1}, {Code: "nausea", Number: 2}, {Code: "cramps", Number: 1}} {
			es = append(es, Entry{ID: ID(fmt.Sprint(i, v.Code)), Kind: Symptom, When: at(t, s), Values: []Value{v}})
		}
	}
	SortEntries(es)
	want := slices.Clone(es)
	r := rand.New(rand.NewPCG(7, 8))
	for range 50 {
		r.Shuffle(len(es), func(i, j int) { es[i], es[j] = es[j], es[i] })
		if SortEntries(es); !reflect.DeepEqual(es, want) {
			t.Fatal("the order depends on the order")
		}
	}
	for i := 1; i < len(es); i++ {
		if es[i].When.Before(es[i-1].When) {
			t.Fatalf("%s after %s", es[i].When, es[i-1].When)
		}
	}
}

// Law: putting a few loose entries into their places gives what sorting gives.
func TestSortEntriesAfterAFew(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for n := range 40 {
		for loose := range fewLoose + 3 {
			es := make([]Entry, n+loose)
			for i := range es {
				es[i] = Entry{ID: ID(fmt.Sprint(r.IntN(30))), Kind: Note, When: At(time.Unix(int64(r.IntN(20)), 0))}
			}
			compare := func(a, b Entry) int { return compareEntries(&a, &b) }
			slices.SortFunc(es[:n], compare)
			want := slices.Clone(es)
			slices.SortFunc(want, compare)
			if SortEntries(es); !reflect.DeepEqual(es, want) {
				t.Fatalf("%d in order and %d more: %v, want %v", n, loose, es, want)
			}
		}
	}
}

func TestValueSpeaksOnce(t *testing.T) {
	for _, c := range []struct {
		v      Value
		text   string
		number bool
	}{
		{Value{Grade: Plus2}, "2+", false},
		{Value{Word: "yes"}, "yes", false},
		{Value{Number: 1.1, Typed: "1.10"}, "1.10", true},
		{Value{Number: 0.1}, "0.1", true},
		{Value{}, "0", true},
	} {
		if c.v.Text() != c.text || c.v.IsNumber() != c.number {
			t.Errorf("%+v: %q %v", c.v, c.v.Text(), c.v.IsNumber())
		}
	}
	e := Entry{Values: []Value{word("menstruating", "yes")}}
	if !e.Says("menstruating", "yes") || e.Says("menstruating", "no") || e.Says("feverish", "yes") {
		t.Error("Says is wrong")
	}
}

func TestNewID(t *testing.T) {
	id, err := NewID(bytes.NewReader([]byte("0123456789abcdef")))
	if err != nil || id != "30313233343536373839616263646566" {
		t.Error(id, err)
	}
	if id, err := NewID(iotest.ErrReader(io.ErrClosedPipe)); id != "" || !errors.Is(err, io.ErrClosedPipe) {
		t.Error(id, err)
	}
	if id, err := NewID(strings.NewReader("short")); id != "" || err == nil {
		t.Error(id, err)
	}
}

func TestMsg(t *testing.T) {
	if m := T("x", "a", 1, "b", "two"); m.Key != "x" || !reflect.DeepEqual(m.Args, map[string]any{"a": 1, "b": "two"}) || m.IsZero() {
		t.Errorf("%+v", m)
	}
	if m := T("x"); m.Args != nil || (Msg{}).IsZero() == false {
		t.Errorf("%+v", m)
	}
}

// TestBound: laboratories print "<3" for what lies below what they measure,
// which FHIR R4 keeps as a comparator beside the number.
func TestBound(t *testing.T) {
	acr, _ := Find(Lab, "acr")
	weight, _ := Find(Vital, "weight")
	for _, c := range []struct {
		item  Item
		typed string
		unit  string
		want  byte
		fine  bool
	}{
		{acr, "<3", "mg/mmol", '<', true},
		{acr, ">300", "mg/g", '>', true},
		{acr, "<0.7", "mg/mmol", '<', true},
		{acr, "3", "mg/mmol", 0, true},
		{acr, "<", "mg/mmol", '<', false},
		{acr, "<<3", "mg/mmol", '<', false},
		{acr, "<>3", "mg/mmol", '<', false},
		{acr, "< 3", "mg/mmol", '<', false},
		{acr, "=3", "mg/mmol", 0, false},
		{acr, "3<", "mg/mmol", 0, false},
		{weight, "<70", "kg", '<', false},
	} {
		v, ps := ParseValue(c.item, c.typed, c.unit, "")
		if got := len(ps) == 0; got != c.fine {
			t.Errorf("%q: %v", c.typed, ps)
		}
		if !c.fine {
			continue
		}
		e := Entry{Person: "p", Kind: c.item.Kind, When: OnDay(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)), Values: []Value{v}}
		if ps := e.Validate(time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC)); v.Bound() != c.want || v.Text() != c.typed || ps != nil {
			t.Errorf("%q: bound %q, text %q, %v", c.typed, v.Bound(), v.Text(), ps)
		}
	}
}
