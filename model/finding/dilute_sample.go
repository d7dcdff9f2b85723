package finding

import (
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// diluteSample: urine so thin that a pad without protein means nothing.
var diluteSample = &Rule{
	ID:        "dilute-sample",
	Urgencies: []Urgency{Retest, Mention},
	Reads:     []model.Code{model.SpecificGravity, model.Protein},
	About:     []string{"dilute", "specific-gravity"},
	Limits: []Limit{
		{"specific gravity below", strip.DiluteBelow, "{SG}", model.Cite{Source: "simerville2005", At: "causes of false results"}},
		{"again from", 2, "h", model.Cite{Source: model.CommonPractice}},
		{"again until", 3, "h", model.Cite{Source: model.CommonPractice}},
		{"not between", 21, "h", model.Cite{Source: model.OurChoice}},
		{"and", 7, "h", model.Cite{Source: model.OurChoice}},
		ours("to-dos a day", 1, "{count}"),
		{"stop asking after", 3, "tests in 14 days", model.Cite{Source: model.OurChoice}},
	},
	Cites:    []model.Cite{{Source: "frontmed2023", At: "abstract"}, {Source: "mcadams2024", At: "abstract"}},
	Variants: []string{"no-drinking-words", "often"},
	Eval:     evalDiluteSample,
}

func evalDiluteSample(r *Rule, h *History) []Finding {
	tests := h.RecentTests()
	if len(tests) == 0 {
		return nil
	}
	last := tests[len(tests)-1]
	if !hidesProtein(last) {
		return nil
	}
	var ev []Evidence
	n := 0
	askedToday := false // one such to-do a day is enough
	for _, t := range tests {
		if hidesProtein(t) && t.Entry.ID != last.Entry.ID && model.DaysBetween(t.When(), last.When(), h.Zone) == 0 {
			askedToday = true
		}
		if hidesProtein(t) && model.Within(t.When(), last.When(), 14*24*time.Hour, h.Zone) {
			ev = append(ev, t.Evidence(model.SpecificGravity, model.Protein)...)
			n++
		}
	}
	if n >= 3 {
		return []Finding{h.New(r, Mention, "often", ev, "n", n)}
	}
	variant := ""
	if h.drinkingIsTheirDoctors() || last.Entry.Says("feverish", "yes") {
		variant = "no-drinking-words"
	}
	ev = last.Evidence(model.SpecificGravity, model.Protein)
	due := h.waking(after(last.When(), 2*time.Hour, 3*time.Hour))
	if askedToday {
		due = h.nextMorning(last.When().DayIn(h.Zone))
	}
	return []Finding{h.New(r, Retest, variant, ev).DueIn(due)}
}

// hidesProtein reports a dilute test in which protein was not found: a
// positive in dilute urine counts, since water only lowers it.
func hidesProtein(t Test) bool {
	p, ok := t.Verdict.Protein()
	return t.Verdict.Dilute && t.Verdict.Age != strip.Stale && !(ok && p.Positive(model.Plus1))
}

// drinkingIsTheirDoctors reports states in which we do not say a word about
// drinking less.
func (h *History) drinkingIsTheirDoctors() bool {
	now := model.At(h.Now)
	ill := append(h.each(now, SymptomSpan, 1, "vomiting", "diarrhoea"), h.fever(now, SymptomSpan)...)
	return len(ill) > 0 || h.On(model.Condition, "stones") || h.On(model.Condition, "transplant")
}

// waking moves a span that would begin in the night to the next first-morning
// sample.
func (h *History) waking(s Span) Span {
	from := s.From.In(h.Zone)
	if from.Hour() >= 7 && from.Hour() < 21 {
		return Span{from, s.To.In(h.Zone)}
	}
	if from.Hour() < 7 {
		from = from.AddDate(0, 0, -1)
	}
	return h.nextMorning(from)
}

// nextMorning is the time of the first-morning sample of the day after.
func (h *History) nextMorning(d time.Time) Span {
	morning := time.Date(d.Year(), d.Month(), d.Day()+1, 7, 0, 0, 0, h.Zone)
	return Span{morning, morning.Add(3 * time.Hour)}
}
