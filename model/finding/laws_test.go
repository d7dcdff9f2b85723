package finding_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
)

// Laws that hold for any book. Books are drawn from the catalogue, so a new
// item or rule is tried without touching this file. The seed is fixed; a
// failure names its book.

var (
	lawZone = time.FixedZone("", 3600)
	lawNow  = time.Date(2027, 3, 15, 12, 0, 0, 0, lawZone)
)

const lawBooks = 600

// alone are the symptoms that are an emergency whatever else is recorded.
var alone = func() []model.Code {
	r, _ := finding.FindRule("red-flag-symptom")
	return r.Reads
}()

type drawer struct{ *rand.Rand }

func draw(seed uint64) drawer { return drawer{rand.New(rand.NewPCG(seed, 7))} }

func pick[T any](d drawer, xs []T) T { return xs[d.IntN(len(xs))] }

// when draws a time of the past: mostly days ago, sometimes months.
func (d drawer) when() string {
	back := time.Duration(d.IntN(6*24)) * time.Hour
	if d.IntN(3) == 0 {
		back = time.Duration(d.IntN(120*24)) * time.Hour
	}
	t := lawNow.Add(-back)
	if d.IntN(5) == 0 {
		return t.Format("2006-01-02")
	}
	return t.Format(time.RFC3339)
}

func (d drawer) value(it model.Item) (value, unit string) {
	switch it.Takes {
	case model.GradeWord:
		return pick(d, model.Grades()).String(), ""
	case model.Flag:
		return pick(d, []string{"yes", "no", "unsure"}), ""
	case model.Span:
		return pick(d, []string{"start", "start", "end"}), ""
	case model.Words:
		return pick(d, it.Words), ""
	case model.Day, model.DayOrMonth:
		return lawNow.AddDate(0, 0, -d.IntN(60)+20).Format("2006-01-02"), ""
	case model.Language:
		return "en", ""
	case model.Text:
		return pick(d, []string{"Blue box", "ten-pads", "other"}), ""
	}
	if it.Takes == model.GradeOrNumber && d.IntN(4) > 0 {
		return pick(d, model.Grades()).String(), ""
	}
	if len(it.Units) == 0 {
		return "1", ""
	}
	u := pick(d, it.Units)
	n := u.Min + d.Float64()*(u.Max-u.Min)
	if it.Whole {
		n = float64(int(n + 0.5))
	}
	return fmt.Sprintf("%.3f", n), u.UCUM
}

// book draws up to 40 events.
func (d drawer) book() model.Book {
	var rows []model.Row
	add := func(when string, it model.Item, note string) {
		v, u := d.value(it)
		if it.Whole {
			v = v[:len(v)-4]
		}
		rows = append(rows, model.Row{Number: len(rows) + 1, Person: "Rosa", When: when, Kind: string(it.Kind), What: string(it.Code), Value: v, Unit: u, Note: note})
	}
	add("", must(model.Profile, "sex"), "")
	kinds := []model.Kind{model.Strip, model.Strip, model.Strip, model.Symptom, model.Symptom, model.Symptom, model.Symptom,
		model.Vital, model.Lab, model.Condition, model.Medicine, model.Fluid, model.Profile, model.PackKind}
	// Every second book is small and without the symptoms that are emergencies
	// alone, or nothing else would ever be the loudest.
	events, calm := 2+d.IntN(38), d.IntN(2) == 0
	if calm {
		events = 2 + d.IntN(10)
	}
	for range events {
		k := pick(d, kinds)
		when := d.when()
		switch k {
		case model.Strip:
			for range 1 + d.IntN(6) {
				add(when, pick(d, model.ItemsOf(k)), "")
			}
		case model.PackKind:
			add("", pick(d, model.ItemsOf(k)), "Blue box")
		default:
			it := pick(d, model.ItemsOf(k))
			if !calm || k != model.Symptom || !slices.Contains(alone, it.Code) {
				add(when, it, "")
			}
		}
	}
	for range d.IntN(3) {
		rows = append(rows, model.Row{Person: "Rosa", When: d.when(), Kind: "answer", What: pick(d, finding.Rules()).ID, Value: pick(d, model.AnswerWords())})
	}
	n := 0
	reader := model.Reader{Zone: lawZone, NewID: func() model.ID { n++; return model.ID(fmt.Sprintf("%032d", n)) }}
	b, _ := reader.Read(rows)
	return b
}

func must(k model.Kind, c model.Code) model.Item {
	it, ok := model.Find(k, c)
	if !ok {
		panic(c)
	}
	return it
}

func judgeBook(b model.Book) finding.Result {
	return finding.Run(finding.Input{Book: b, Kinds: strip.Generic(), Now: lawNow}, b.Persons[0])
}

// told is all that a person would see of a result.
func told(r finding.Result) string {
	s := describe(r.Open) + " | " + describe(r.Answered)
	for _, f := range slices.Concat(r.Open, r.Answered) {
		s += "\n" + f.Rule + " " + f.Since.String()
		for _, e := range f.Evidence {
			s += " " + string(e.Entry) + " " + string(e.Value.Code) + "=" + e.Value.Text()
		}
	}
	return s
}

func forBooks(t *testing.T, law func(d drawer, b model.Book) string) {
	t.Helper()
	failures := 0
	for seed := range uint64(lawBooks) {
		d := draw(seed)
		b := d.book()
		if why := law(d, b); why != "" {
			t.Errorf("book %d: %s", seed, why)
			if failures++; failures == 5 {
				return
			}
		}
	}
}

// loudest is the most pressing thing open: urgency, then how few days.
func loudest(fs []finding.Finding) (finding.Urgency, int) {
	u, days := finding.Note, 0
	for _, f := range fs {
		if f.Urgency > u || f.Urgency == u && f.Days < days {
			u, days = f.Urgency, f.Days
		}
	}
	return u, days
}

// quieter says in words that a result calls less than another. Retests and
// notes are left out: a new test is what a retest asks for.
func quieter(before, after finding.Result) string {
	u, days := loudest(before.Open)
	v, d := loudest(after.Open)
	if u >= finding.Soon && (v < u || v == u && d > days) {
		return fmt.Sprintf("was %s in %d days, now %s in %d days\nbefore:%s\nafter:%s", u, days, v, d, describe(before.Open), describe(after.Open))
	}
	return ""
}

func with(b model.Book, e model.Entry) model.Book {
	e.ID, e.Person = "ffffffffffffffffffffffffffffffff", b.Persons[0].ID
	b.Entries = append(slices.Clone(b.Entries), e)
	return b
}

func TestLawAnyBookIsJudgedAsDeclared(t *testing.T) {
	seen := map[string]int{}
	forBooks(t, func(d drawer, b model.Book) string {
		res := judgeBook(b)
		for _, f := range slices.Concat(res.Open, res.Answered) {
			r, _ := finding.FindRule(f.Rule)
			checkDeclared(t, "random book", r, f)
			seen[f.Rule]++
			if f.Since.After(lawNow) {
				return f.Rule + " rests on the future"
			}
			if !slices.IsSortedFunc(f.Evidence, func(a, b finding.Evidence) int { return a.When.Compare(b.When) }) {
				return f.Rule + ": the newest evidence does not stand last"
			}
		}
		return ""
	})
	for _, r := range finding.Rules() {
		if seen[r.ID] == 0 {
			t.Logf("no random book raised %s", r.ID)
		}
	}
}

func TestLawOrderOfRecordsHasNoEffect(t *testing.T) {
	forBooks(t, func(d drawer, b model.Book) string {
		shuffled := b
		shuffled.Entries = slices.Clone(b.Entries)
		d.Shuffle(len(shuffled.Entries), func(i, j int) {
			shuffled.Entries[i], shuffled.Entries[j] = shuffled.Entries[j], shuffled.Entries[i]
		})
		if a, z := told(judgeBook(b)), told(judgeBook(shuffled)); a != z {
			return "order matters:\n" + a + "\n" + z
		}
		return ""
	})
}

func TestLawTheFutureHasNoEffect(t *testing.T) {
	forBooks(t, func(d drawer, b model.Book) string {
		later := b
		later.Entries = slices.Clone(b.Entries)
		for _, e := range draw(d.Uint64()).book().Entries {
			e.ID, e.Person = "e"+e.ID[1:], b.Persons[0].ID
			if e.When.IsZero() {
				continue
			}
			e.When = model.At(lawNow.Add(time.Duration(1+d.IntN(1000)) * time.Minute))
			if d.IntN(3) == 0 {
				e.When = model.OnDay(lawNow.AddDate(0, 0, 1+d.IntN(9)))
			}
			later.Entries = append(later.Entries, e)
		}
		if a, z := told(judgeBook(b)), told(judgeBook(later)); a != z {
			return "the future matters:\n" + a + "\n" + z
		}
		return ""
	})
}

// A symptom recorded now never makes anything less urgent. (One recorded for
// an earlier day may: what stood at 3 before is long-standing, and swelling
// that was there before is not new. The decisions say so.)
func TestLawANewSymptomNeverLowers(t *testing.T) {
	forBooks(t, func(d drawer, b model.Book) string {
		it := pick(d, model.ItemsOf(model.Symptom))
		n := float64(1 + d.IntN(3))
		more := with(b, model.Entry{Kind: model.Symptom, When: model.At(lawNow), Values: []model.Value{{Code: it.Code, Number: n}}})
		if why := quieter(judgeBook(b), judgeBook(more)); why != "" {
			return fmt.Sprintf("adding %s %v: %s", it.Code, n, why)
		}
		return ""
	})
}

// Along the grades of a pad, on the newest test that has it, nothing becomes
// less urgent. (On an earlier test it may: it raises what is usual where
// protein is known.)
func TestLawAWorseGradeNeverLowers(t *testing.T) {
	pads := []model.Code{model.Protein, model.Blood, model.Glucose, model.Ketones, model.Bilirubin, model.Leukocytes}
	grades := []model.Grade{model.Neg, model.Trace, model.Plus1, model.Plus2, model.Plus3, model.Plus4}
	forBooks(t, func(d drawer, b model.Book) string {
		if d.IntN(3) > 0 {
			return ""
		}
		tests := judgeBook(b).History.Tests
		if len(tests) == 0 {
			return ""
		}
		pad := pick(d, pads)
		id := tests[len(tests)-1].Entry.ID
		for _, test := range tests {
			if _, ok := test.Entry.Value(pad); ok {
				id = test.Entry.ID
			}
		}
		before := judgeBook(regraded(b, id, pad, grades[0]))
		for _, g := range grades[1:] {
			after := judgeBook(regraded(b, id, pad, g))
			if why := quieter(before, after); why != "" {
				return fmt.Sprintf("%s at %s: %s", pad, g, why)
			}
			before = after
		}
		return ""
	})
}

// regraded is the book with another grade of one pad of one test.
func regraded(b model.Book, id model.ID, pad model.Code, g model.Grade) model.Book {
	b.Entries = slices.Clone(b.Entries)
	i := slices.IndexFunc(b.Entries, func(e model.Entry) bool { return e.ID == id })
	values := slices.DeleteFunc(slices.Clone(b.Entries[i].Values), func(v model.Value) bool { return v.Code == pad })
	b.Entries[i].Values = append(values, model.Value{Code: pad, Grade: g})
	return b
}

func TestLawANegativeKetonePadNeverLowers(t *testing.T) {
	forBooks(t, func(d drawer, b model.Book) string {
		more := with(b, model.Entry{Kind: model.Strip, When: model.At(lawNow), Values: []model.Value{{Code: model.Ketones, Grade: model.Neg}}})
		before, after := judgeBook(b), judgeBook(more)
		if why := quieter(before, after); why != "" {
			return why
		}
		of := func(r finding.Result) (out []finding.Finding) {
			for _, f := range r.Open {
				if f.Rule == "ketones" && f.Urgency >= finding.Mention {
					out = append(out, f)
				}
			}
			return out
		}
		if a, z := describe(of(before)), describe(of(after)); a != z {
			return "ketones: " + a + " became " + z
		}
		return ""
	})
}

// A book that holds an unanswered emergency symptom, or one at 3, of the last
// three days is never told that no rule fired.
func TestLawSevereSymptomsAreNeverSilent(t *testing.T) {
	for _, it := range model.ItemsOf(model.Symptom) {
		b := draw(1).book()
		b.Entries = nil
		b = with(b, model.Entry{Kind: model.Symptom, When: model.At(lawNow.Add(-71 * time.Hour)), Values: []model.Value{{Code: it.Code, Number: 3}}})
		if res := judgeBook(b); len(res.Open) == 0 || res.QuietState() == finding.Silent {
			t.Errorf("%s at 3 says nothing", it.Code)
		}
	}
}
