package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/water"
)

// urineLittle: little urine in a collection of known hours. Single portions
// prove nothing. On dialysis little urine is usual.
var urineLittle = &Rule{
	ID:        "urine-little",
	Urgencies: []Urgency{Today},
	Reads:     []model.Code{"urine", "urine-volume", "urine-hours", "weight", "dialysis"},
	Judges:    []model.Code{"urine", "urine-volume", "urine-hours"},
	About:     []string{"urine", "urine-volume"},
	Limits: []Limit{
		{"under, in a whole day", littleADay, "mL", model.Cite{Source: model.FromMemory}},
		ours("a whole day, from", 23, "h"),
		ours("to", 25, "h"),
		limit("or under", littleRate, "mL/kg/h", "kdigo-aki2012", "table 2, urine output"),
		limit("in a collection from", littleHours, "h", "kdigo-aki2012", "table 2, urine output"),
		ours("with a weight of the", weightHolds, "d before"),
		ours("looks back", 14, "d"),
	},
	Cites:    []model.Cite{{Source: "kdigo-aki2012", At: "table 2, urine output"}, {Source: model.FromMemory}},
	Variants: []string{"rate"},
	Eval:     evalUrineLittle,
}

// Urine that is little.
const (
	littleADay  = 400.0 // mL
	littleRate  = 0.5   // mL an hour and kilogram
	littleHours = 6.0
	weightHolds = 30 // days that a weight is taken for today's

	collectionDays = 14 // how far back collections are looked at
)

func evalUrineLittle(r *Rule, h *History) []Finding {
	var fs []Finding
	for _, c := range slices.Backward(water.Collections(h.Entries, h.Now.Add(-(collectionDays+3)*day))) {
		if !h.Recent(c.When, collectionDays*day) || h.onAt(model.Condition, "dialysis", c.When) {
			continue
		}
		ev := append(evidence(c.Amount, "urine", "urine-volume"), evidence(c.Span, "urine-hours")...)
		args := []any{"read", model.Quantity{Typed: model.FormatNumber(round(c.ML, 1)), UCUM: "mL"},
			"hours", model.Quantity{Typed: model.FormatNumber(c.Hours), UCUM: "h"}}
		w, kilos := h.weightBefore(c.When)
		rate, known := c.Rate(kilos)
		switch {
		case c.WholeDay() && round(c.ML, 1e6) < littleADay:
			fs = append(fs, h.New(r, Today, "", ev, args...))
		case c.Hours >= littleHours && known && round(rate, 1e6) < littleRate:
			fs = append(fs, h.New(r, Today, "rate", append(ev, w), append(args, "weight", kg(kilos))...))
		case c.WholeDay() || c.Hours >= littleHours && known:
			return h.standing(fs) // enough: what lies before it is over
		}
	}
	return h.standing(fs)
}

// weightBefore is the newest weight at most weightHolds days before a time; 0
// where there is none.
func (h *History) weightBefore(at model.When) (Evidence, float64) {
	it, _ := model.Find(model.Vital, "weight")
	for _, e := range slices.Backward(h.about(model.Vital, "weight", at, weightHolds*day)) {
		days := model.DaysBetween(e.When, at, h.Zone)
		if kilos, ok := it.In(e.Value, "kg"); ok && days >= 0 && days <= weightHolds {
			return e, kilos
		}
	}
	return Evidence{}, 0
}
