package finding

import "quietwater/model"

// proteinTrace: a trace is asked again on a first-morning sample; it is never
// called nothing.
var proteinTrace = &Rule{
	ID:        "protein-trace",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{model.Protein},
	About:     []string{"protein"},
	Limits: []Limit{
		limit("grade", grade(model.Trace), "trace", "kdigo2012", "table 7"),
		ours("again within", 7, "d"),
	},
	Cites: []model.Cite{{Source: "mcadams2024", At: "abstract"}, {Source: "frontmed2023", At: "abstract"}, {Source: "sumida2020", At: "abstract"}},
	Eval:  evalProteinTrace,
}

func evalProteinTrace(r *Rule, h *History) []Finding {
	tests := h.proteinTests()
	if len(tests) == 0 {
		return nil
	}
	t := tests[len(tests)-1]
	if t.pad.Grade != model.Trace || h.proteinKnown(t.When()) {
		return nil
	}
	morning := t.When().DayIn(h.Zone).AddDate(0, 0, 1)
	return []Finding{h.New(r, Retest, "", t.evidence(), "read", t.read()).
		DueIn(Span{morning, t.When().DayIn(h.Zone).AddDate(0, 0, 8)})}
}
