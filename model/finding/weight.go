package finding

import (
	"slices"
	"time"

	"quietwater/model"
)

// weighed is what a day says of the weight: its last value (clinical decision 9).
type weighed struct {
	Evidence
	kg float64
}

// WeightDays is how far back a change of weight is looked for (our choice: as
// for pressure measured at home).
const WeightDays = 14

// weights lists the days' weights from some days before the last WeightDays.
func (h *History) weights(before time.Duration) []weighed {
	it, _ := model.Find(model.Vital, "weight")
	var out []weighed
	for _, e := range h.about(model.Vital, "weight", model.At(h.Now), WeightDays*day+before) {
		kg, ok := it.In(e.Value, "kg")
		if !ok {
			continue
		}
		if n := len(out); n > 0 && model.DaysBetween(out[n-1].When, e.When, h.Zone) == 0 {
			out = out[:n-1]
		}
		out = append(out, weighed{e, kg})
	}
	return out
}

// moved is a weight that lies away from an earlier one by more, or no less,
// than a rule's limit.
type moved struct{ from, to weighed }

// movedBy finds the days in the last WeightDays on which far held between the
// weight and one at most d before it, and no later weight is back. Of the
// earlier weights the one furthest away is taken.
func (h *History) movedBy(d time.Duration, far func(from, to float64) bool) []moved {
	ws := h.weights(d)
	var out []moved
	for j, to := range ws {
		if !h.Recent(to.When, WeightDays*day) {
			continue
		}
		var best *weighed
		for i := range ws[:j] {
			from := ws[i]
			if !model.Within(from.When, to.When, d, h.Zone) || !far(from.kg, to.kg) {
				continue
			}
			if best == nil || far(best.kg, to.kg) && apart(from.kg, to.kg) > apart(best.kg, to.kg) {
				best = &ws[i]
			}
		}
		if best == nil || slices.ContainsFunc(ws[j+1:], func(w weighed) bool { return !far(best.kg, w.kg) }) {
			continue
		}
		out = append(out, moved{*best, to})
	}
	return out
}

func apart(a, b float64) float64 { return max(a-b, b-a) }

// kilograms is a difference without the rest that conversions leave in the last
// binary digits: 2 kg in pounds are 2 kg.
func kilograms(from, to float64) float64 { return round(1000+to-from, 1e6) - 1000 }

// kg writes a weight for a text.
func kg(x float64) model.Quantity {
	return model.Quantity{Typed: model.FormatNumber(round(x, 10)), UCUM: "kg"}
}
