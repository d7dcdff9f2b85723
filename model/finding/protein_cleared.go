package finding

import "quietwater/model"

// proteinCleared: a negative after a single positive ends the to-do, and says
// how little one negative rules out. One of the same day is not the retest.
var proteinCleared = &Rule{
	ID:        "protein-cleared",
	Urgencies: []Urgency{Note},
	Reads:     []model.Code{model.Protein, model.Albumin, model.Creatinine},
	About:     []string{"protein"},
	Limits: []Limit{
		ours("days after it", 1, "d"),
		limit("grade of the positive from", grade(model.Plus1), "1+", "kdigo2012", "table 7"),
	},
	Cites: []model.Cite{{Source: "sumida2020", At: "abstract: sensitivity for ACR above 30 mg/g"}, {Source: "mejia2021", At: "abstract"}},
	Eval:  evalProteinCleared,
}

func evalProteinCleared(r *Rule, h *History) []Finding {
	tests := h.proteinTests()
	n := len(tests)
	if n < 2 || tests[n-1].pad.Grade.Rank() != model.Neg.Rank() || !tests[n-2].positive() ||
		model.DaysBetween(tests[n-2].When(), tests[n-1].When(), h.Zone) < 1 || h.proteinKnown(tests[n-1].When()) {
		return nil
	}
	ev := append(tests[n-2].evidence(), tests[n-1].evidence()...)
	return []Finding{h.New(r, Note, "", ev, "read", tests[n-2].read(), "first", tests[n-2].When())}
}
