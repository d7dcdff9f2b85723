package finding

import (
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// lateReading: a pad read outside its time shows a colour that means nothing.
var lateReading = &Rule{
	ID:        "late-reading",
	Urgencies: []Urgency{Retest},
	Variants:  []string{"at-once"},
	Reads:     append([]model.Code{model.AfterDip}, padTimes...),
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
		variant, when := "", []model.Code{model.AfterDip}
		if !t.Verdict.Has(strip.Late) && t.ReadAtOnce() {
			variant = "at-once"
		}
		for _, p := range pads {
			when = append(when, model.OwnTime(p.Value.Code))
		}
		return []Finding{h.New(r, Retest, variant, append(pads, t.Evidence(when...)...), "n", len(pads)).DueIn(h.repeat(t))}
	},
}

// padTimes are the codes of every pad's own reading time.
var padTimes = func() []model.Code {
	var out []model.Code
	for _, it := range model.Analytes() {
		out = append(out, model.OwnTime(it.Code))
	}
	return out
}()

// ReadAtOnce reports pads that were read early only because the whole strip was
// read at one moment, as on a picture, which came in time for others: that is
// nobody's mistake.
func (t Test) ReadAtOnce() bool {
	early, others := 0, 0
	for _, p := range t.Verdict.Pads {
		switch _, own := t.Entry.Value(model.OwnTime(p.Value.Code)); {
		case !slices.Contains(p.Reasons, strip.Early):
			others++
		case own:
			return false
		default:
			early++
		}
	}
	return early > 0 && others > 0
}
