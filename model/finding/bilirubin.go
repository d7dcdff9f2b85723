package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// bilirubin: does not belong in urine; with dark urine it does not wait.
var bilirubin = &Rule{
	ID:        "bilirubin",
	Urgencies: []Urgency{Soon, Today},
	Reads:     []model.Code{model.Bilirubin, "dark-urine"},
	About:     []string{"bilirubin"},
	Limits: []Limit{
		ours("grade from", grade(model.Plus1), "1+"),
		ours("visit within", 2, "d"),
		ours("dark urine from", 1, "severity"),
		ours("dark urine within", 72, "h"),
	},
	Cites:    []model.Cite{{Source: "nidirect-jaundice", At: "when to get help"}},
	Variants: []string{"dark-urine"},
	Eval: func(r *Rule, h *History) []Finding {
		return h.perTest(model.Bilirubin, func(t Test, p strip.Pad, _ bool) (Finding, bool) {
			if !p.Positive(model.Plus1) {
				return Finding{}, false
			}
			ev := t.Evidence(model.Bilirubin)
			if dark, ok := h.near(t.When(), SymptomSpan, 1, "dark-urine"); ok {
				return h.New(r, Today, "dark-urine", append(ev, dark), "grade", p.Grade), true
			}
			return h.New(r, Soon, "", ev, "grade", p.Grade).InDays(2), true
		})
	},
}
