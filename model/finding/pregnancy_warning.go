package finding

import "quietwater/model"

// pregnancyWarning: signs of pre-eclampsia need no pressure and no strip.
var pregnancyWarning = &Rule{
	ID:        "pregnancy-warning",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"pregnancy", "headache", "vision-trouble", "belly-pain", "face-swelling", "ankle-swelling", "vomiting"},
	About:     []string{"headache", "vision-trouble", "belly-pain", "face-swelling", "ankle-swelling", "vomiting"},
	Limits: []Limit{
		limit("from week", 20, "wk", "nice-ng133", "1.1.1"),
		ours("to weeks after birth", 4, "wk"),
		limit("headache, belly pain, ankle swelling, vomiting from", 2, "severity", "nice-ng133", "1.1.1"),
		limit("vision trouble, face swelling from", 1, "severity", "nice-ng133", "1.1.1"),
	},
	Cites: []model.Cite{{Source: "nice-ng133", At: "1.1.1"}},
	Eval: func(r *Rule, h *History) []Finding {
		signs := append(h.symptomRecords(2, "headache", "belly-pain", "ankle-swelling", "vomiting"),
			h.symptomRecords(1, "vision-trouble", "face-swelling")...)
		var fs []Finding
		for _, e := range signs {
			if h.latePregnancy(e.When) {
				fs = append(fs, h.New(r, Today, "", []Evidence{e}, "what", e.Value.Code))
			}
		}
		return h.standing(fs)
	},
}

// latePregnancy reports week 20 and later, up to four weeks after birth. The
// switch starts on the first day of the last period and ends on the birth.
func (h *History) latePregnancy(at model.When) bool {
	var start, end model.When
	for _, e := range h.Of(model.Condition, "pregnancy") {
		if e.When.Compare(at) > 0 && model.DaysBetween(at, e.When, h.Zone) > 0 {
			break
		}
		if e.Value.Word == "start" {
			start, end = e.When, model.When{}
		} else {
			end = e.When
		}
	}
	switch {
	case start.IsZero() && end.IsZero():
		return false
	case !end.IsZero():
		return model.DaysBetween(end, at, h.Zone) <= 28
	}
	return model.DaysBetween(start, at, h.Zone) >= 140
}
