package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/renal"
)

// kidneyInjury: creatinine that rose quickly is a call the same day, or an
// emergency by its size, whatever else is known of the kidneys. Dialysis moves
// creatinine by itself.
var kidneyInjury = &Rule{
	ID:        "kidney-injury",
	Urgencies: []Urgency{Today, Emergency},
	Reads:     []model.Code{"creatinine", "dialysis", "transplant", "acei-or-arb", "diuretic", "nsaid"},
	Judges:    []model.Code{"creatinine"},
	About:     []string{"kidney-injury", "creatinine"},
	Limits: []Limit{
		limit("times the lowest of the week before, or the usual, from", 1.5, "ratio", "kdigo-aki2012", "table 2, stage 1"),
		limit("or up within two days by", 26.5, "umol/L", "kdigo-aki2012", "table 2, stage 1"),
		limit("stage 2 from times", 2, "ratio", "kdigo-aki2012", "table 2, stage 2"),
		limit("emergency (stage 3) from times", 3, "ratio", "kdigo-aki2012", "table 2, stage 3"),
		limit("or from", 353.6, "umol/L", "kdigo-aki2012", "table 2, stage 3"),
		limit("or under 18 with eGFR below", 35, "mL/min/{1.73_m2}", "kdigo-aki2012", "table 2, stage 3"),
		{"usual: median from days before", 8, "d", model.Cite{Source: model.CommonPractice}},
		{"to days before", 365, "d", model.Cite{Source: model.CommonPractice}},
		ours("an earlier rise stands for", 7, "d"),
	},
	Cites: []model.Cite{{Source: "kdigo-aki2012", At: "table 2"},
		{Source: "blakeman2016", At: "abstract: 72 hours are too long where somebody is ill"}, {Source: model.OurChoice}},
	Variants:   []string{"usual", "severe", "severe-usual"},
	Supersedes: []string{"egfr-change"},
	Eval:       evalKidneyInjury,
}

func evalKidneyInjury(r *Rule, h *History) []Finding {
	all := h.creatinines()
	var fs []Finding
	for _, i := range h.rises(all, len(h.answers[r.ID]) > 0) {
		if f := h.injuryFinding(r, i); i.stands || h.answeredBefore(f, all[i.at+1:]) {
			fs = append(fs, f)
		}
	}
	return h.standing(fs)
}

func (h *History) injuryFinding(r *Rule, i injury) Finding {
	variant, u := "", Today
	switch usual := i.Against == renal.AgainstUsual; {
	case i.Stage == 3 && usual:
		variant, u = "severe-usual", Emergency
	case i.Stage == 3:
		variant, u = "severe", Emergency
	case usual:
		variant = "usual"
	}
	ev := append([]Evidence{}, i.before...)
	f := h.New(r, u, variant, append(ev, i.Evidence), "value", i.shown(), "before", i.baseline(), "first", i.Baseline.When,
		"times", decimal(i.Ratio, 1, ""), "stage", i.Stage, "whom", h.whom(i.When))
	return h.tell(f, i.When, tellMedicines...)
}

// injury is a result of creatinine that meets the definition.
type injury struct {
	result
	renal.Injury
	before []Evidence // that it is compared with; none for a median
	at     int        // its place among the results
	stands bool
}

// baseline is what it is compared with: as typed, or in the same unit.
func (i injury) baseline() model.Quantity {
	if len(i.before) > 0 {
		return result{Evidence: i.before[0]}.shown()
	}
	if i.Value.Unit == "mg/dL" {
		return decimal(i.Baseline.MgDL, 2, "mg/dL")
	}
	return decimal(i.Baseline.MgDL*88.4, 0, "umol/L")
}

// creatinines are the results that can be compared, none where dialysis is on.
func (h *History) creatinines() []result {
	all := h.results("creatinine")
	out := all[:0]
	for _, r := range all {
		if r.bound == 0 && !h.onAt(model.Condition, "dialysis", r.When) {
			out = append(out, r)
		}
	}
	return out
}

// injuries are the rises of creatinine that stand.
func (h *History) injuries() []injury {
	return slices.DeleteFunc(h.rises(h.creatinines(), false), func(i injury) bool { return !i.stands })
}

// rises are the results that meet the definition, the newest first: the newest
// result, and those of the week before it that no later, lower result took
// back. Others are told of only where replaced is asked for.
func (h *History) rises(all []result, replaced bool) []injury {
	var out []injury
	var back []result // that met nothing
	var mg []renal.Creatinine
	it, _ := model.Find(model.Lab, "creatinine")
	for _, r := range all {
		x, _ := it.In(r.Value, "mg/dL")
		mg = append(mg, renal.Creatinine{When: r.When, MgDL: x})
	}
	for n := len(all) - 1; n >= 0; n-- {
		r := all[n]
		near := h.stands(r, all[n+1:]) || model.Within(r.When, all[len(all)-1].When, 7*day, h.Zone)
		if !near && !replaced {
			break
		}
		found, met := h.injuryOf(mg[n], mg[:n])
		if !met {
			back = append(back, r)
			continue
		}
		i := injury{result: r, Injury: found, at: n, stands: near && !h.takenBack(r, back)}
		for _, o := range all[:n] {
			if found.Against != renal.AgainstUsual && o.When.Compare(found.Baseline.When) == 0 {
				i.before = []Evidence{o.Evidence}
			}
		}
		out = append(out, i)
	}
	return out
}

func (h *History) takenBack(r result, back []result) bool {
	for _, b := range back {
		if b.x < r.x && h.isLater(r.When, b.When) {
			return true
		}
	}
	return false
}

// injuryOf judges one creatinine; of the eGFR it makes use only under 18.
func (h *History) injuryOf(c renal.Creatinine, earlier []renal.Creatinine) (renal.Injury, bool) {
	age, egfr := -1.0, 0.0
	if b := h.Facts.Birth; !b.IsZero() {
		age = renal.Exact(b, c.When)
		egfr, _ = renal.U25Creatinine(c.MgDL, h.Facts.HeightCM, age, renal.Sex(h.Facts.Sex))
	}
	return renal.InjuryOf(c, earlier, age, egfr, h.Zone)
}
