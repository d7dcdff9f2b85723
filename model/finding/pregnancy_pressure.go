package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// pregnancyPressure: from week 20 to four weeks after birth lower pressures
// count, and either number does.
var pregnancyPressure = &Rule{
	ID:        "pregnancy-pressure",
	Urgencies: []Urgency{Soon, Today, Emergency},
	Reads: []model.Code{"systolic", "diastolic", "pregnancy", model.Protein, model.Albumin, model.Creatinine, "headache", "vision-trouble", "belly-pain",
		"face-swelling", "ankle-swelling", "vomiting"},
	Judges: []model.Code{"systolic", "diastolic"},
	About:  []string{"systolic", "diastolic"},
	Limits: []Limit{
		limit("from week", 20, "wk", "nice-ng133", "1.1.1"),
		ours("to weeks after birth", 4, "wk"),
		limit("emergency, systolic from", birthSevereSystolic, "mm[Hg]", "nice-ng133", "severe hypertension"),
		limit("or diastolic from", birthSevereDiastolic, "mm[Hg]", "nice-ng133", "severe hypertension"),
		limit("within a day, systolic from", birthHighSystolic, "mm[Hg]", "nice-ng133", "hypertension"),
		limit("or diastolic from", birthHighDiastolic, "mm[Hg]", "nice-ng133", "hypertension"),
		limit("within two days, systolic from", meanSystolic, "mm[Hg]", "isshp2021", "home pressure"),
		limit("or diastolic from", meanDiastolic, "mm[Hg]", "isshp2021", "home pressure"),
		limit("the same day with protein from", grade(model.Plus1), "1+", "nice-ng133", "pre-eclampsia"),
		limit("or headache, belly pain, ankle swelling, vomiting from", 2, "severity", "nice-ng133", "1.1.1"),
		limit("or vision trouble, face swelling from", 1, "severity", "nice-ng133", "1.1.1"),
		ours("signs within", 72, "h"),
		ours("looks back", PressureDays, "d"),
	},
	Cites:      []model.Cite{{Source: "nice-ng133", At: "1.1.1"}, {Source: "isshp2021", At: "home pressure"}},
	Variants:   []string{"severe", "signs", "high"},
	Supersedes: []string{"pressure-crisis", "pressure-home-mean"},
	Eval:       evalPregnancyPressure,
}

// Pressures in mm[Hg] late in pregnancy.
const (
	birthSevereSystolic  = 160
	birthSevereDiastolic = 110
	birthHighSystolic    = 140
	birthHighDiastolic   = 90
)

func evalPregnancyPressure(r *Rule, h *History) []Finding {
	rs := h.pressures()
	var fs []Finding
	for i, p := range rs {
		newest := i == len(rs)-1
		if !p.Either(meanSystolic, meanDiastolic) || !h.latePregnancy(p.When) {
			continue
		}
		ev := h.pressureEvidence(p)
		args := []any{"read", readPressure(p.Systolic, p.Diastolic)}
		high := p.Either(birthHighSystolic, birthHighDiastolic)
		signs := h.birthSigns(p.When)
		switch {
		case p.Either(birthSevereSystolic, birthSevereDiastolic):
			fs = append(fs, h.New(r, Emergency, "severe", ev, args...))
		case high && len(signs) > 0:
			fs = append(fs, h.New(r, Today, "signs", append(ev, signs...), args...))
		case high && newest:
			fs = append(fs, h.New(r, Soon, "high", ev, args...).InDays(1))
		case newest:
			fs = append(fs, h.New(r, Soon, "", ev, args...).InDays(2))
		}
	}
	return h.standing(fs)
}

// birthSigns are protein on a strip that counts, and the signs of
// pre-eclampsia, near a time.
func (h *History) birthSigns(at model.When) []Evidence {
	out := append(h.each(at, SymptomSpan, 2, "headache", "belly-pain", "ankle-swelling", "vomiting"),
		h.each(at, SymptomSpan, 1, "vision-trouble", "face-swelling")...)
	for _, t := range h.RecentTests() {
		p, ok := t.Verdict.Protein()
		if ok && p.Standing > strip.NotJudged && p.Positive(model.Plus1) && model.Within(t.When(), at, SymptomSpan, h.Zone) {
			out = append(out, t.Evidence(model.Protein, model.Albumin, model.Creatinine)...)
		}
	}
	return out
}
