package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// stripsOnly: strips do not replace the two laboratory tests.
var stripsOnly = &Rule{
	ID:        "strips-only",
	Urgencies: []Urgency{Mention},
	Reads:     []model.Code{"creatinine", "egfr", "acr"},
	About:     []string{"strips-only"},
	Limits: []Limit{
		ours("strips for more than", 3, "mo"),
		ours("no laboratory result for", 12, "mo"),
		ours("strips looked at", 365, "d"),
	},
	Cites: []model.Cite{{Source: "nice-ng203", At: "do not rely on strips"}, {Source: "kdigo2024", At: "2.1.1: at least yearly"}, {Source: "sumida2020", At: "abstract"}},
	Eval:  evalStripsOnly,
}

func evalStripsOnly(r *Rule, h *History) []Finding {
	if h.On(model.Condition, "dialysis") {
		return nil // the unit has its own blood tests
	}
	for _, c := range []model.Code{"creatinine", "egfr", "acr"} {
		for _, e := range h.Of(model.Lab, c) {
			if !e.When.DayIn(h.Zone).Before(model.At(h.Now).DayIn(h.Zone).AddDate(-1, 0, 0)) {
				return nil
			}
		}
	}
	for _, t := range h.Tests {
		if !h.Recent(t.When(), 365*day) {
			continue
		}
		limit := t.When().DayIn(h.Zone).AddDate(0, 3, 0)
		ev := t.pads(func(strip.Pad) bool { return true })
		if len(ev) == 0 || !limit.Before(model.At(h.Now).DayIn(h.Zone)) {
			return nil
		}
		return []Finding{h.New(r, Mention, "", ev[:1])}
	}
	return nil
}
