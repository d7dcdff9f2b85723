package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// bloodOnce: two positives of three, a week apart, are what counts; so one
// positive asks for a second test, and a negative after it for a third.
var bloodOnce = &Rule{
	ID:        "blood-once",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{model.Blood, "menstruating", "after-exercise"},
	About:     []string{"blood"},
	Limits: []Limit{
		limit("grade from", grade(model.Plus1), "1+", "kelly2009", "definition: 1+ or more, trace is negative"),
		limit("again after", 7, "d", "kelly2009", "two of three tests"),
		ours("and within", 7+bloodSlackDays, "d"),
		limit("later after exercise by", 3, "d", "kelly2009", "transient causes"),
		ours("not counted from days before menstruation", 3, "d"),
		ours("to days after", 5, "d"),
	},
	Cites:    []model.Cite{{Source: "kelly2009", At: "box: assessment"}, {Source: "auasufu2025", At: "never by strip alone"}},
	Variants: []string{"third", "menstruating", "exercise"},
	Eval:     evalBloodOnce,
}

func evalBloodOnce(r *Rule, h *History) []Finding {
	countable, all := h.bloodTests()
	if len(all) == 0 {
		return nil
	}
	last := all[len(all)-1]
	args := []any{"grade", last.pad.Grade}
	ev := last.Evidence(model.Blood, "menstruating", "after-exercise")
	switch {
	case last.excluded() && last.has(strip.MenstruatingNow):
		return []Finding{h.New(r, Retest, "menstruating", ev, args...).DueIn(h.weekLater(h.lastMarked(last), 7))}
	case last.excluded():
		return []Finding{h.New(r, Retest, "exercise", ev, args...).DueIn(h.weekLater(last.When(), 10))}
	case last.positive():
		return []Finding{h.New(r, Retest, "", ev, args...).DueIn(h.weekLater(last.When(), 7))}
	}
	// A negative: the third of three is still to come after one positive.
	if n := len(countable); n >= 2 && countable[n-2].positive() && !twoOf(countable, n-2) {
		first := countable[n-2]
		ev := append(first.Evidence(model.Blood), last.Evidence(model.Blood)...)
		return []Finding{h.New(r, Retest, "third", ev, "grade", first.pad.Grade, "first", first.When()).DueIn(h.weekLater(last.When(), 7))}
	}
	return nil
}

// twoOf reports another positive among the two countable tests before i.
func twoOf(tests []bloodTest, i int) bool {
	for k := max(0, i-2); k < i; k++ {
		if tests[k].positive() {
			return true
		}
	}
	return false
}

// lastMarked is the last test marked as menstruating up to a test, or the test
// itself where a later one was marked.
func (h *History) lastMarked(t bloodTest) model.When {
	w := t.When()
	for _, o := range h.Tests {
		if o.Entry.Says("menstruating", "yes") && o.When().Compare(w) > 0 {
			w = o.When()
		}
	}
	return w
}
