package finding

import "quietwater/model"

// dialysisWarning: what the dialysis unit wants to hear of the same day.
var dialysisWarning = &Rule{
	ID:        "dialysis-warning",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"dialysis", "fever", "temperature", "belly-pain", "cloudy-fluid"},
	Judges:    []model.Code{"temperature"},
	About:     []string{"fever", "belly-pain", "cloudy-fluid"},
	Limits: []Limit{
		ours("fever from", FeverFrom, "Cel"),
		ours("belly pain from", 2, "severity"),
		ours("cloudy fluid from", 1, "severity"),
	},
	Cites: []model.Cite{{Source: model.CommonPractice}},
	Eval: func(r *Rule, h *History) []Finding {
		signs := append(h.feverRecords(), h.symptomRecords(2, "belly-pain")...)
		fs := h.warnings(r, "dialysis", signs)
		// Only those on peritoneal dialysis can see cloudy fluid, switch or not.
		var cloudy []Finding
		for _, e := range h.symptomRecords(1, "cloudy-fluid") {
			cloudy = append(cloudy, h.New(r, Today, "", []Evidence{e}, "what", asSymptom(e)))
		}
		return h.standing(append(fs, cloudy...))
	},
}
