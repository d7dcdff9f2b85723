package finding

import (
	"slices"

	"quietwater/model"
)

// redFlags are symptoms that need no other sign.
var redFlags = []model.Code{"breathless-at-rest", "chest-pain", "confusion", "collapse", "fit", "face-arm-speech", "drowsiness"}

// redFlagSymptom: any of these, however mild, is an emergency alone.
var redFlagSymptom = &Rule{
	ID:        "red-flag-symptom",
	Urgencies: []Urgency{Emergency},
	Reads:     redFlags,
	About:     []string{"breathless-at-rest", "chest-pain", "confusion", "collapse", "fit", "face-arm-speech", "drowsiness"},
	Limits:    []Limit{ours("from", 1, "severity")},
	Cites:     []model.Cite{{Source: "watson2022", At: "abstract: breathing and consciousness are emergencies"}, {Source: model.CommonPractice}},
	Eval: func(r *Rule, h *History) []Finding {
		var out []Finding
		for _, c := range redFlags {
			fs := h.perRecord(c, func(e Evidence) (Finding, bool) {
				f := h.New(r, Emergency, "", []Evidence{e}, "what", c)
				f.About = []string{string(c)}
				return f, true
			})
			out = append(out, h.standing(fs)...)
		}
		return out
	},
}

func isRedFlag(c model.Code) bool { return slices.Contains(redFlags, c) }
