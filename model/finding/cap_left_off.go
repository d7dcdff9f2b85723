package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// capLeftOff: air turns the nitrite pad pink without any germs.
var capLeftOff = &Rule{
	ID:        "cap-left-off",
	Urgencies: []Urgency{Note},
	Reads:     []model.Code{model.Nitrite, "cap-left-off"},
	About:     []string{"nitrite"},
	Limits:    []Limit{ours("uncapped for", 1, "d")},
	Cites:     []model.Cite{{Source: "gallagher1990", At: "abstract: one in three false after a week in air"}},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		if !ok {
			return nil
		}
		if pads := t.pads(carries(strip.CapLeftOff)); len(pads) > 0 {
			return []Finding{h.New(r, Note, "", append(pads, t.Evidence("cap-left-off")...))}
		}
		return nil
	},
}
