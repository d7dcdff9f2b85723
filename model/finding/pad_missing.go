package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// padMissing: a test that lacks what it was made for is made again. Albumin
// without its creatinine is no ratio and says nothing; a colour nobody could
// tell says nothing either. Much albumin is protein-once's, which asks sooner.
var padMissing = &Rule{
	ID:        "pad-missing",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{model.Protein, model.Albumin, model.Creatinine},
	About:     []string{"albumin"},
	Limits: []Limit{
		ours("again within", repeatDays, "d"),
		ours("unless albumin alone is from", strip.AlbuminAlone, "mg/L"),
		ours("or protein not told, or of all pads at least", 0.5, ""),
	},
	Cites:    []model.Cite{{Source: "kdigo2012", At: "table 5 (albumin over creatinine)"}},
	Variants: []string{"unclear"},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		albumin, _ := t.Verdict.Pad(model.Albumin)
		switch {
		case !ok:
			return nil
		case carries(strip.NeedsCreatinine)(albumin):
			if albumin.Standing > strip.NotJudged && !h.proteinKnown(t.When()) {
				return nil
			}
			return []Finding{h.New(r, Retest, "", t.Evidence(model.Albumin, model.Creatinine)).DueIn(h.repeat(t))}
		case t.largelyUnclear():
			var names []model.Msg
			untold := t.pads(carries(strip.UnclearReason))
			for _, e := range untold {
				names = append(names, model.T("name.strip."+string(e.Value.Code)))
			}
			return []Finding{h.New(r, Retest, "unclear", untold, "pads", names).DueIn(h.repeat(t))}
		}
		return nil
	},
}

// largelyUnclear reports a test that told too little: nothing about protein, or
// of half its pads or more nothing.
func (t Test) largelyUnclear() bool {
	untold := t.pads(carries(strip.UnclearReason))
	return 2*len(untold) >= max(1, len(t.Verdict.Pads)) ||
		slices.ContainsFunc(untold, func(e Evidence) bool { return e.Value.Code == model.Protein })
}
