package finding

import "quietwater/model"

// proteinAgain: protein on two days within two weeks, or twice at least a week
// apart among the last three tests, is worth a laboratory ACR.
var proteinAgain = &Rule{
	ID:        "protein-again",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{model.Protein, model.Albumin, model.Creatinine},
	About:     []string{"protein"},
	Limits: []Limit{
		{"grade from", 2, "1+", model.Cite{Source: "kdigo2012", At: "table 7; 1.4.4 (confirm)"}},
		{"later day within", 14, "d", model.Cite{Source: model.OurChoice}},
		{"apart, of the last three tests", 7, "d", model.Cite{Source: model.OurChoice}},
		{"visit within", 7, "d", model.Cite{Source: model.OurChoice}},
	},
	Cites:      []model.Cite{{Source: "nice-ng203", At: "proteinuria: confirm by laboratory ACR"}, {Source: "sumida2020", At: "abstract"}},
	Supersedes: []string{"protein-once", "protein-trace", "protein-cleared"},
	Eval:       evalProteinAgain,
}

func evalProteinAgain(r *Rule, h *History) []Finding {
	tests := h.proteinTests()
	i, j, ok := h.againPair(tests)
	if !ok {
		return nil
	}
	ev := append(tests[i].evidence(), tests[j].evidence()...)
	return []Finding{h.New(r, Soon, "", ev, "read", tests[j].read(), "first", tests[i].When()).InDays(7)}
}
