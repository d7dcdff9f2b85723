package finding

import (
	"math"

	"quietwater/model"
)

// failureRisk: a risk that kidneys fail within five years is worth a visit from
// where guidelines refer, the first time it is reached.
var failureRisk = &Rule{
	ID:        "failure-risk",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"creatinine", "egfr", "acr", "risk-region", "birth-date", "sex", "dialysis", "transplant", "pregnancy"},
	Judges:    []model.Code{"creatinine", "egfr", "acr"},
	About:     []string{"failure-risk"},
	Limits: []Limit{
		limit("5-year risk from", fromRisk, "of 100", "kdigo2024", "practice point 2.2.1: 3 to 5 of 100"),
		ours("visit within", 30, "d"),
	},
	Cites: []model.Cite{{Source: "kdigo2024", At: "practice point 2.2.1"}, {Source: "tangri2016", At: "table 2 and supplement: four variables"},
		{Source: "ramspek2021", At: "abstract"}, {Source: "fu2022", At: "abstract"}},
	Eval: evalFailureRisk,
}

const fromRisk = 3 // of 100 people

func evalFailureRisk(r *Rule, h *History) []Finding {
	for _, c := range []model.Code{"dialysis", "transplant", "pregnancy"} {
		if h.On(model.Condition, c) {
			return nil
		}
	}
	course := h.Numbers.RiskCourse()
	marks := make([]mark, 0, len(course))
	for i := range course {
		f := &course[i]
		ofHundred := 100 * f.Four.Five
		m := mark{when: f.Latest(), reached: ofHundred >= fromRisk, tell: func() ([]Evidence, []any) {
			return sheets(f.From()...), []any{"risk", min(int(math.Round(ofHundred)), 99), "read", one(readings(&f.GFR)).said(), "acr", amountOf(f.ACR.Value)}
		}}
		marks = append(marks, m)
	}
	m, ok := h.firstTime(r, marks)
	if !ok {
		return nil
	}
	return []Finding{h.New(r, Soon, "", m.evidence, m.args...).InDays(30)}
}
