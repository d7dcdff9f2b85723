package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// packAgeAssumed: the leaflet's days were never entered, so the strip may or
// may not be good.
var packAgeAssumed = &Rule{
	ID:        "pack-age-assumed",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{"opened-on", "days-after-opening"},
	About:     []string{"stale"},
	Limits: []Limit{
		ours("days open assumed", strip.PresetDaysOpen, "d"),
		ours("again within", repeatDays, "d"),
	},
	Cites: []model.Cite{{Source: "gallagher1990", At: "abstract"}, {Source: model.OurChoice}},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		if !ok || t.Verdict.Age != strip.Questionable {
			return nil
		}
		return []Finding{h.New(r, Retest, "", t.pads(carries(strip.AgeAssumed)), "days", strip.PresetDaysOpen).DueIn(h.repeat(t))}
	},
}
