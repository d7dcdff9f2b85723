package finding

import (
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// ketones: with diabetes or an SGLT2 inhibitor they can mean ketoacidosis even
// while sugar is low. The pad does not see the main ketone, so a negative pad
// takes nothing back; an old or late strip reads too low, so its high readings
// still count.
var ketones = &Rule{
	ID:        "ketones",
	Urgencies: []Urgency{Retest, Mention, Today, Emergency},
	Reads: []model.Code{model.Ketones, model.Glucose, "vomiting", "belly-pain", "fast-breathing", "confusion",
		"diabetes", "insulin", "metformin", "sglt2-inhibitor"},
	About: []string{"ketones"},
	Limits: []Limit{
		limit("emergency from", grade(model.Plus3), "3+", "nhs-ketoacidosis", "urine over 2+"),
		limit("or a block of", ketonesHigh, "mg/dL", "danne2019", "table 1: large"),
		limit("the same day from", grade(model.Plus2), "2+", "danne2019", "table 1: moderate"),
		limit("with symptoms from", grade(model.Trace), "trace", "nhs-ketoacidosis", "symptoms"),
		limit("again from", grade(model.Plus1), "1+", "nhs-ketoacidosis", "0.6 to 1.5 mmol/L: test again in 2 hours"),
		limit("again after", 2, "h", "nhs-ketoacidosis", "test again in 2 hours"),
		ours("and within", 3, "h"),
		ours("symptoms within", 72, "h"),
		ours("without known diabetes, with sugar from", grade(model.Plus1), "1+"),
	},
	Cites: []model.Cite{{Source: "nhs-ketoacidosis", At: "when to get help"}, {Source: "danne2019", At: "table 1"},
		{Source: "umpierrez2024", At: "diagnostic criteria: urine 2+ or more"}, {Source: model.OurChoice}},
	Variants: []string{"high", "with-symptoms", "low-with-symptoms", "low", "old-strip-high", "old-strip", "no-diabetes", "no-diabetes-alone"},
	Eval:     evalKetones,
}

// ketonesHigh is the block that counts as 3+ whatever grade the chart gives it, less a margin for rounded print.
const (
	ketonesHigh   = 80.0 // mg/dL
	ketonesMargin = 2.0  // mg/dL
)

func evalKetones(r *Rule, h *History) []Finding {
	return h.perTest(model.Ketones, func(t Test, p strip.Pad, newest bool) (Finding, bool) {
		used := p.Standing > strip.NotJudged
		moderate := p.Grade.AtLeast(model.Plus2)
		if !p.Grade.AtLeast(model.Trace) || !used && !moderate {
			return Finding{}, false
		}
		at := t.When()
		signs := h.each(at, SymptomSpan, 1, "vomiting", "belly-pain", "fast-breathing")
		confused := h.each(at, SymptomSpan, 1, "confusion")
		ill := append(append(t.Evidence(model.Ketones), signs...), confused...)
		ev := t.Evidence(model.Ketones)
		args := []any{"grade", p.Grade}
		again := after(at, 2*time.Hour, 3*time.Hour)
		if !h.KetoneRisk(at) {
			return h.ketonesUnexplained(r, t, p, ill)
		}
		switch {
		case largeKetones(t, p) && !used:
			return h.New(r, Emergency, "old-strip-high", ev, args...), true
		case largeKetones(t, p):
			return h.New(r, Emergency, "high", ev, args...), true
		case moderate && len(ill) > len(ev):
			return h.New(r, Emergency, "with-symptoms", ill, args...), true
		case moderate && !used:
			return h.New(r, Today, "old-strip", ev, args...).DueIn(again), true
		case moderate:
			return h.New(r, Today, "", ev, args...).DueIn(again), true
		case len(signs) > 0:
			return h.New(r, Today, "low-with-symptoms", append(ev, signs...), args...), true
		case p.Grade.AtLeast(model.Plus1):
			return h.New(r, Retest, "low", ev, args...).DueIn(again), newest
		}
		return Finding{}, false
	})
}

// largeKetones reports 3+, or a block of 80 mg/dL by number or by the pack's
// own chart: charts differ in the grade they print beside it. The usual blocks
// leave the same margin for charts that print it, rounded, in mmol/L.
func largeKetones(t Test, p strip.Pad) bool {
	it, _ := model.Find(model.Strip, model.Ketones)
	enough := func(v model.Value) bool {
		n, ok := it.In(v, "mg/dL")
		return ok && n >= ketonesHigh-ketonesMargin
	}
	if p.Grade.AtLeast(model.Plus3) || enough(*p.Value) {
		return true
	}
	if t.Kind == nil {
		return false
	}
	row, _ := t.Kind.Row(model.Ketones)
	for _, b := range row.Blocks {
		g, graded := model.ParseGrade(b.Grade)
		n, number := model.ParseNumber(b.Value)
		if graded && number && g == p.Grade && enough(model.Value{Number: n, Unit: row.Unit}) {
			return true
		}
	}
	return false
}

// ketonesUnexplained: no diabetes is on record. Fasting makes ketones too, but
// with sugar or illness they may be how diabetes shows itself.
func (h *History) ketonesUnexplained(r *Rule, t Test, p strip.Pad, ill []Evidence) (Finding, bool) {
	if !p.Grade.AtLeast(model.Plus2) {
		return Finding{}, false
	}
	args := []any{"grade", p.Grade}
	g, ok := t.Verdict.Pad(model.Glucose)
	sugar := ok && g.Grade.AtLeast(model.Plus1)
	if sugar {
		ill = append(t.Evidence(model.Glucose), ill...)
	}
	if sugar || len(ill) > 1 {
		return h.New(r, Today, "no-diabetes", ill, args...), true
	}
	return h.New(r, Mention, "no-diabetes-alone", ill, args...), true
}
