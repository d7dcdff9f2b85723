package finding

import "quietwater/model"

// weightGain: weight that comes in days is water. On dialysis each session
// moves it by kilograms, and only breathlessness or the unit's own limit count.
var weightGain = &Rule{
	ID:        "weight-gain",
	Urgencies: []Urgency{Today, Emergency},
	Reads:     []model.Code{"weight", "breathless-at-rest", "breathlessness", "dialysis"},
	Judges:    []model.Code{"weight"},
	About:     []string{"weight"},
	Limits: []Limit{
		limit("up by more than", gainKG, "kg", "esc-weight", "more than 2 kg in 3 days"),
		limit("within", gainDays, "d", "esc-weight", "more than 2 kg in 3 days"),
		ours("breathless at rest from", 1, "severity"),
		ours("breathless when moving from", 2, "severity"),
		ours("breathless within", 72, "h"),
		ours("looks back", WeightDays, "d"),
	},
	Cites:      []model.Cite{{Source: "esc-weight", At: "more than 2 kg in 3 days"}, {Source: model.OurChoice}},
	Variants:   []string{"breathless", "limit"},
	Supersedes: []string{"fluid-limit"},
	Eval:       evalWeightGain,
}

// A gain of weight that counts, in any rule.
const (
	gainKG   = 2.0
	gainDays = 3
)

func evalWeightGain(r *Rule, h *History) []Finding {
	var fs []Finding
	for _, m := range h.gains() {
		ev := []Evidence{m.from.Evidence, m.to.Evidence}
		args := []any{"by", kg(m.to.kg - m.from.kg), "first", m.from.When}
		short := append(h.each(m.to.When, SymptomSpan, 1, "breathless-at-rest"), h.each(m.to.When, SymptomSpan, 2, "breathlessness")...)
		switch {
		case len(short) > 0:
			fs = append(fs, h.atUnit(h.New(r, Emergency, "breathless", append(ev, short...), args...), m.to.When))
		case !h.onAt(model.Condition, "dialysis", m.to.When):
			fs = append(fs, h.New(r, Today, "", ev, args...))
		}
	}
	return h.standing(append(fs, h.overUnitLimit(r)...))
}

// gains are the days on which more than 2 kg had come within three days.
func (h *History) gains() []moved {
	return h.movedBy(gainDays*day, func(from, to float64) bool { return kilograms(from, to) > gainKG })
}

// overUnitLimit is the newest weight where it lies above what the person's own
// dialysis unit wants to hear of.
func (h *History) overUnitLimit(r *Rule) []Finding {
	most := h.Facts.WeightLimit
	ws := h.weights(0)
	if most == 0 || len(ws) == 0 || !h.On(model.Condition, "dialysis") {
		return nil
	}
	w := ws[len(ws)-1]
	if kilograms(most, w.kg) <= 0 || !h.Recent(w.When, WeightDays*day) {
		return nil
	}
	return []Finding{h.New(r, Today, "limit", []Evidence{w.Evidence}, "read", kg(w.kg), "limit", kg(most))}
}
