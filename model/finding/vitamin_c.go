package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// vitaminC: hides sugar, blood, nitrite and white cells from their pads.
var vitaminC = &Rule{
	ID:        "vitamin-c",
	Urgencies: []Urgency{Note},
	Reads:     []model.Code{model.Glucose, model.Blood, model.Nitrite, model.Leukocytes, "took-vitamin-c", "vitamin-c"},
	About:     []string{"glucose", "blood", "nitrite", "leukocytes"},
	Cites:     []model.Cite{{Source: "simerville2005", At: "causes of false results"}},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		if !ok {
			return nil
		}
		if pads := t.pads(carries(strip.VitaminC)); len(pads) > 0 {
			return []Finding{h.New(r, Note, "", pads)}
		}
		return nil
	},
}
