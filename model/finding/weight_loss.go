package finding

import "quietwater/model"

// weightLoss: weight that goes in days is lost water. On dialysis a session
// takes it.
var weightLoss = &Rule{
	ID:        "weight-loss",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"weight", "dialysis"},
	Judges:    []model.Code{"weight"},
	About:     []string{"weight"},
	Limits: []Limit{
		limit("down by", fastLossKG, "kg", "watson2022", "abstract"),
		limit("within", fastLossDays, "d", "watson2022", "abstract"),
		ours("looks back", WeightDays, "d"),
	},
	Cites: []model.Cite{{Source: "watson2022", At: "abstract"}},
	Eval: func(r *Rule, h *History) []Finding {
		var fs []Finding
		for _, m := range h.movedBy(fastLossDays*day, func(from, to float64) bool { return kilograms(to, from) >= fastLossKG }) {
			if !h.onAt(model.Condition, "dialysis", m.to.When) {
				fs = append(fs, h.New(r, Today, "", []Evidence{m.from.Evidence, m.to.Evidence}, "by", kg(m.from.kg-m.to.kg), "first", m.from.When))
			}
		}
		return h.standing(fs)
	},
}

// A loss of weight that calls for somebody the same day.
const (
	fastLossKG   = 3.0
	fastLossDays = 2
)
