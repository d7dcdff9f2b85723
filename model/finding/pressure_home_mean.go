package finding

import (
	"math"
	"slices"

	"quietwater/model"
	"quietwater/model/pressure"
)

// pressureHomeMean: one reading says little; the mean of days at home says
// whether a pressure is raised.
var pressureHomeMean = &Rule{
	ID:        "pressure-home-mean",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"systolic", "diastolic", "pregnancy"},
	Judges:    []model.Code{"systolic", "diastolic"},
	About:     []string{"systolic", "diastolic"},
	Limits: []Limit{
		limit("mean systolic from", meanSystolic, "mm[Hg]", "esh2021", "home blood pressure: threshold"),
		limit("or mean diastolic from", meanDiastolic, "mm[Hg]", "esh2021", "home blood pressure: threshold"),
		limit("readings on days", pressure.MeanDays, "d", "esh2021", "home blood pressure: at least three days"),
		ours("within", pressure.MeanSpan, "d"),
		ours("after the first day is dropped, readings from", pressure.MeanLeast, "{count}"),
		limit("best from", pressure.MeanBest, "{count}", "esh2021", "home blood pressure: schedule"),
		ours("visit within", 14, "d"),
		ours("looks back", PressureDays, "d"),
		ours("once answered, not said again for", meanAgainDays, "d"),
		ours("unless higher by", meanAgainBy, "mm[Hg]"),
	},
	Cites:    []model.Cite{{Source: "esh2021", At: "home blood pressure"}, {Source: model.OurChoice}},
	Variants: []string{"few"},
	Eval:     evalPressureHomeMean,
}

// The mean at home, in mm[Hg], that is raised.
const (
	meanSystolic  = 135
	meanDiastolic = 85
	meanAgainDays = 30
	meanAgainBy   = 10
)

func evalPressureHomeMean(r *Rule, h *History) []Finding {
	// Readings some days older than those looked at may belong to the mean.
	all := pressure.Readings(h.Entries, h.Now.Add(-(PressureDays+meanAgainDays+pressure.MeanSpan+3)*day))
	mean, ok := h.homeMean(all)
	if !ok || !h.Recent(mean.To, PressureDays*day) || !raisedMean(mean) || h.underAge() || h.latePregnancy(mean.To) {
		return nil
	}
	// Whoever has told a doctor of it is not told again with every reading.
	for _, a := range slices.Backward(h.answers[r.ID]) {
		if !h.Recent(a.When, meanAgainDays*day) {
			continue
		}
		then, told := h.homeMean(slices.DeleteFunc(slices.Clone(all), func(p pressure.Reading) bool { return p.When.Compare(a.When) > 0 }))
		if told && raisedMean(then) &&
			mean.Systolic < then.Systolic+meanAgainBy && mean.Diastolic < then.Diastolic+meanAgainBy {
			mean = then
			break
		}
	}
	variant := ""
	if !mean.Good() {
		variant = "few"
	}
	return []Finding{h.New(r, Soon, variant, h.pressureEvidence(mean.Of...),
		"read", readPressure(math.Round(mean.Systolic), math.Round(mean.Diastolic)), "count", len(mean.Of), "first", mean.From).InDays(14)}
}

func (h *History) homeMean(rs []pressure.Reading) (pressure.Mean, bool) {
	return pressure.MeanOf(rs, h.Zone)
}

// raisedMean compares the unrounded mean.
func raisedMean(m pressure.Mean) bool {
	return round(m.Systolic, 1e6) >= meanSystolic || round(m.Diastolic, 1e6) >= meanDiastolic
}
