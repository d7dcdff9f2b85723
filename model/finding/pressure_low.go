package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/pressure"
)

// pressureLow: a low pressure with lost fluid or dizziness cannot wait.
var pressureLow = &Rule{
	ID:        "pressure-low",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"systolic", "vomiting", "diarrhoea", "fever", "temperature", "dizziness"},
	About:     []string{"systolic"},
	Limits: []Limit{
		ours("systolic below", lowSystolic, "mm[Hg]"),
		limit("vomiting, diarrhoea, dizziness from", 1, "severity", "watson2022", "abstract"),
		ours("fever from", FeverFrom, "Cel"),
		ours("signs within", 72, "h"),
		ours("looks back", PressureDays, "d"),
	},
	Cites: []model.Cite{{Source: "watson2022", At: "abstract: low blood pressure on a sick day"}, {Source: model.OurChoice}},
	Eval: func(r *Rule, h *History) []Finding {
		if h.underAge() {
			return nil
		}
		rs := h.pressures()
		var fs []Finding
		for i, p := range rs {
			if p.Systolic == 0 || p.Systolic >= lowSystolic {
				continue
			}
			signs := append(h.each(p.When, SymptomSpan, 1, "vomiting", "diarrhoea", "dizziness"), h.fever(p.When, SymptomSpan)...)
			higher := slices.ContainsFunc(rs[i+1:], func(o pressure.Reading) bool { return o.Systolic >= lowSystolic && o.When.Compare(p.When) > 0 })
			if len(signs) > 0 && !higher {
				fs = append(fs, h.New(r, Today, "", append(h.pressureEvidence(p), signs...), "read", readPressure(p.Systolic, p.Diastolic), "what", asSymptom(signs[0])))
			}
		}
		return h.standing(fs)
	},
}

// lowSystolic is low, in mm[Hg], for somebody who is ill.
const lowSystolic = 100
