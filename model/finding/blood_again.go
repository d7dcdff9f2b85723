package finding

import "quietwater/model"

// bloodAgain: blood on two strips a week apart is looked at by a doctor.
var bloodAgain = &Rule{
	ID:        "blood-again",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{model.Blood, "painful-urination"},
	About:     []string{"blood"},
	Limits: []Limit{
		limit("grade from", grade(model.Plus1), "1+", "kelly2009", "definition: 1+ or more, trace is negative"),
		limit("apart", 7, "d", "kelly2009", "two of three tests"),
		limit("among the last", 3, "tests", "kelly2009", "two of three tests"),
		ours("visit within", 14, "d"),
		limit("age from, with painful urination", 60, "a", "nice-ng12", "bladder cancer: non-visible blood with dysuria"),
		ours("painful urination within", 72, "h"),
	},
	Cites:      []model.Cite{{Source: "kelly2009", At: "box: assessment"}, {Source: "auasufu2025", At: "microscopy"}},
	Variants:   []string{"painful"},
	Supersedes: []string{"blood-once"},
	Eval:       evalBloodAgain,
}

func evalBloodAgain(r *Rule, h *History) []Finding {
	tests, _ := h.bloodTests()
	if f, ok := h.painfulPair(r, tests); ok {
		return []Finding{f}
	}
	n := len(tests)
	for j := n - 1; j >= max(0, n-3); j-- {
		for i := j - 1; i >= max(0, n-3); i-- {
			if h.weekApart(tests[i], tests[j]) {
				return []Finding{h.bloodPair(r, "", tests[i], tests[j])}
			}
		}
	}
	return nil
}

// painfulPair finds two positives a week apart, not only among the last three,
// where it hurts to pass urine and the person is 60 or more, or of unknown age.
func (h *History) painfulPair(r *Rule, tests []bloodTest) (Finding, bool) {
	if !h.old(60) {
		return Finding{}, false
	}
	for j := len(tests) - 1; j >= 0; j-- {
		for i := j - 1; i >= 0; i-- {
			if !h.weekApart(tests[i], tests[j]) {
				continue
			}
			pain, ok := h.near(tests[j].When(), SymptomSpan, 1, "painful-urination")
			if !ok {
				pain, ok = h.near(tests[i].When(), SymptomSpan, 1, "painful-urination")
			}
			if !ok {
				pain, ok = h.Symptom("painful-urination", 1, SymptomSpan)
			}
			if ok {
				return h.bloodPair(r, "painful", tests[i], tests[j], pain), true
			}
		}
	}
	return Finding{}, false
}

func (h *History) weekApart(a, b bloodTest) bool {
	return a.positive() && b.positive() && model.DaysBetween(a.When(), b.When(), h.Zone) >= 7
}

func (h *History) bloodPair(r *Rule, variant string, a, b bloodTest, more ...Evidence) Finding {
	ev := append(append(a.Evidence(model.Blood), b.Evidence(model.Blood)...), more...)
	return h.New(r, Soon, variant, ev, "grade", b.pad.Grade, "first", a.When()).InDays(14)
}
