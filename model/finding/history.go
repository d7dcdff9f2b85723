package finding

import (
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// How far back findings look (clinical decisions, "First time").
const (
	StripDays   = 90
	SymptomSpan = 72 * time.Hour
	// UnansweredSpan: a today or emergency older than this and unanswered is
	// asked about instead.
	UnansweredSpan = 72 * time.Hour
)

// Test is a strip test with its verdict.
type Test struct {
	Entry   model.Entry
	Verdict strip.Verdict
	Kind    *strip.Kind // nil where the pack's kind is not known
}

// When is the time of the test.
func (t Test) When() model.When { return t.Entry.When }

// Evidence takes values of the test, in the order asked; codes it does not
// have are left out.
func (t Test) Evidence(codes ...model.Code) []Evidence { return evidence(t.Entry, codes...) }

func evidence(e model.Entry, codes ...model.Code) []Evidence {
	var out []Evidence
	for _, c := range codes {
		if v, ok := e.Value(c); ok {
			out = append(out, Evidence{e.ID, e.When, e.Kind, v})
		}
	}
	return out
}

// History is all that rules may see of one person at one moment. Nothing in
// it is dated after Now.
type History struct {
	Person  model.Person
	Facts   model.Facts
	Now     time.Time
	Zone    *time.Location
	Entries []model.Entry // in time order
	Tests   []Test        // in time order
	answers map[string][]AnswerRecord
}

// Input is what the engine needs of a book.
type Input struct {
	Book  model.Book
	Kinds []strip.Kind
	Now   time.Time // its location is the household's zone
}

// NewHistory gathers one person's history and judges every strip test.
func NewHistory(in Input, p model.Person) *History {
	h := &History{Person: p, Now: in.Now, Zone: in.Now.Location(), answers: map[string][]AnswerRecord{}}
	for _, e := range in.Book.Entries {
		if e.Person == p.ID && !e.When.After(in.Now) {
			h.Entries = append(h.Entries, e)
		}
	}
	model.SortEntries(h.Entries)
	h.Facts = model.FactsAt(h.Entries, p.ID, in.Now)
	var strips []model.Entry
	for _, e := range h.Entries {
		switch e.Kind {
		case model.Strip:
			strips = append(strips, e)
		case model.Answer:
			for _, v := range e.Values {
				h.answers[string(v.Code)] = append(h.answers[string(v.Code)], AnswerRecord{e.When, v.Word, v.Note})
			}
		}
	}
	for _, e := range strips {
		c := h.around(e, strips, in)
		h.Tests = append(h.Tests, Test{e, strip.Judge(e, c), c.Kind})
	}
	return h
}

// around finds what the rest of the book says of the time of a test.
func (h *History) around(e model.Entry, strips []model.Entry, in Input) strip.Circumstances {
	c := strip.Circumstances{Zone: h.Zone}
	if i := slices.IndexFunc(in.Book.Packs, func(p model.Pack) bool { return p.ID == e.Pack && e.Pack != "" }); i >= 0 {
		c.Pack = &in.Book.Packs[i]
		if k, ok := strip.FindKind(in.Kinds, c.Pack.StripKind); ok {
			c.Kind = &k
		}
	}
	c.OnVitaminC, _ = model.Switched(h.Entries, h.Person.ID, model.Medicine, "vitamin-c", e.When.Time())
	for _, other := range strips {
		d := model.DaysBetween(other.When, e.When, h.Zone)
		c.Menstruating = c.Menstruating || d >= -3 && d <= 5 && other.Says("menstruating", "yes")
		c.Exercised = c.Exercised || d >= 0 && d <= 3 && other.Says("after-exercise", "yes")
	}
	return c
}

// Recent reports whether w lies at most d before now.
func (h *History) Recent(w model.When, d time.Duration) bool {
	return model.Within(w, model.At(h.Now), d, h.Zone)
}

// RecentTests are the strip tests findings look at.
func (h *History) RecentTests() []Test {
	i := slices.IndexFunc(h.Tests, func(t Test) bool { return h.Recent(t.When(), StripDays*24*time.Hour) })
	if i < 0 {
		return nil
	}
	return h.Tests[i:]
}

// On reports whether a condition or medicine is switched on now.
func (h *History) On(k model.Kind, c model.Code) bool {
	on, _ := model.Switched(h.Entries, h.Person.ID, k, c, h.Now)
	return on
}

// Symptom finds the worst recent record of a symptom of at least severity; of
// equals the newest. Entries older than d do not count.
func (h *History) Symptom(c model.Code, severity float64, d time.Duration) (Evidence, bool) {
	var best Evidence
	found := false
	for _, e := range h.Entries {
		v, ok := e.Value(c)
		if e.Kind != model.Symptom || !ok || v.Number < severity || !h.Recent(e.When, d) {
			continue
		}
		if !found || v.Number >= best.Value.Number {
			best, found = Evidence{e.ID, e.When, e.Kind, v}, true
		}
	}
	return best, found
}

// Of lists the person's values of one kind and code in time order.
func (h *History) Of(k model.Kind, c model.Code) []Evidence {
	var out []Evidence
	for _, e := range h.Entries {
		if e.Kind == k {
			out = append(out, evidence(e, c)...)
		}
	}
	return out
}

// DoctorKnows reports whether any of the rules was answered so up to w.
func (h *History) DoctorKnows(w model.When, rules ...string) bool {
	for _, r := range rules {
		if slices.ContainsFunc(h.answers[r], func(a AnswerRecord) bool {
			return a.Word == "doctor-knows" && a.When.Compare(w) <= 0
		}) {
			return true
		}
	}
	return false
}
