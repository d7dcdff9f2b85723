package finding

import (
	"cmp"
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// proteinRules are those whose answer "the doctor knows" makes protein known.
var proteinRules = []string{"protein-once", "protein-again", "protein-high", "protein-known", "protein-and-blood"}

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

// read says what the strip itself showed: a person without a protein pad must
// find her two pads again, not a grade we made of them.
func (t proteinTest) read() model.Msg {
	if t.pad.Value.Code != model.Albumin {
		return model.T("finding.read.protein", "grade", t.pad.Grade)
	}
	albumin := quantity(*t.pad.Value)
	c, ok := t.Verdict.Pad(model.Creatinine)
	if !ok || carries(strip.NeedsCreatinine)(t.pad) {
		return model.T("finding.read.albumin", "albumin", albumin)
	}
	return model.T("finding.read.ratio", "albumin", albumin, "creatinine", quantity(*c.Value))
}

// quantity is a pad's number as it was written, with its unit.
func quantity(v model.Value) model.Quantity {
	it, _ := model.Find(model.Strip, v.Code)
	return model.Quantity{Typed: v.Text(), UCUM: cmp.Or(v.Unit, it.DefaultUnit())}
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
		if raised, _ := reaches(e.Value, raisedLeak[e.Value.Unit]); raised && e.When.Compare(at) <= 0 {
			return true
		}
	}
	return h.DoctorKnows(at, proteinRules...)
}

// usual is the person's usual grade before test i, as known by test j: the
// lower middle of the grades before i, and no less than any grade a doctor has
// said to know by then. ok is false where nothing earlier was recorded.
func (h *History) usual(tests []proteinTest, i, j int) (g model.Grade, ok bool) {
	if i == 0 {
		return model.NoGrade, false
	}
	for _, t := range tests[:j] {
		if h.knownSince(t.When(), tests[j].When()) {
			g = max(g, rankGrade(t.pad.Grade.Rank()))
		}
	}
	ranks := make([]int, i)
	for k, t := range tests[:i] {
		ranks[k] = t.pad.Grade.Rank()
	}
	slices.Sort(ranks)
	return max(g, rankGrade(ranks[(i-1)/2])), true
}

// knownSince reports whether "the doctor knows" was said after a test and
// before another.
func (h *History) knownSince(after, before model.When) bool {
	for _, r := range proteinRules {
		if slices.ContainsFunc(h.answers[r], func(a AnswerRecord) bool {
			return a.Word == "doctor-knows" && a.When.Compare(after) >= 0 && a.When.Compare(before) <= 0
		}) {
			return true
		}
	}
	return false
}

// rankGrade turns a rank from 0 back into its grade.
func rankGrade(rank int) model.Grade { return model.Neg + model.Grade(rank) }

// againPair finds the newest two positives that together call for a visit.
func (h *History) againPair(tests []proteinTest) (i, j int, ok bool) {
	for j := len(tests) - 1; j >= 0; j-- {
		if !tests[j].firm() || h.proteinKnown(tests[j].When()) {
			continue
		}
		if h.gone(tests[j+1:]) {
			return 0, 0, false
		}
		for i := j - 1; i >= 0; i-- {
			days := model.DaysBetween(tests[i].When(), tests[j].When(), h.Zone)
			soon := days >= 1 && model.Within(tests[i].When(), tests[j].When(), 14*day, h.Zone)
			apart := days >= 7 && j-i <= 2
			if tests[i].firm() && (soon || apart) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
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
