package finding

import (
	"math"
	"slices"

	"quietwater/model"
	"quietwater/model/numbers"
)

// egfrChange: a fall or rise of eGFR beyond what tests differ by themselves.
// After the start of a medicine that lowers it a little, a dip is expected and
// only a larger fall is a call.
var egfrChange = &Rule{
	ID:        "egfr-change",
	Urgencies: []Urgency{Note, Soon},
	Reads:     []model.Code{"creatinine", "egfr", "cystatin-c", "acei-or-arb", "sglt2-inhibitor", "dialysis", "transplant"},
	Judges:    []model.Code{"creatinine", "egfr", "cystatin-c"},
	About:     []string{"egfr"},
	Limits: []Limit{
		limit("fall or rise of more than", changePercent, "%", "kdigo2024", "practice point 2.1.3"),
		ours("results apart by", 1, "d"),
		ours("visit within", 14, "d"),
		limit("after starting a medicine, fall of more than", dipPercent, "%", "kdigo2024", "practice point 2.1.4"),
		ours("medicine started within", startDays, "d"),
		ours("then visit within", 7, "d"),
		ours("not taken back, asked about for", changeDays, "d"),
	},
	Cites:    []model.Cite{{Source: "kdigo2024", At: "practice points 2.1.3 and 2.1.4"}},
	Variants: []string{"rise", "dip", "after-start"},
	Eval:     evalEGFRChange,
}

// Changes that count, in hundredths of the earlier number, and how long after
// its start a medicine explains a dip.
const (
	changePercent = 20.0
	dipPercent    = 30.0
	startDays     = 60
)

func evalEGFRChange(r *Rule, h *History) []Finding {
	gs := slices.DeleteFunc(slices.Clone(h.filterings()), func(g numbers.GFR) bool { return g.Ill })
	return h.changes(course{
		n:    len(gs),
		when: func(i int) model.When { return gs[i].When },
		way:  func(from, to int) int { return wayOf(&gs[from], &gs[to]) },
		ends: func(from, to int) bool {
			_, begun, starting := h.starting(gs[to].When)
			return gs[from].Comparable(gs[to]) && !(starting && model.DaysBetween(begun, gs[from].When, h.Zone) > 0)
		},
		tell: func(from, to int) Finding { return h.tellChange(r, &gs[from], &gs[to]) },
	})
}

func (h *History) tellChange(r *Rule, from, to *numbers.GFR) Finding {
	c := biggestChange(from, to)
	medicine, begun, starting := h.starting(to.When)
	before := starting && model.DaysBetween(begun, from.When, h.Zone) <= 0
	ev := append(c.from.evidence(), c.to.evidence()...)
	args := []any{"first", from.When, "before", c.from.said(), "after", c.to.said(), "medicine", medicine}
	switch {
	case c.percent > 0:
		return h.New(r, Soon, "rise", ev, args...).InDays(14)
	case before && c.percent < -dipPercent:
		return h.New(r, Soon, "after-start", ev, args...).InDays(7)
	case before:
		return h.New(r, Note, "dip", ev, args...)
	}
	return h.New(r, Soon, "", ev, args...).InDays(14)
}

// starting finds the medicine begun within 60 days before w, and still taken
// then, that is known to lower eGFR at first.
func (h *History) starting(w model.When) (medicine model.Code, begun model.When, is bool) {
	for _, c := range []model.Code{"acei-or-arb", "sglt2-inhibitor"} {
		since, on := h.since(model.Medicine, c, w)
		if on && model.Within(since, w, startDays*day, h.Zone) && (!is || since.Compare(begun) > 0) {
			medicine, begun, is = c, since, true
		}
	}
	return medicine, begun, is
}

// change is what two readings of the same making prove at least, in hundredths
// of the earlier: negative a fall.
type change struct {
	percent  float64
	from, to reading
}

// wayOf tells whether eGFR fell or rose. A rise that came with a pregnancy or an
// amputation tells nothing of the kidneys.
func wayOf(from, to *numbers.GFR) int {
	c := biggestChange(from, to)
	switch {
	case c.percent < -changePercent:
		return -1
	case c.percent > changePercent && (to.Invalid == "" || to.Invalid == from.Invalid):
		return 1
	}
	return 0
}

// biggestChange sets like against like: our own number against our own, the
// laboratory's against the laboratory's; and only where there is no such pair,
// one against the other.
func biggestChange(from, to *numbers.GFR) change {
	var best change
	if from.Name != to.Name && from.Name != "" && to.Name != "" {
		return best // the children's equation and the adults'
	}
	a, b := readings(from), readings(to)
	alike := false
	for i := range a {
		if a[i].by != "" && b[i].by != "" {
			alike = true
			best = best.orBigger(a[i], b[i])
		}
	}
	if !alike {
		best = best.orBigger(one(a), one(b))
	}
	return best
}

// one is our own reading where there is one, else the laboratory's.
func one(rs [3]reading) reading {
	if rs[0].by != "" {
		return rs[0]
	}
	return rs[2]
}

func (c change) orBigger(from, to reading) change {
	lo, hi := proves(from.number, from.bound)
	newLo, newHi := proves(to.number, to.bound)
	percent := 0.0
	switch {
	case newHi < lo:
		percent = -100 * (lo - newHi) / lo
	case newLo > hi:
		percent = 100 * (newLo - hi) / hi
	}
	percent = math.Round(percent*1e9) / 1e9 // 28 is 20 of 100 below 35, whatever its last binary digit
	if math.Abs(percent) > math.Abs(c.percent) {
		return change{percent, from, to}
	}
	return c
}
