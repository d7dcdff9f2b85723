package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// proteinRules are those whose answer "the doctor knows" makes protein known.
var proteinRules = []string{"protein-once", "protein-again", "protein-high", "protein-known"}

// proteinTest is a test whose protein (or albumin) pad may be used.
type proteinTest struct {
	Test
	pad strip.Pad
}

func (t proteinTest) positive() bool { return t.pad.Grade.AtLeast(model.Plus1) }

// firm reports a positive that may count towards a visit, not only a retest.
func (t proteinTest) firm() bool { return t.positive() && t.pad.Standing >= strip.Doubtful }

func (t proteinTest) evidence() []Evidence {
	return t.Evidence(model.Protein, model.Albumin, model.Creatinine, model.SpecificGravity, model.PH)
}

// proteinTests are the recent tests that say something about protein.
func (h *History) proteinTests() []proteinTest {
	var out []proteinTest
	for _, t := range h.RecentTests() {
		if p, ok := t.Verdict.Protein(); ok && p.Standing > strip.NotJudged {
			out = append(out, proteinTest{t, p})
		}
	}
	return out
}

// proteinKnown reports whether protein is nothing new: a laboratory ACR of
// 30 mg/g (3 mg/mmol) or more on record, or the doctor knows.
func (h *History) proteinKnown(at model.When) bool {
	for _, e := range h.Of(model.Lab, "acr") {
		limit := 30.0
		if e.Value.Unit == "mg/mmol" {
			limit = 3
		}
		if e.Value.Number >= limit && e.When.Compare(at) <= 0 {
			return true
		}
	}
	return h.DoctorKnows(at, proteinRules...)
}

// gone reports whether two later tests on different days were negative, which
// is what we ask before a positive is no longer held open.
func (h *History) gone(later []proteinTest) bool {
	var first *proteinTest
	for i, t := range later {
		switch {
		case t.positive():
			first = nil
		case first == nil:
			first = &later[i]
		case model.DaysBetween(first.When(), t.When(), h.Zone) > 0:
			return true
		}
	}
	return false
}
