package finding

import (
	"testing"

	"quietwater/model"
)

// TestSupersede: a finding hides another only when it asks for a doctor no
// later.
func TestSupersede(t *testing.T) {
	rules := []*Rule{{ID: "a", Supersedes: []string{"b"}}, {ID: "b"}}
	for _, c := range []struct {
		a, b   Finding
		hidden bool
	}{
		{Finding{Urgency: Today}, Finding{Urgency: Soon, Days: 2}, true},
		{Finding{Urgency: Today}, Finding{Urgency: Today}, true},
		{Finding{Urgency: Soon, Days: 2}, Finding{Urgency: Soon, Days: 7}, true},
		{Finding{Urgency: Soon, Days: 7}, Finding{Urgency: Soon, Days: 7}, true},
		{Finding{Urgency: Soon, Days: 7}, Finding{Urgency: Soon, Days: 2}, false},
		{Finding{Urgency: Soon, Days: 2}, Finding{Urgency: Today}, false},
		{Finding{Urgency: Note}, Finding{Urgency: Retest}, false},
	} {
		c.a.Rule, c.b.Rule = "a", "b"
		left := supersede([]Finding{c.a, c.b}, rules)
		if hidden := len(left) == 1; hidden != c.hidden {
			t.Errorf("%s %d over %s %d: hidden %v", c.a.Urgency, c.a.Days, c.b.Urgency, c.b.Days, hidden)
		}
	}
}

// TestAnsweredHidesNothing: what somebody answered hides nothing.
func TestAnsweredHidesNothing(t *testing.T) {
	called := map[string][]AnswerRecord{"a": {{Word: "called"}}}
	say := func(id string, u Urgency) func(r *Rule, h *History) []Finding {
		return func(r *Rule, h *History) []Finding {
			return []Finding{{Rule: id, Urgency: u, Evidence: []Evidence{{}}, Sources: []model.SourceID{model.OurChoice}}}
		}
	}
	rules := []*Rule{{ID: "a", Supersedes: []string{"b"}, Eval: say("a", Mention)}, {ID: "b", Eval: say("b", Retest)}}
	res := run(&History{answers: called}, rules)
	if len(res.Open) != 1 || res.Open[0].Rule != "b" || len(res.Answered) != 1 {
		t.Errorf("open %v, answered %v", res.Open, res.Answered)
	}
}
