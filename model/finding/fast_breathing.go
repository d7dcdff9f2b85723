package finding

import "quietwater/model"

// fastBreathing: with diabetes or an SGLT2 inhibitor these signs need no strip,
// and no strip takes them back.
var fastBreathing = &Rule{
	ID:        "fast-breathing",
	Urgencies: []Urgency{Emergency},
	Reads:     []model.Code{"fast-breathing", "vomiting", "belly-pain", "diabetes", "insulin", "metformin", "sglt2-inhibitor"},
	About:     []string{"fast-breathing", "ketones"},
	Limits: []Limit{
		limit("each from", 1, "severity", "nhs-ketoacidosis", "symptoms without a ketone result"),
		ours("within", 72, "h"),
	},
	Cites: []model.Cite{{Source: "nhs-ketoacidosis", At: "when to get help"}, {Source: "danne2019", At: "sick days"}},
	Eval: func(r *Rule, h *History) []Finding {
		return h.standing(h.perRecord("fast-breathing", func(e Evidence) (Finding, bool) {
			with := h.each(e.When, SymptomSpan, 1, "vomiting", "belly-pain")
			if len(with) == 0 || !h.KetoneRisk(e.When) {
				return Finding{}, false
			}
			return h.New(r, Emergency, "", append(with, e)), true
		}))
	},
}
