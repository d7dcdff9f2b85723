package finding

import (
	"quietwater/model"
)

// calcium: too much and too little both disturb the heart and the nerves. What
// counts is calcium adjusted for albumin, where the sheet gives both.
var calcium = &Rule{
	ID:        "calcium",
	Urgencies: []Urgency{Today, Emergency},
	Reads:     []model.Code{"calcium", "albumin", "dialysis", "transplant"},
	Judges:    []model.Code{"calcium"},
	About:     []string{"calcium"},
	Limits: []Limit{
		limit("high from", calciumHigh, "mmol/L", "walsh2016", "severity: 3.0 to 3.5, prompt treatment"),
		limit("emergency above", calciumHighest, "mmol/L", "walsh2016", "severity: above 3.5, urgent correction"),
		ours("low below", calciumLow, "mmol/L"),
		limit("emergency below", calciumLowest, "mmol/L", "turner2016", "presentation: below 1.9"),
		// Textbooks and laboratories print 0.02; the paper itself found 0.025.
		{"adjusted by", albuminPart, "mmol/g", model.Cite{Source: model.CommonPractice}},
		limit("for albumin that differs from", albuminUsual, "g/L", "payne1973", "abstract: 4.0 g/100 ml"),
	},
	Cites: []model.Cite{{Source: "walsh2016", At: "severity; measurements should be adjusted for albumin"},
		{Source: "turner2016", At: "clinical presentation"}, {Source: "payne1973", At: "abstract"},
		{Source: "lian2018", At: "abstract: with eGFR below 60 adjusting tells no more"}},
	Variants: []string{"very-high", "low", "very-low"},
	Eval:     evalCalcium,
}

// Calcium in mmol/L, where it calls for somebody; and how albumin moves it.
const (
	calciumHigh    = 3.0
	calciumHighest = 3.5
	calciumLow     = 2.0
	calciumLowest  = 1.9
	albuminUsual   = 40.0 // g/L
	albuminPart    = 0.02 // mmol of calcium that one gram of albumin holds
)

func evalCalcium(r *Rule, h *History) []Finding {
	return h.perResult(r, h.results("calcium"), func(c result) (Finding, bool) {
		ev := []Evidence{c.Evidence}
		if c.albumin != nil {
			ev = append(ev, *c.albumin)
		}
		args := []any{"when", c.When, "read", c.readCalcium(), "whom", h.whom(c.When)}
		var f Finding
		switch {
		case c.above(calciumHighest):
			f = h.New(r, Emergency, "very-high", ev, args...)
		case c.below(calciumLowest):
			f = h.New(r, Emergency, "very-low", ev, args...)
		case c.atLeast(calciumHigh):
			f = h.New(r, Today, "", ev, args...)
		case c.below(calciumLow):
			f = h.New(r, Today, "low", ev, args...)
		default:
			return Finding{}, false
		}
		return h.atUnit(f, c.When), true
	})
}

// adjusted is calcium as it would be with an albumin of 40 g/L, by the albumin
// of the same sheet. Little albumin makes calcium look low, so an albumin that
// lies below a limit leaves the adjusted calcium above one.
func (h *History) adjusted(c result) result {
	it, _ := model.Find(model.Lab, "albumin")
	for _, e := range h.about(model.Lab, "albumin", c.When, 0) {
		gL, ok := it.In(e.Value, "g/L")
		if !ok || e.When.Compare(c.When) != 0 {
			continue
		}
		bound := map[byte]byte{'<': '>', '>': '<'}[e.Value.Bound()]
		if bound != 0 && c.bound != 0 && bound != c.bound {
			continue // together they prove nothing
		}
		c.x, c.bound, c.albumin = round(c.x+albuminPart*(albuminUsual-gL), 1e6), max(bound, c.bound), &e
		break
	}
	return c
}

// readCalcium says what the sheet had and what was made of it, in its own unit.
func (r result) readCalcium() model.Msg {
	if r.albumin == nil {
		return model.T("finding.read.calcium", "value", r.shown())
	}
	sum := decimal(r.x, 2, "mmol/L")
	if r.Value.Unit == "mg/dL" {
		sum = decimal(r.x*4.008, 1, "mg/dL")
	}
	if r.bound != 0 {
		sum.Typed = string(r.bound) + sum.Typed
	}
	return model.T("finding.read.calcium-adjusted", "value", r.shown(),
		"albumin", result{Evidence: *r.albumin}.shown(), "adjusted", sum)
}
