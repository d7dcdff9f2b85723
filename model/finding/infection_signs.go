package finding

import "quietwater/model"

// infectionSigns: a strip that points to germs, with signs of illness; or such
// signs alone, since no strip rules an infection out.
var infectionSigns = &Rule{
	ID:        "infection-signs",
	Urgencies: []Urgency{Soon, Today, Emergency},
	Reads: []model.Code{model.Nitrite, model.Leukocytes, "painful-urination", "fever", "temperature", "shivering",
		"flank-pain", "vomiting", "confusion", "drowsiness", "transplant", "pregnancy"},
	Judges: []model.Code{"temperature"},
	About:  []string{"infection"},
	Limits: []Limit{
		limit("leukocytes from", grade(model.Plus1), "1+", "nice-ng109", "symptoms and strip"),
		ours("strip and symptom within", 72, "h"),
		limit("visit within", 2, "d", "nice-ng109", "1.1.3: back-up within 48 hours"),
		limit("fever from", FeverFrom, "Cel", "nice-ng111", "signs of pyelonephritis"),
		limit("temperature below", ColdBelow, "Cel", "nhs-kidney-infection", "when to get help"),
	},
	Cites: []model.Cite{{Source: "nice-ng109", At: "1.1.3 to 1.1.6"}, {Source: "nice-ng111", At: "referral"},
		{Source: "nhs-kidney-infection", At: "when to get help"}},
	Variants:   []string{"special", "rising", "confused", "no-strip"},
	Supersedes: []string{"infection-strip-only"},
	Eval:       evalInfectionSigns,
}

func evalInfectionSigns(r *Rule, h *History) []Finding {
	var fs []Finding
	for _, t := range h.RecentTests() {
		if pads := infectionPads(t); len(pads) > 0 {
			if f, ok := h.infectionWithStrip(r, t, pads); ok {
				fs = append(fs, f)
			}
		}
	}
	return h.standing(append(fs, h.infectionWithoutStrip(r)...))
}

func (h *History) infectionWithStrip(r *Rule, t Test, pads []Evidence) (Finding, bool) {
	at := t.When()
	pain := h.each(at, SymptomSpan, 1, "painful-urination")
	rising := h.risingSigns(at)
	confused := h.each(at, SymptomSpan, 1, "confusion", "drowsiness")
	ev := append(append(append([]Evidence(nil), pads...), pain...), rising...)
	special := h.Facts.Sex == "male" || h.onAt(model.Condition, "pregnancy", at) || h.onAt(model.Condition, "transplant", at)
	switch {
	case len(confused) > 0:
		return h.New(r, Emergency, "confused", append(ev, confused...)), true
	case len(rising) > 0:
		return h.New(r, Today, "rising", ev), true
	case len(pain) > 0 && special:
		return h.New(r, Today, "special", ev), true
	case len(pain) > 0:
		return h.New(r, Soon, "", ev).InDays(2), true
	}
	return Finding{}, false
}

// infectionWithoutStrip: fever, a low temperature or shivering together with
// pain in the flank or when passing urine.
func (h *History) infectionWithoutStrip(r *Rule) []Finding {
	var fs []Finding
	for _, c := range []model.Code{"flank-pain", "painful-urination"} {
		fs = append(fs, h.perRecord(c, func(e Evidence) (Finding, bool) {
			hot := append(h.fever(e.When, SymptomSpan), h.cold(e.When, SymptomSpan)...)
			hot = append(hot, h.each(e.When, SymptomSpan, 1, "shivering")...)
			if len(hot) == 0 {
				return Finding{}, false
			}
			return h.New(r, Today, "no-strip", append(hot, e)), true
		})...)
	}
	return fs
}
