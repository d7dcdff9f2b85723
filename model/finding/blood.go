package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// bloodTest is a test whose blood pad was graded.
type bloodTest struct {
	Test
	pad strip.Pad
}

func (t bloodTest) positive() bool { return t.pad.Grade.AtLeast(model.Plus1) }

// excluded reports a positive that menstruation or exercise may explain.
func (t bloodTest) excluded() bool {
	return t.positive() && (t.has(strip.MenstruatingNow) || t.has(strip.AfterExercise)) &&
		!t.has(strip.StalePack) && !t.has(strip.Late) && !t.has(strip.Early)
}

func (t bloodTest) has(r strip.Reason) bool {
	for _, x := range t.pad.Reasons {
		if x == r {
			return true
		}
	}
	return false
}

// bloodTests are the recent tests whose blood pad counts, and with them the
// positives that are kept but not counted.
func (h *History) bloodTests() (countable, withExcluded []bloodTest) {
	for _, t := range h.RecentTests() {
		p, ok := t.Verdict.Pad(model.Blood)
		if !ok {
			continue
		}
		b := bloodTest{t, p}
		if p.Standing > strip.NotJudged && p.Grade.Judged() {
			countable = append(countable, b)
		}
		if p.Standing > strip.NotJudged && p.Grade.Judged() || b.excluded() {
			withExcluded = append(withExcluded, b)
		}
	}
	return countable, withExcluded
}

// weekLater is when a blood test is due again.
func (h *History) weekLater(w model.When, days int) Span {
	return h.daysLater(w, days, days+bloodSlackDays)
}

// bloodSlackDays is how many days a retest for blood may wait.
const bloodSlackDays = 7
