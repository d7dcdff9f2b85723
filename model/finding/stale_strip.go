package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// staleStrip: a reading from a strip past its time is kept and not believed.
var staleStrip = &Rule{
	ID:        "stale-strip",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{"use-by", "opened-on", "days-after-opening"},
	About:     []string{"stale"},
	Limits: []Limit{
		ours("again within", repeatDays, "d"),
		ours("days open unless the leaflet says", strip.PresetDaysOpen, "d"),
	},
	Cites:    []model.Cite{{Source: "iso15223", At: "5.1.4"}, {Source: "gallagher1990", At: "abstract"}},
	Variants: []string{"positive"},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		if !ok || t.Verdict.Age != strip.Stale {
			return nil
		}
		positive := t.pads(func(p strip.Pad) bool { return p.Grade.AtLeast(model.Plus1) })
		if len(positive) > 0 {
			return []Finding{h.New(r, Retest, "positive", positive).DueIn(h.repeat(t))}
		}
		return []Finding{h.New(r, Retest, "", t.pads(carries(strip.StalePack))).DueIn(h.repeat(t))}
	},
}
