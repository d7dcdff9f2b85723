package finding

import "quietwater/model"

// rapidDecline: eGFR that falls by more than five units a year, as sure as its
// results allow.
var rapidDecline = &Rule{
	ID:        "rapid-decline",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"creatinine", "egfr", "cystatin-c", "dialysis"},
	Judges:    []model.Code{"creatinine", "egfr", "cystatin-c"},
	About:     []string{"slope"},
	Limits: []Limit{
		limit("fall a year of more than", 5, "mL/min/{1.73_m2}", "kdigo2012", "2.1.3: rapid progression"),
		ours("visit within", 14, "d"),
		ours("once answered, not said again for", saidAgainDays, "d"),
	},
	Cites:    []model.Cite{{Source: "kdigo2012", At: "2.1.3"}, {Source: model.OurChoice}},
	Variants: []string{"driven"},
	Eval:     evalRapidDecline,
}

// saidAgainDays is how long after an answer a fall that goes on is no news. A
// sudden one is another rule's.
const saidAgainDays = 365

func evalRapidDecline(r *Rule, h *History) []Finding {
	if h.onDialysis() {
		return nil
	}
	trend, of := h.Numbers.Trend, h.Numbers.TrendOf
	for _, a := range h.answers[r.ID] {
		if then, told := h.Numbers.TrendAt(a.When); then.Rapid && h.Recent(a.When, saidAgainDays*day) {
			trend, of = then, told
		}
	}
	if !trend.Rapid {
		return nil
	}
	var ev []Evidence
	for _, g := range of {
		ev = append(ev, sheets(g.From...)...)
	}
	args := []any{"first", of[0].When, "count", len(of), "slope", perYear(trend.PerYear), "robust", perYear(trend.Robust)}
	variant := ""
	if trend.Driven {
		variant = "driven"
	}
	return []Finding{h.New(r, Soon, variant, ev, args...).InDays(14)}
}

// perYear is a slope as the fall it is, 0 where there is none.
func perYear(slope float64) model.Quantity {
	return decimal(max(0, -slope), 1, "mL/min/{1.73_m2}")
}
