package finding

import "quietwater/model"

// yellowEyes: jaundice is seen the same day, whatever the strip says.
var yellowEyes = &Rule{
	ID:         "yellow-eyes",
	Urgencies:  []Urgency{Today},
	Reads:      []model.Code{"yellow-eyes"},
	About:      []string{"yellow-eyes"},
	Limits:     []Limit{limit("from", 1, "severity", "nidirect-jaundice", "when to get help")},
	Cites:      []model.Cite{{Source: "nidirect-jaundice", At: "when to get help"}},
	Supersedes: []string{"bilirubin"},
	Eval: func(r *Rule, h *History) []Finding {
		return h.standing(h.perRecord("yellow-eyes", func(e Evidence) (Finding, bool) {
			return h.New(r, Today, "", []Evidence{e}), true
		}))
	},
}
