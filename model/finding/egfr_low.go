package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/numbers"
)

// egfrLow: an eGFR below 30, and below 15, is a call the first time; below 15
// with signs of illness the same day.
var egfrLow = &Rule{
	ID:        "egfr-low",
	Urgencies: []Urgency{Soon, Today},
	Reads: []model.Code{"creatinine", "egfr", "cystatin-c", "vomiting", "itching", "confusion", "breathlessness",
		"dialysis", "transplant"},
	Judges: []model.Code{"creatinine", "egfr", "cystatin-c"},
	About:  []string{"egfr"},
	Limits: []Limit{
		limit("below", lowEGFR, "mL/min/{1.73_m2}", "kdigo2012", "5.1.1: GFR below 30"),
		ours("visit within", 14, "d"),
		limit("or below", veryLowEGFR, "mL/min/{1.73_m2}", "kdigo2012", "table 5 (G5)"),
		ours("visit then within", 3, "d"),
		ours("vomiting, confusion, breathlessness from", 1, "severity"),
		ours("itching from", 2, "severity"),
		ours("within", 72, "h"),
	},
	Cites:      []model.Cite{{Source: "kdigo2012", At: "5.1.1"}, {Source: model.OurChoice}},
	Variants:   []string{"below-15", "below-15-ill"},
	Supersedes: []string{"egfr-change", "rapid-decline", "failure-risk"},
	Eval:       evalEGFRLow,
}

// Where eGFR is low, in mL/min/1.73 m².
const (
	lowEGFR     = 30.0
	veryLowEGFR = 15.0
)

func evalEGFRLow(r *Rule, h *History) []Finding {
	gs := h.filterings()
	var fs []Finding
	veryLow, ok := h.lowFirst(r, gs, veryLowEGFR)
	if ok {
		fs = append(fs, h.tellVeryLow(r, veryLow))
	}
	// One result is told once.
	if low, is := h.lowFirst(r, gs, lowEGFR); is && !(ok && low.when == veryLow.when) {
		fs = append(fs, h.New(r, Soon, "", low.evidence, low.args...).InDays(14))
	}
	return h.standing(fs)
}

func (h *History) tellVeryLow(r *Rule, m mark) Finding {
	signs := slices.Concat(h.lowSigns(m.when), h.lowSigns(model.At(h.Now)))
	signs = slices.DeleteFunc(signs, func(e Evidence) bool {
		return h.answered(r, m.when) && !h.answered(r, e.When) // what came after the answer is not what was answered
	})
	if len(signs) == 0 {
		return h.New(r, Soon, "below-15", m.evidence, m.args...).InDays(3)
	}
	var what []model.Code
	var ev []Evidence
	for i, e := range signs {
		if !slices.Contains(what, e.Value.Code) {
			what = append(what, e.Value.Code)
		}
		if !slices.Contains(signs[:i], e) {
			ev = append(ev, e)
		}
	}
	return h.New(r, Today, "below-15-ill", append(ev, m.evidence...), append(m.args, "what", what)...)
}

// lowSigns are signs of illness near a time that make a very low eGFR urgent.
func (h *History) lowSigns(at model.When) []Evidence {
	return append(h.each(at, SymptomSpan, 1, "vomiting", "confusion", "breathlessness"), h.each(at, SymptomSpan, 2, "itching")...)
}

// lowFirst is the first time below a limit. Results taken in an acute illness
// count, but are no earlier value to one taken when well: kidneys that were hurt
// once and fall slowly later are news.
func (h *History) lowFirst(r *Rule, gs []numbers.GFR, limit float64) (mark, bool) {
	all, well := make([]mark, 0, len(gs)), make([]mark, 0, len(gs))
	for i := range gs {
		g := &gs[i]
		by, low, known := lowReading(g, limit)
		if !known {
			continue
		}
		m := mark{when: g.When, reached: low, tell: func() ([]Evidence, []any) {
			return by.evidence(), []any{"read", by.said(), "first", g.When}
		}}
		all = append(all, m)
		if !g.Ill {
			well = append(well, m)
		}
	}
	if m, ok := h.firstTime(r, well); ok {
		return m, true
	}
	return h.firstTime(r, all)
}

// lowReading gives the reading below a limit, ours or the laboratory's, where
// one is; known is false where a report is only a limit and leaves it open.
func lowReading(g *numbers.GFR, limit float64) (by reading, low, known bool) {
	below, byReport := g.Below(limit)
	switch {
	case !below:
		return reading{}, false, g.Name != "" || g.Bound == 0 || g.Bound == '>' && g.Value >= limit
	case byReport:
		return readings(g)[2], true, true
	case g.Value < limit:
		return readings(g)[0], true, true
	}
	return readings(g)[1], true, true
}
