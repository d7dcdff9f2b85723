package finding

import (
	"slices"

	"quietwater/model"
)

// severeSymptom: whatever stands at 3 is never passed over in silence. One
// that has stood there before is told at the next visit.
var severeSymptom = &Rule{
	ID:        "severe-symptom",
	Urgencies: []Urgency{Mention, Soon, Today},
	Reads:     severeReads(),
	About:     aboutSymptoms(),
	Limits: []Limit{
		ours("from", 3, "severity"),
		ours("new: not at 3 for", NewDays, "d"),
		ours("visit within", 2, "d"),
		ours("looks back", 72, "h"),
	},
	Cites:    []model.Cite{{Source: model.OurChoice}},
	Variants: []string{"today", "long-standing"},
	Eval:     evalSevereSymptom,
}

// severeToday are the symptoms that, newly at 3, do not wait two days.
var severeToday = []model.Code{"belly-pain", "weakness", "headache", "flank-pain"}

func severeReads() []model.Code {
	var out []model.Code
	for _, it := range model.ItemsOf(model.Symptom) {
		if !isRedFlag(it.Code) {
			out = append(out, it.Code)
		}
	}
	return out
}

func aboutSymptoms() []string {
	var out []string
	for _, c := range severeReads() {
		out = append(out, string(c))
	}
	return out
}

func evalSevereSymptom(r *Rule, h *History) []Finding {
	var out []Finding
	for _, c := range r.Reads {
		// On dialysis little or no urine is usual.
		if (c == "passing-less" || c == "passing-none") && h.On(model.Condition, "dialysis") {
			continue
		}
		fs := h.perRecord(c, func(e Evidence) (Finding, bool) {
			if e.Value.Number < 3 {
				return Finding{}, false
			}
			f := h.severe3(r, e)
			f.About = []string{string(c)}
			return f, f.Urgency == Today || h.Recent(e.When, SymptomSpan)
		})
		out = append(out, h.standing(fs)...)
	}
	return out
}

func (h *History) severe3(r *Rule, e Evidence) Finding {
	ev := []Evidence{e}
	switch {
	case !h.newly(e, 3):
		return h.New(r, Mention, "long-standing", ev, "what", e.Value.Code)
	case slices.Contains(severeToday, e.Value.Code):
		return h.New(r, Today, "today", ev, "what", e.Value.Code)
	}
	return h.New(r, Soon, "", ev, "what", e.Value.Code).InDays(2)
}
