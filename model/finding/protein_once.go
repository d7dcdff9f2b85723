package finding

import (
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// proteinOnce: one positive asks for another test the next day.
var proteinOnce = &Rule{
	ID:        "protein-once",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{model.Protein, model.Albumin, model.Creatinine, model.SpecificGravity, model.PH},
	About:     []string{"protein"},
	Limits: []Limit{
		{"grade from", 2, "1+", model.Cite{Source: "kdigo2012", At: "table 7"}},
		{"again from", 18, "h", model.Cite{Source: model.OurChoice}},
		{"again until", 48, "h", model.Cite{Source: model.OurChoice}},
		{"concentrated from", strip.ConcentratedFrom, "{SG}", model.Cite{Source: "simerville2005", At: "causes of false results"}},
		// 150 mg/L over the 300 mg/dL that charts print at most is 50 mg/g: 1+ by the ratio.
		ours("albumin without creatinine (50 mg/g at creatinine 300 mg/dL) from", strip.AlbuminAlone, "mg/L"),
		{"alkaline from", strip.AlkalineFrom, "[pH]", model.Cite{Source: "simerville2005", At: "causes of false results"}},
	},
	Cites:    []model.Cite{{Source: "nice-ng203", At: "proteinuria: confirm"}, {Source: "mcadams2024", At: "abstract"}},
	Variants: []string{"doubtful", "no-creatinine"},
	Eval:     evalProteinOnce,
}

func evalProteinOnce(r *Rule, h *History) []Finding {
	tests := h.proteinTests()
	if len(tests) == 0 {
		return nil
	}
	// A negative of the same day is not the retest.
	n := len(tests) - 1
	for n > 0 && !tests[n].positive() && model.DaysBetween(tests[n-1].When(), tests[len(tests)-1].When(), h.Zone) == 0 {
		n--
	}
	t := tests[n]
	if !t.positive() || h.proteinKnown(t.When()) {
		return nil
	}
	if _, j, again := h.againPair(tests); again && j == n {
		return nil // a visit is due, another strip adds nothing
	}
	variant := ""
	switch {
	case carries(strip.NeedsCreatinine)(t.pad):
		variant = "no-creatinine"
	case t.pad.Standing == strip.RetestOnly:
		variant = "doubtful"
	}
	return []Finding{h.New(r, Retest, variant, t.evidence(), "read", t.read()).
		DueIn(after(t.When(), 18*time.Hour, 48*time.Hour))}
}

// daysLater is a span of whole days, its first and last counted from a test's.
func (h *History) daysLater(w model.When, first, last int) Span {
	d := w.DayIn(h.Zone)
	return Span{d.AddDate(0, 0, first), d.AddDate(0, 0, last+1)}
}

// after is a span counted from a test; a test of which only the day is known
// counts from its noon.
func after(w model.When, from, to time.Duration) Span {
	t := w.Time()
	if w.DayOnly() {
		t = t.Add(12 * time.Hour)
	}
	return Span{t.Add(from), t.Add(to)}
}
