package finding

import (
	"slices"

	"quietwater/model"
)

// visibleBlood: red urine is seen by a doctor at any age.
var visibleBlood = &Rule{
	ID:        "visible-blood",
	Urgencies: []Urgency{Soon, Today, Emergency},
	Reads:     []model.Code{"visible-blood", "blood-clots", "passing-none", "anticoagulant"},
	About:     []string{"visible-blood"},
	Limits: []Limit{
		ours("visit within", 7, "d"),
		limit("age that says why, from", 45, "a", "nice-ng12", "bladder and renal cancer: visible haematuria"),
		ours("clots or no urine within", 72, "h"),
		ours("looks back", visibleBloodDays, "d"),
	},
	Cites:      []model.Cite{{Source: "nice-ng12", At: "bladder and renal cancer: visible haematuria"}, {Source: "kelly2009", At: "visible haematuria"}},
	Variants:   []string{"from-45", "clots", "transplant", "blocked"},
	Supersedes: []string{"blood-once", "blood-again"},
	Eval:       evalVisibleBlood,
}

// visibleBloodDays is how far back a milder finding looks.
const visibleBloodDays = 14

func evalVisibleBlood(r *Rule, h *History) []Finding {
	var fs []Finding
	for _, c := range []model.Code{"visible-blood", "blood-clots"} {
		fs = append(fs, h.perRecord(c, func(e Evidence) (Finding, bool) { return h.redUrine(r, e) })...)
	}
	return append(h.standing(fs), h.longUnanswered(r, fs)...)
}

// longUnanswered is the newest red urine that nobody answered and that no milder
// finding looks back to. Other symptoms recorded since do not replace it.
func (h *History) longUnanswered(r *Rule, standing []Finding) []Finding {
	last := Evidence{}
	for _, e := range h.Of(model.Symptom, "visible-blood") {
		if e.Value.Number >= 1 {
			last = e
		}
	}
	open := func(f Finding) bool { return h.answerTo(f) == nil }
	if last.When.IsZero() || h.Recent(last.When, visibleBloodDays*day) || slices.ContainsFunc(standing, open) {
		return nil
	}
	f := h.New(r, Soon, "", distinct(last)).asLapsed()
	if !open(f) {
		return nil
	}
	return []Finding{f}
}

// redUrine is what one record calls for. A blood thinner does not explain blood
// away (AUA/SUFU), and whoever answers the telephone must know of it.
func (h *History) redUrine(r *Rule, e Evidence) (Finding, bool) {
	f, ok := h.redUrineOf(r, e)
	return h.tell(f, e.When, "anticoagulant"), ok
}

func (h *History) redUrineOf(r *Rule, e Evidence) (Finding, bool) {
	clot, clots := h.near(e.When, SymptomSpan, 1, "blood-clots")
	none, blocked := h.near(e.When, SymptomSpan, 1, "passing-none")
	switch {
	case clots && blocked:
		return h.New(r, Emergency, "blocked", distinct(e, clot, none)), true
	case clots:
		return h.New(r, Today, "clots", distinct(e, clot)), true
	case h.onAt(model.Condition, "transplant", e.When):
		return h.New(r, Today, "transplant", distinct(e)), true
	case !h.Recent(e.When, visibleBloodDays*day):
		return Finding{}, false
	}
	variant := ""
	if age, known := h.Facts.AgeYears(h.Now); known && age >= 45 {
		variant = "from-45"
	}
	return h.New(r, Soon, variant, distinct(e)).InDays(7), true
}

// distinct lists evidence once each.
func distinct(es ...Evidence) []Evidence {
	var out []Evidence
	seen := map[Evidence]bool{}
	for _, e := range es {
		if !seen[e] {
			seen[e] = true
			out = append(out, e)
		}
	}
	return out
}
