package finding

import (
	"slices"

	"quietwater/model"
)

// acrHigh: much albumin, or protein, by the laboratory is a call the first
// time. Each is judged in the unit it was reported in (clinical decision 1).
var acrHigh = &Rule{
	ID:        "acr-high",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"acr", "pcr", "dialysis", "transplant"},
	Judges:    []model.Code{"acr", "pcr"},
	About:     []string{"acr"},
	Limits: []Limit{
		limit("ACR from", 300, "mg/g", "kdigo2012", "5.1.1: ACR of 300 mg/g (30 mg/mmol) and more"),
		limit("or", 30, "mg/mmol", "kdigo2012", "5.1.1: ACR of 300 mg/g (30 mg/mmol) and more"),
		limit("PCR from", 500, "mg/g", "kdigo2012", "5.1.1: about PCR of 500 mg/g (50 mg/mmol)"),
		limit("or", 50, "mg/mmol", "kdigo2012", "5.1.1: about PCR of 500 mg/g (50 mg/mmol)"),
		ours("visit within", 14, "d"),
	},
	Cites:      []model.Cite{{Source: "kdigo2012", At: "5.1.1"}},
	Variants:   []string{"pcr"},
	Supersedes: []string{"acr-doubled", "protein-known", "protein-once", "protein-trace", "protein-cleared"},
	Eval:       evalACRHigh,
}

// highLeak is where albumin or protein against creatinine is high, by the unit.
var highLeak = map[model.Code]map[string]float64{
	"acr": {"mg/g": 300, "mg/mmol": 30},
	"pcr": {"mg/g": 500, "mg/mmol": 50},
}

func evalACRHigh(r *Rule, h *History) []Finding {
	if h.onDialysis() {
		return nil
	}
	marks := make([]mark, 0, len(h.Numbers.Albumin))
	for code, limits := range highLeak {
		for _, e := range h.Of(model.Lab, code) {
			limit := limits[e.Value.Unit]
			high, known := reaches(e.Value, limit)
			if !known || h.onThen(model.Condition, "dialysis", e.When) {
				continue
			}
			marks = append(marks, mark{when: e.When, of: code, reached: high, tell: func() ([]Evidence, []any) {
				return []Evidence{e}, []any{"amount", amountOf(e.Value), "limit", model.Quantity{Typed: model.FormatNumber(limit), UCUM: e.Value.Unit}}
			}})
		}
	}
	slices.SortStableFunc(marks, func(a, b mark) int { return a.when.Compare(b.when) })
	m, ok := h.firstTime(r, anew(h, marks, func(m mark) model.When { return m.when }))
	switch {
	case !ok:
		return nil
	case m.of == "pcr":
		return []Finding{h.New(r, Soon, "pcr", m.evidence, m.args...).InDays(14)}
	}
	return []Finding{h.New(r, Soon, "", m.evidence, m.args...).InDays(14)}
}

// amountOf is a laboratory value as it was written.
func amountOf(v model.Value) model.Quantity { return model.Quantity{Typed: v.Text(), UCUM: v.Unit} }
