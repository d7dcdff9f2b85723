package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// padMissing: albumin without its creatinine is no ratio and says nothing.
// Much albumin is protein-once's, which asks sooner.
var padMissing = &Rule{
	ID:        "pad-missing",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{model.Albumin, model.Creatinine},
	About:     []string{"albumin"},
	Limits: []Limit{
		ours("again within", repeatDays, "d"),
		ours("unless albumin alone is from", strip.AlbuminAlone, "mg/L"),
	},
	Cites: []model.Cite{{Source: "kdigo2012", At: "table 5 (albumin over creatinine)"}},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		if !ok {
			return nil
		}
		p, ok := t.Verdict.Pad(model.Albumin)
		if !ok || !carries(strip.NeedsCreatinine)(p) || p.Standing > strip.NotJudged && !h.proteinKnown(t.When()) {
			return nil
		}
		return []Finding{h.New(r, Retest, "", t.Evidence(model.Albumin, model.Creatinine)).DueIn(repeat(t))}
	},
}
