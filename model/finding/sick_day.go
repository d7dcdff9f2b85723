package finding

import "quietwater/model"

// sickDayMedicines can harm the kidneys, or the person, while fluid is lost.
var sickDayMedicines = []model.Code{"acei-or-arb", "diuretic", "metformin", "sglt2-inhibitor", "nsaid"}

// sickDay: losing fluid with one of these medicines is a question for the same
// day. What to do with a medicine is not ours to say.
var sickDay = &Rule{
	ID:        "sick-day",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"vomiting", "diarrhoea", "acei-or-arb", "diuretic", "metformin", "sglt2-inhibitor", "nsaid"},
	About:     []string{"sick-day"},
	Limits: []Limit{
		limit("vomiting or diarrhoea from", 2, "severity", "watson2022", "abstract"),
	},
	Cites: []model.Cite{{Source: "watson2022", At: "abstract"}},
	Eval: func(r *Rule, h *History) []Finding {
		var fs []Finding
		for _, e := range h.symptomRecords(2, "vomiting", "diarrhoea") {
			var on []model.Msg
			for _, m := range sickDayMedicines {
				if h.onAt(model.Medicine, m, e.When) {
					on = append(on, model.T("name.medicine."+string(m)))
				}
			}
			if len(on) > 0 {
				fs = append(fs, h.New(r, Today, "", []Evidence{e}, "what", e.Value.Code, "medicine", on))
			}
		}
		return h.standing(fs)
	},
}
