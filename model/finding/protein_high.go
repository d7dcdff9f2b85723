package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// proteinHigh: a great deal of protein does not wait for a second test, and
// with swelling not for another day.
var proteinHigh = &Rule{
	ID:        "protein-high",
	Urgencies: []Urgency{Soon, Today},
	Reads:     []model.Code{model.Protein, model.Albumin, model.Creatinine, "ankle-swelling", "face-swelling"},
	About:     []string{"protein"},
	Limits: []Limit{
		limit("grade from", grade(model.Plus3), "3+", "kdigo2012", "table 7 and 1.4.4 (nephrotic range)"),
		ours("visit within", 2, "d"),
		ours("swelling from", 2, "severity"),
		ours("new: not recorded for", NewDays, "d"),
		ours("swelling within", 72, "h"),
	},
	Cites:      []model.Cite{{Source: "sumida2020", At: "abstract"}, {Source: model.OurChoice}},
	Variants:   []string{"swelling", "old-strip"},
	Supersedes: []string{"protein-again", "protein-once", "protein-trace", "protein-cleared", "protein-known"},
	Eval:       evalProteinHigh,
}

func evalProteinHigh(r *Rule, h *History) []Finding {
	tests := h.proteinTests()
	return h.perTest(model.Protein, func(t Test, p strip.Pad, _ bool) (Finding, bool) {
		if !p.Grade.AtLeast(model.Plus3) {
			return Finding{}, false
		}
		fresh, isNew := h.newSwelling(t.When())
		worse, isBad := h.near(t.When(), SymptomSpan, 2, "face-swelling", "ankle-swelling")
		ev := proteinTest{t, p}.evidence()
		args := []any{"read", proteinTest{t, p}.read()}
		stale := p.Standing == strip.NotJudged
		known := h.usuallyHigh(tests, t)
		switch {
		case stale && t.Verdict.Age == strip.Stale && isBad && !t.Verdict.Has(strip.Late) && !t.Verdict.Has(strip.Early):
			return h.New(r, Today, "old-strip", append(ev, worse), args...), true
		case stale:
			return Finding{}, false
		case isNew:
			return h.New(r, Today, "swelling", append(ev, fresh), args...), true
		case isBad && !known:
			return h.New(r, Today, "swelling", append(ev, worse), args...), true
		case known || h.gone(testsAfter(tests, t)):
			return Finding{}, false
		}
		return h.New(r, Soon, "", ev, args...).InDays(2), true
	})
}

// usuallyHigh reports protein that is known, and usual at this grade.
func (h *History) usuallyHigh(tests []proteinTest, t Test) bool {
	for i, o := range tests {
		if o.Entry.ID == t.Entry.ID {
			g, ok := h.usual(tests, i, i)
			return ok && h.proteinKnown(t.When()) && g.Rank() >= o.pad.Grade.Rank()
		}
	}
	return false
}

// testsAfter lists the protein tests after one.
func testsAfter(tests []proteinTest, t Test) []proteinTest {
	for i, o := range tests {
		if o.Entry.ID == t.Entry.ID {
			return tests[i+1:]
		}
	}
	return nil
}
