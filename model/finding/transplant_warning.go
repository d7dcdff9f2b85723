package finding

import "quietwater/model"

// transplantWarning: what the transplant unit wants to hear of the same day.
// Visible blood is said by its own rule.
var transplantWarning = &Rule{
	ID:        "transplant-warning",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"transplant", "fever", "temperature", "passing-less", "painful-urination", "vomiting", "belly-pain", "dialysis"},
	Judges:    []model.Code{"temperature"},
	About:     []string{"fever", "passing-less", "painful-urination", "vomiting", "belly-pain"},
	Limits: []Limit{
		ours("fever from", FeverFrom, "Cel"),
		ours("less urine, vomiting, belly pain from", 2, "severity"),
		ours("painful urination from", 1, "severity"),
	},
	Cites: []model.Cite{{Source: model.CommonPractice}},
	Eval: func(r *Rule, h *History) []Finding {
		signs := append(h.feverRecords(), h.symptomRecords(1, "painful-urination")...)
		signs = append(signs, h.symptomRecords(2, "vomiting", "belly-pain")...)
		if !h.On(model.Condition, "dialysis") { // there little urine is usual
			signs = append(signs, h.symptomRecords(2, "passing-less")...)
		}
		return h.warnings(r, "transplant", signs)
	},
}

// warnings makes one finding of the signs of somebody with a condition.
func (h *History) warnings(r *Rule, condition model.Code, signs []Evidence) []Finding {
	var fs []Finding
	for _, e := range signs {
		if h.onAt(model.Condition, condition, e.When) {
			fs = append(fs, h.New(r, Today, "", []Evidence{e}, "what", asSymptom(e)))
		}
	}
	return h.standing(fs)
}

// symptomRecords lists records of the last 90 days of at least severity.
func (h *History) symptomRecords(severity float64, codes ...model.Code) []Evidence {
	var out []Evidence
	for _, c := range codes {
		for _, e := range h.Of(model.Symptom, c) {
			if e.Value.Number >= severity && h.Recent(e.When, StripDays*day) {
				out = append(out, e)
			}
		}
	}
	return out
}

// feverRecords lists every fever of the last 90 days, measured or felt.
func (h *History) feverRecords() []Evidence {
	out := h.symptomRecords(1, "fever")
	it, _ := model.Find(model.Vital, "temperature")
	for _, e := range h.Of(model.Vital, "temperature") {
		if c, ok := it.In(e.Value, "Cel"); ok && round(c, 1e6) >= FeverFrom && h.Recent(e.When, StripDays*day) {
			out = append(out, e)
		}
	}
	return out
}
