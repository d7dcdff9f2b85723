package finding

import "quietwater/model"

// labDue: the laboratory tests are due again, by the doctor's own interval or
// by the guideline's for the person's stage.
var labDue = &Rule{
	ID:        "lab-due",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{"creatinine", "egfr", "acr", "pcr", "lab-interval", "dialysis"},
	About:     []string{"creatinine", "acr"},
	Limits: []Limit{
		ours("told before it is due by", tellDays, "d"),
		ours("due within", tellDays, "d"),
	},
	Cites:    []model.Cite{{Source: "ada2024", At: "section 11, figure: checks a year by stage, after KDIGO"}, {Source: "kdigo2024", At: "2.1.1 and 2.1.2"}},
	Variants: []string{"doctor"},
	Eval:     evalLabDue,
}

const tellDays = 14

func evalLabDue(r *Rule, h *History) []Finding {
	due := h.Numbers.NextTest
	if due.IsZero() || model.At(h.Now).DayIn(h.Zone).Before(due.AddDate(0, 0, -tellDays)) {
		return nil
	}
	variant := ""
	if h.Numbers.ByDoctor {
		variant = "doctor"
	}
	every := model.Quantity{Typed: model.FormatNumber(h.Numbers.EveryMonths), UCUM: "mo"}
	f := h.New(r, Retest, variant, sheets(h.Numbers.NextFrom...), "every", every, "due", model.OnDay(due))
	return []Finding{f.DueIn(Span{due, due.AddDate(0, 0, tellDays)})}
}
