package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/numbers"
	"quietwater/model/renal"
)

// acrDoubled: twice the albumin of last time is more than tests differ by
// themselves, once there is enough of it to matter.
var acrDoubled = &Rule{
	ID:        "acr-doubled",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"acr", "dialysis", "transplant"},
	Judges:    []model.Code{"acr"},
	About:     []string{"acr"},
	Limits: []Limit{
		limit("times the last", 2, "ratio", "kdigo2024", "practice point 2.1.5"),
		limit("and now from", 30, "mg/g", "kdigo2012", "table 5 (A2)"),
		limit("or", 3, "mg/mmol", "kdigo2012", "table 5 (A2)"),
		ours("results apart by", 1, "d"),
		ours("visit within", 14, "d"),
		ours("not taken back, asked about for", changeDays, "d"),
	},
	Cites: []model.Cite{{Source: "kdigo2024", At: "practice point 2.1.5"}},
	Eval:  evalACRDoubled,
}

// raisedLeak is where albumin against creatinine is raised, by the unit.
var raisedLeak = map[string]float64{"mg/g": 30, "mg/mmol": 3}

func evalACRDoubled(r *Rule, h *History) []Finding {
	if h.onDialysis() {
		return nil
	}
	as := slices.DeleteFunc(slices.Clone(h.Numbers.Albumin), func(a numbers.Albumin) bool {
		return a.FromPCR || a.Ill || h.onThen(model.Condition, "dialysis", a.When)
	})
	as = anew(h, as, func(a numbers.Albumin) model.When { return a.When })
	return h.changes(course{
		n:    len(as),
		when: func(i int) model.When { return as[i].When },
		way: func(from, to int) int {
			if hasDoubled(as[from].Value, as[to].Value) {
				return 1
			}
			return 0
		},
		ends: func(from, _ int) bool { return as[from].Value.Bound() == 0 },
		tell: func(from, to int) Finding {
			return h.New(r, Soon, "", sheets(as[from].Result, as[to].Result), "first", as[from].When,
				"before", amountOf(as[from].Value), "after", amountOf(as[to].Value)).InDays(14)
		},
	})
}

// hasDoubled reports that the later value is raised and proves at least twice
// the earlier; of nothing at all, any raised value is more than twice.
func hasDoubled(from, to model.Value) bool {
	raised, _ := reaches(to, raisedLeak[to.Unit])
	twice, _ := renal.Doubled(from, to)
	return raised && (twice || from.Number == 0)
}
