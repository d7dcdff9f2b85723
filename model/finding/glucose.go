package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// glucose: sugar in urine is news where no diabetes and no medicine explains
// it, and pressing with thirst and lost weight or ketones.
var glucose = &Rule{
	ID:        "glucose",
	Urgencies: []Urgency{Note, Mention, Soon, Today},
	Reads:     []model.Code{model.Glucose, model.Ketones, "thirst", "weight", "sglt2-inhibitor", "diabetes"},
	About:     []string{"glucose"},
	Limits: []Limit{
		{"grade from", grade(model.Plus1), "1+", model.Cite{Source: model.CommonPractice}},
		ours("visit within", 7, "d"),
		ours("thirst from", 2, "severity"),
		ours("thirst within", 72, "h"),
		ours("ketones from", grade(model.Plus1), "1+"),
		ours("weight down by more than", lostKG, "kg"),
		ours("within", lostDays, "d"),
	},
	Cites:    []model.Cite{{Source: "danne2019", At: "how the medicine acts"}, {Source: "nhs-ketoacidosis", At: "symptoms"}},
	Variants: []string{"medicine", "diabetes", "thirst"},
	Eval:     evalGlucose,
}

// A loss of weight that belongs to high sugar.
const (
	lostKG   = 2.0
	lostDays = 30
)

func evalGlucose(r *Rule, h *History) []Finding {
	return h.perTest(model.Glucose, func(t Test, p strip.Pad, newest bool) (Finding, bool) {
		if !p.Positive(model.Plus1) {
			return Finding{}, false
		}
		at := t.When()
		ev := t.Evidence(model.Glucose)
		args := []any{"grade", p.Grade}
		thirst, dry := h.near(at, SymptomSpan, 2, "thirst")
		k, hasKetones := t.Verdict.Pad(model.Ketones)
		var lost []Evidence
		if dry {
			lost = h.lostWeight(at)
		}
		switch {
		case dry && hasKetones && k.Positive(model.Plus1):
			return h.New(r, Today, "thirst", append(t.Evidence(model.Glucose, model.Ketones), thirst), args...), true
		case len(lost) > 0:
			return h.New(r, Today, "thirst", append(append(ev, lost...), thirst), args...), true
		case h.onThen(model.Medicine, "sglt2-inhibitor", at):
			return h.New(r, Note, "medicine", ev, args...), newest
		case h.onAt(model.Condition, "diabetes", at):
			return h.New(r, Mention, "diabetes", ev, args...), newest
		}
		return h.New(r, Soon, "", ev, args...).InDays(7), true
	})
}

// lostWeight finds the newest weight within three days of a time that lies
// well below another of the month before. A dialysis session moves kilograms,
// so there it says nothing.
func (h *History) lostWeight(at model.When) []Evidence {
	if h.onAt(model.Condition, "dialysis", at) {
		return nil
	}
	it, _ := model.Find(model.Vital, "weight")
	for _, late := range slices.Backward(h.about(model.Vital, "weight", at, SymptomSpan)) {
		low, ok := it.In(late.Value, "kg")
		if !ok || !model.Within(at, late.When, SymptomSpan, h.Zone) {
			continue
		}
		for _, e := range h.about(model.Vital, "weight", late.When, lostDays*day) {
			if e == late {
				break
			}
			high, ok := it.In(e.Value, "kg")
			if ok && model.Within(e.When, late.When, lostDays*day, h.Zone) && round(high-low+100, 1e6) > 100+lostKG {
				return []Evidence{e, late}
			}
		}
	}
	return nil
}
