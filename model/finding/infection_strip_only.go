package finding

import "quietwater/model"

// infectionStripOnly: without symptoms a strip alone decides nothing, least of
// all in older people and with a catheter.
var infectionStripOnly = &Rule{
	ID:        "infection-strip-only",
	Urgencies: []Urgency{Note},
	Reads:     []model.Code{model.Nitrite, model.Leukocytes, "urinary-catheter"},
	About:     []string{"infection"},
	Limits: []Limit{
		limit("leukocytes from", grade(model.Plus1), "1+", "nice-ng109", "symptoms and strip"),
		ours("no symptom within", 72, "h"),
		limit("age from", 65, "a", "nice-qs90", "statement 1"),
	},
	Cites:    []model.Cite{{Source: "nice-qs90", At: "statements 1 and 2"}},
	Variants: []string{"does-not-decide"},
	Eval:     evalInfectionStripOnly,
}

func evalInfectionStripOnly(r *Rule, h *History) []Finding {
	tests := h.RecentTests()
	for i := len(tests) - 1; i >= 0; i-- {
		t := tests[i]
		_, nitrite := t.Verdict.Pad(model.Nitrite)
		_, leukocytes := t.Verdict.Pad(model.Leukocytes)
		if !nitrite && !leukocytes {
			continue
		}
		pads := infectionPads(t)
		ill := append(h.risingSigns(t.When()), h.each(t.When(), SymptomSpan, 1, "painful-urination", "confusion", "drowsiness")...)
		if len(pads) == 0 || len(ill) > 0 {
			return nil
		}
		variant := ""
		age, known := h.Facts.AgeYears(h.Now)
		if known && age >= 65 || h.onAt(model.Condition, "urinary-catheter", t.When()) {
			variant = "does-not-decide"
		}
		return []Finding{h.New(r, Note, variant, pads)}
	}
	return nil
}
