package finding

import (
	"quietwater/model"
)

// proteinKnown: where a doctor knows of the protein, only a change is news.
var proteinKnown = &Rule{
	ID:        "protein-known",
	Urgencies: []Urgency{Note, Soon},
	Reads:     []model.Code{model.Protein, model.Albumin, model.Creatinine, "acr"},
	About:     []string{"protein"},
	Limits: []Limit{
		limit("known from an ACR of", 30, "mg/g", "kdigo2012", "table 5 (A2)"),
		limit("or", 3, "mg/mmol", "kdigo2012", "table 5 (A2)"),
		ours("grades above the usual", 1, "grade"),
		ours("on days", 2, "d"),
		ours("of", 14, "d"),
		ours("visit within", 7, "d"),
		ours("notes a month", 1, "{count}"),
	},
	Cites:      []model.Cite{{Source: "kdigo2024", At: "practice points 2.1.3 to 2.1.5"}, {Source: model.OurChoice}},
	Variants:   []string{"higher"},
	Supersedes: []string{"protein-once", "protein-again", "protein-trace", "protein-cleared"},
	Eval:       evalProteinKnown,
}

func evalProteinKnown(r *Rule, h *History) []Finding {
	tests := h.proteinTests()
	if i, j, ok := h.higherPair(tests); ok {
		usual, _ := h.usual(tests, i, j)
		ev := append(tests[i].evidence(), tests[j].evidence()...)
		return []Finding{h.New(r, Soon, "higher", ev, "read", tests[j].read(), "usual", usual, "first", tests[i].When()).InDays(7)}
	}
	today := model.At(h.Now).DayIn(h.Zone)
	for _, t := range tests {
		d := t.When().DayIn(h.Zone)
		sameMonth := d.Year() == today.Year() && d.Month() == today.Month()
		if sameMonth && t.positive() && h.proteinKnown(t.When()) {
			return []Finding{h.New(r, Note, "", t.evidence(), "read", t.read())}
		}
	}
	return nil
}

// higherPair finds the newest two days on which known protein stood at least
// one grade above the usual, unless two later days were back at it.
func (h *History) higherPair(tests []proteinTest) (i, j int, ok bool) {
	for j := len(tests) - 1; j > 0; j-- {
		for i := j - 1; i > 0; i-- {
			days := model.DaysBetween(tests[i].When(), tests[j].When(), h.Zone)
			if days > 16 { // a day alone may lie a day or two from where a zone has it
				break
			}
			together := model.Within(tests[i].When(), tests[j].When(), 14*day, h.Zone)
			if days < 1 || !together || !h.proteinKnown(tests[i].When()) {
				continue
			}
			usual, _ := h.usual(tests, i, j)
			if tests[i].above(usual) && tests[j].above(usual) && !h.backAt(usual, tests[j+1:]) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

func (t proteinTest) above(usual model.Grade) bool {
	return t.firm() && t.pad.Grade.Rank() > usual.Rank()
}

// backAt reports two later days at the usual grade or below.
func (h *History) backAt(usual model.Grade, later []proteinTest) bool {
	var first *proteinTest
	for k, t := range later {
		switch {
		case t.pad.Grade.Rank() > usual.Rank():
			first = nil
		case first == nil:
			first = &later[k]
		case model.DaysBetween(first.When(), t.When(), h.Zone) > 0:
			return true
		}
	}
	return false
}
