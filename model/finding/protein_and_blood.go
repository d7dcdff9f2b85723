package finding

import (
	"quietwater/model"
	"quietwater/model/pressure"
	"quietwater/model/strip"
)

// proteinAndBlood: much of both in one test points to the filters themselves.
var proteinAndBlood = &Rule{
	ID:        "protein-and-blood",
	Urgencies: []Urgency{Soon, Today},
	Reads: []model.Code{model.Protein, model.Albumin, model.Creatinine, model.Blood, "creatinine", "systolic",
		"diastolic", "ankle-swelling", "face-swelling"},
	About: []string{"protein", "blood"},
	Limits: []Limit{
		limit("both from", grade(model.Plus2), "2+", "nice-ng203", "referral: proteinuria with haematuria"),
		ours("visit within", 2, "d"),
		limit("creatinine up by", riseBy, "umol/L", "kdigo-aki2012", "definition of acute kidney injury"),
		limit("or times", riseTimes, "ratio", "kdigo-aki2012", "definition of acute kidney injury"),
		ours("creatinine, within", 7, "d"),
		ours("swelling not recorded for", NewDays, "d"),
		limit("systolic from", 140, "mm[Hg]", "kdigo2012", "blood pressure in kidney disease"),
		limit("diastolic from", 90, "mm[Hg]", "kdigo2012", "blood pressure in kidney disease"),
		ours("pressure within", 7, "d"),
	},
	Cites:      []model.Cite{{Source: "nice-ng203", At: "referral: proteinuria with haematuria"}, {Source: model.OurChoice}},
	Variants:   []string{"creatinine", "swelling", "pressure"},
	Supersedes: []string{"protein-high", "protein-again", "protein-once", "protein-trace", "protein-cleared", "protein-known", "blood-again", "blood-once"},
	Eval:       evalProteinAndBlood,
}

// A rise of creatinine that counts, within seven days.
const (
	riseBy    = 26.5 // µmol/L
	riseTimes = 1.5
)

func evalProteinAndBlood(r *Rule, h *History) []Finding {
	return h.perTest(model.Protein, func(t Test, p strip.Pad, _ bool) (Finding, bool) {
		b, ok := t.Verdict.Pad(model.Blood)
		if !ok || !p.Positive(model.Plus2) || !b.Positive(model.Plus2) {
			return Finding{}, false
		}
		ev := t.Evidence(model.Protein, model.Albumin, model.Creatinine, model.Blood)
		args := []any{"read", proteinTest{t, p}.read(), "blood", b.Grade}
		if rise := h.creatinineRise(t.When()); len(rise) > 0 {
			return h.New(r, Today, "creatinine", append(ev, rise...), args...), true
		}
		if s, ok := h.newSwelling(t.When()); ok {
			return h.New(r, Today, "swelling", append(ev, s), args...), true
		}
		if bp := h.raisedPressure(t.When()); len(bp) > 0 {
			return h.New(r, Today, "pressure", append(ev, bp...), args...), true
		}
		return h.New(r, Soon, "", ev, args...).InDays(2), true
	})
}

// creatinineRise finds two laboratory results at most seven days apart, the
// later near a time, of which the later is higher by an injury's measure. It
// is silent on dialysis, where each session moves creatinine.
func (h *History) creatinineRise(at model.When) []Evidence {
	if h.onAt(model.Condition, "dialysis", at) {
		return nil
	}
	it, _ := model.Find(model.Lab, "creatinine")
	labs := h.Of(model.Lab, "creatinine")
	for j, late := range labs {
		b, ok := it.In(late.Value, "umol/L")
		if !ok || !model.Within(at, late.When, 7*day, h.Zone) {
			continue
		}
		for _, early := range labs[:j] {
			a, ok := it.In(early.Value, "umol/L")
			if ok && model.Within(early.When, late.When, 7*day, h.Zone) && (round(b-a, 1e6) >= riseBy || b >= riseTimes*a) {
				return []Evidence{early, late}
			}
		}
	}
	return nil
}

// raisedPressure finds one home reading of 140 or 90 and more near a time.
func (h *History) raisedPressure(at model.When) []Evidence {
	for _, p := range pressure.Readings(h.Entries, at.Time().Add(-10*day)) {
		if model.Within(at, p.When, 7*day, h.Zone) && p.Either(140, 90) {
			return h.pressureEvidence(p)
		}
		if p.When.Time().Sub(at.Time()) > 10*day {
			break
		}
	}
	return nil
}
