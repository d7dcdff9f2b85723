package finding

import "quietwater/model"

// passingNone: no urine is a call the same day, and with pain, clots or
// illness an emergency. On dialysis little or none is usual, and only pain
// makes it a finding.
var passingNone = &Rule{
	ID:        "passing-none",
	Urgencies: []Urgency{Today, Emergency},
	Reads: []model.Code{"passing-none", "belly-pain", "visible-blood", "blood-clots", "vomiting", "confusion",
		"weakness", "breathlessness", "dialysis"},
	About: []string{"passing-none"},
	Limits: []Limit{
		limit("no urine from", 1, "severity", "kdigo-aki2012", "urine output"),
		ours("belly pain, clots, vomiting, confusion from", 1, "severity"),
		ours("weakness, breathlessness from", 3, "severity"),
		ours("within", 72, "h"),
	},
	Cites:    []model.Cite{{Source: "kdigo-aki2012", At: "urine output"}, {Source: model.OurChoice}},
	Variants: []string{"with-signs"},
	Eval:     evalPassingNone,
}

func evalPassingNone(r *Rule, h *History) []Finding {
	return h.standing(h.perRecord("passing-none", func(e Evidence) (Finding, bool) {
		dialysis := h.onAt(model.Condition, "dialysis", e.When)
		signs := h.each(e.When, SymptomSpan, 1, "belly-pain")
		if !dialysis {
			clots := h.each(e.When, SymptomSpan, 1, "visible-blood", "blood-clots")
			if len(clots) == 2 {
				signs = append(signs, clots...)
			}
			signs = append(signs, h.each(e.When, SymptomSpan, 1, "vomiting", "confusion")...)
			signs = append(signs, h.each(e.When, SymptomSpan, 3, "weakness", "breathlessness")...)
		}
		if len(signs) > 0 {
			return h.New(r, Emergency, "with-signs", append(signs, e)), true
		}
		return h.New(r, Today, "", []Evidence{e}), !dialysis
	}))
}
