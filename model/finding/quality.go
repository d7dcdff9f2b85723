package finding

import (
	"slices"

	"quietwater/model/strip"
)

// newestTest is the last strip test findings look at.
func (h *History) newestTest() (Test, bool) {
	tests := h.RecentTests()
	if len(tests) == 0 {
		return Test{}, false
	}
	return tests[len(tests)-1], true
}

// pads lists the readings of a test that carry a reason, as evidence.
func (t Test) pads(is func(strip.Pad) bool) []Evidence {
	var out []Evidence
	for _, p := range t.Verdict.Pads {
		if is(p) {
			out = append(out, t.Evidence(p.Value.Code)...)
		}
	}
	return out
}

func carries(rs ...strip.Reason) func(strip.Pad) bool {
	return func(p strip.Pad) bool {
		return slices.ContainsFunc(rs, func(r strip.Reason) bool { return slices.Contains(p.Reasons, r) })
	}
}

// repeatDays is how long a test on a doubtful strip may wait to be repeated.
const repeatDays = 2

func (h *History) repeat(t Test) Span { return h.daysLater(t.When(), 0, repeatDays) }
