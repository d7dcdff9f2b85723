package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// lateReading: a pad read outside its time shows a colour that means nothing.
var lateReading = &Rule{
	ID:        "late-reading",
	Urgencies: []Urgency{Retest},
	Reads:     []model.Code{"seconds-after-dip"},
	About:     []string{"late"},
	Limits: []Limit{
		ours("before its time by", 5, "s"),
		ours("after its time by", 20, "s"),
		ours("after the dip, where no read times are known", strip.LateUnknownKind, "s"),
		ours("again within", repeatDays, "d"),
	},
	Cites: []model.Cite{{Source: model.CommonPractice}},
	Eval: func(r *Rule, h *History) []Finding {
		t, ok := h.newestTest()
		if !ok {
			return nil
		}
		pads := t.pads(carries(strip.Late, strip.Early))
		if len(pads) == 0 {
			return nil
		}
		return []Finding{h.New(r, Retest, "", append(pads, t.Evidence("seconds-after-dip")...), "n", len(pads)).DueIn(repeat(t))}
	},
}
