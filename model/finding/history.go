package finding

import (
	"slices"
	"sort"
	"sync"
	"time"

	"quietwater/model"
	"quietwater/model/numbers"
	"quietwater/model/strip"
)

// How far back findings look (clinical decisions, "First time").
const (
	StripDays   = 90
	SymptomSpan = 72 * time.Hour
	// UnansweredSpan: a today or emergency older than this and unanswered is
	// asked about instead.
	UnansweredSpan = 72 * time.Hour
	// UnansweredLabSpan is the same for what rests on a laboratory sheet.
	UnansweredLabSpan = 7 * day
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
	Numbers numbers.Numbers
	answers map[string][]AnswerRecord

	// What follows is derived from the above once, since rules ask for it again
	// and again: years of daily records must not be searched each time.
	at     map[place][]spot // where the values of a code stand, in time order
	recent []Test           // the end of Tests that findings look at

	mu sync.Mutex
	of map[place][]Evidence // of the codes whose whole course was asked for
}

// spot is where a value stands: the place of its entry and its place in it. It
// holds no pointer, so that the index of many years costs next to nothing.
type spot struct{ entry, value int32 }

// place is where a value stands in the plain table.
type place struct {
	kind model.Kind
	code model.Code
}

// Input is what the engine needs of a book.
type Input struct {
	Book  model.Book
	Kinds []strip.Kind
	Now   time.Time // its location is the household's zone
}

// NewHistory gathers one person's history and judges every strip test.
func NewHistory(in Input, p model.Person) *History {
	h := &History{Person: p, Now: in.Now, Zone: in.Now.Location(), answers: map[string][]AnswerRecord{}, of: map[place][]Evidence{}}
	h.Entries = entriesOf(in.Book.Entries, p.ID, in.Now)
	h.index()
	h.Facts = model.FactsAt(h.Entries, p.ID, in.Now)
	h.Numbers = numbers.Of(h.Entries, h.Facts, in.Now)
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
	known := packsOf(in)
	h.Tests = make([]Test, 0, len(strips))
	for i, e := range strips {
		c := h.around(i, strips)
		c.Pack, c.Kind = known[e.Pack].Pack, known[e.Pack].Kind
		h.Tests = append(h.Tests, Test{e, strip.Judge(e, c), c.Kind})
	}
	if i := slices.IndexFunc(h.Tests, func(t Test) bool { return h.Recent(t.When(), StripDays*day) }); i >= 0 {
		h.recent = h.Tests[i:]
	}
	return h
}

// entriesOf are one person's entries up to now, in time order. A book of one
// person, in order as it is read and saved, is not copied.
func entriesOf(all []model.Entry, p model.ID, now time.Time) []model.Entry {
	n := 0
	mine := func(e *model.Entry) bool { return e.Person == p && !e.When.After(now) }
	for i := range all {
		if mine(&all[i]) {
			n++
		}
	}
	if n == len(all) && model.EntriesSorted(all) {
		return slices.Clip(all)
	}
	out := make([]model.Entry, 0, n)
	for i := range all {
		if mine(&all[i]) {
			out = append(out, all[i])
		}
	}
	model.SortEntries(out)
	return out
}

// index notes where the values of all entries are to be found; of a code that
// stands twice in one entry, the first.
func (h *History) index() {
	// By kind and then by code, each list behind a pointer: one short look-up for
	// each of many thousand values.
	lists := map[model.Kind]map[model.Code]*[]spot{}
	var of map[model.Code]*[]spot
	var kind model.Kind
	for i := range h.Entries {
		e := &h.Entries[i]
		if of == nil || e.Kind != kind {
			kind = e.Kind
			if of = lists[kind]; of == nil {
				of = map[model.Code]*[]spot{}
				lists[kind] = of
			}
		}
		for j := range e.Values {
			list := of[e.Values[j].Code]
			if list == nil {
				list = &[]spot{}
				of[e.Values[j].Code] = list
			}
			if n := len(*list); n > 0 && (*list)[n-1].entry == int32(i) {
				continue
			}
			*list = append(*list, spot{int32(i), int32(j)})
		}
	}
	h.at = map[place][]spot{}
	for kind, of := range lists {
		for code, list := range of {
			h.at[place{kind, code}] = *list
		}
	}
}

func (h *History) evidenceAt(s spot) Evidence {
	e := &h.Entries[s.entry]
	return Evidence{e.ID, e.When, e.Kind, e.Values[s.value]}
}

func (h *History) evidenceOf(spots []spot) []Evidence {
	out := make([]Evidence, len(spots))
	for i, s := range spots {
		out[i] = h.evidenceAt(s)
	}
	return out
}

// packsOf gives each pack with its kind of strip, which is nil where not known.
func packsOf(in Input) map[model.ID]strip.Circumstances {
	out := map[model.ID]strip.Circumstances{}
	for i := range in.Book.Packs {
		p := &in.Book.Packs[i]
		if _, twice := out[p.ID]; twice || p.ID == "" {
			continue
		}
		c := strip.Circumstances{Pack: p}
		if k, ok := strip.FindKind(in.Kinds, p.StripKind); ok {
			c.Kind = &k
		}
		out[p.ID] = c
	}
	return out
}

// around finds what the rest of the book says of the time of a test.
func (h *History) around(i int, strips []model.Entry) strip.Circumstances {
	e := strips[i]
	c := strip.Circumstances{Zone: h.Zone, OnVitaminC: h.onThen(model.Medicine, "vitamin-c", e.When)}
	if len(h.at[place{model.Strip, "menstruating"}])+len(h.at[place{model.Strip, "after-exercise"}]) == 0 {
		return c
	}
	look := func(other model.Entry) (near bool) {
		marked, exercised := other.Says("menstruating", "yes"), other.Says("after-exercise", "yes")
		if marked || exercised {
			d := model.DaysBetween(other.When, e.When, h.Zone)
			c.Menstruating = c.Menstruating || marked && d >= -3 && d <= 5
			c.Exercised = c.Exercised || exercised && d >= 0 && d <= 3
		}
		return e.When.Time().Sub(other.When.Time()).Abs() < neighbours
	}
	for j := i; j >= 0 && look(strips[j]); j-- {
	}
	for j := i + 1; j < len(strips) && look(strips[j]); j++ {
	}
	return c
}

// neighbours is more than the days within which one test bears on another: a
// day alone may lie up to two days from where its zone has it.
const neighbours = 8 * day

// Recent reports whether w lies at most d before now.
func (h *History) Recent(w model.When, d time.Duration) bool {
	return model.Within(w, model.At(h.Now), d, h.Zone)
}

// RecentTests are the strip tests findings look at.
func (h *History) RecentTests() []Test { return slices.Clip(h.recent) }

// On reports whether a condition or medicine is switched on now.
func (h *History) On(k model.Kind, c model.Code) bool { return h.switched(k, c, h.Now) }

// switched is [model.Switched] for this person.
func (h *History) switched(k model.Kind, c model.Code, at time.Time) bool {
	on := false
	for _, s := range h.at[place{k, c}] {
		if e := &h.Entries[s.entry]; !e.When.After(at) {
			on = e.Values[s.value].Word == "start"
		}
	}
	return on
}

// Symptom finds the worst recent record of a symptom of at least severity; of
// equals the newest. Entries older than d do not count.
func (h *History) Symptom(c model.Code, severity float64, d time.Duration) (Evidence, bool) {
	var best Evidence
	found := false
	for _, e := range h.about(model.Symptom, c, model.At(h.Now), d) {
		if e.Value.Number < severity || !h.Recent(e.When, d) {
			continue
		}
		if !found || e.Value.Number >= best.Value.Number {
			best, found = e, true
		}
	}
	return best, found
}

// Of lists the person's values of one kind and code in time order.
func (h *History) Of(k model.Kind, c model.Code) []Evidence {
	at := place{k, c}
	h.mu.Lock()
	defer h.mu.Unlock()
	all, known := h.of[at]
	if !known {
		all = h.evidenceOf(h.at[at])
		h.of[at] = all
	}
	return slices.Clip(all)
}

// Last is the newest value of one kind and code.
func (h *History) Last(k model.Kind, c model.Code) (Evidence, bool) {
	all := h.at[place{k, c}]
	if len(all) == 0 {
		return Evidence{}, false
	}
	return h.evidenceAt(all[len(all)-1]), true
}

// about is the part of Of that may lie within d of at, and some days more:
// what is known by the day alone lies up to three from where a zone has it.
func (h *History) about(k model.Kind, c model.Code, at model.When, d time.Duration) []Evidence {
	all := h.at[place{k, c}]
	from, to := at.Time().Add(-d-3*day), at.Time().Add(d+3*day)
	when := func(i int) time.Time { return h.Entries[all[i].entry].When.Time() }
	i := sort.Search(len(all), func(i int) bool { return !when(i).Before(from) })
	j := sort.Search(len(all), func(j int) bool { return when(j).After(to) })
	return h.evidenceOf(all[i:max(i, j)])
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
