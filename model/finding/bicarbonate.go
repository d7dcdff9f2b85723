package finding

import "quietwater/model"

// bicarbonate: when it is low, the blood holds more acid than kidneys clear.
var bicarbonate = &Rule{
	ID:        "bicarbonate",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"bicarbonate", "dialysis", "transplant"},
	Judges:    []model.Code{"bicarbonate"},
	About:     []string{"bicarbonate"},
	Limits: []Limit{
		limit("below", bicarbonateLow, "mmol/L", "kdigo2024", "practice point 3.10.1"),
		ours("visit within", 14, "d"),
	},
	Cites: []model.Cite{{Source: "kdigo2024", At: "practice point 3.10.1"}},
	Eval: func(r *Rule, h *History) []Finding {
		return h.perResult(r, h.results("bicarbonate"), func(b result) (Finding, bool) {
			f := h.New(r, Soon, "", []Evidence{b.Evidence}, "value", b.shown(), "whom", h.whom(b.When)).InDays(14)
			return f, b.below(bicarbonateLow)
		})
	},
}

const bicarbonateLow = 18.0 // mmol/L
