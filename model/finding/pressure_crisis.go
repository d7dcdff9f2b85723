package finding

import (
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/pressure"
)

// pressureCrisis: a very high pressure is measured again after a rest; it calls
// for somebody when it stays, when nobody looks again, and at once with signs.
var pressureCrisis = &Rule{
	ID:        "pressure-crisis",
	Urgencies: []Urgency{Retest, Today, Emergency},
	Reads: []model.Code{"systolic", "diastolic", "chest-pain", "breathless-at-rest", "confusion", "vision-trouble",
		"headache"},
	Judges: []model.Code{"systolic", "diastolic"},
	About:  []string{"systolic", "diastolic"},
	Limits: []Limit{
		limit("systolic from", crisisSystolic, "mm[Hg]", "nice-ng136", "severe hypertension"),
		limit("or diastolic from", crisisDiastolic, "mm[Hg]", "nice-ng136", "severe hypertension"),
		ours("again after", 5, "min"),
		ours("and before", 60, "min"),
		ours("the second within", 24, "h"),
		limit("signs from", 1, "severity", "nice-ng136", "same-day referral: life-threatening symptoms"),
		ours("headache from", 3, "severity"),
		ours("signs within", 24, "h"),
		ours("looks back", PressureDays, "d"),
	},
	Cites:    []model.Cite{{Source: "nice-ng136", At: "severe hypertension"}, {Source: model.OurChoice}},
	Variants: []string{"signs", "twice", "alone", "hasty"},
	Eval:     evalPressureCrisis,
}

// A pressure in mm[Hg] that is very high.
const (
	crisisSystolic  = 180
	crisisDiastolic = 120
)

func evalPressureCrisis(r *Rule, h *History) []Finding {
	rs := h.pressures()
	var fs []Finding
	var first pressure.Reading // of the very high ones that were taken without a rest
	for i, p := range rs {
		if !p.Either(crisisSystolic, crisisDiastolic) {
			continue
		}
		// One taken too soon is no second one, and moves no time on.
		hasty := !first.When.IsZero() && tooSoon(first, p)
		if !hasty {
			first = p
		}
		ev := h.pressureEvidence(p)
		args := []any{"read", readPressure(p.Systolic, p.Diastolic)}
		signs := append(h.each(p.When, day, 1, "chest-pain", "breathless-at-rest", "confusion", "vision-trouble"),
			h.each(p.When, day, 3, "headache")...)
		later := slices.DeleteFunc(slices.Clone(rs[i+1:]), func(o pressure.Reading) bool { return !h.rested(first, o) })
		again := slices.IndexFunc(later, func(o pressure.Reading) bool { return o.Either(crisisSystolic, crisisDiastolic) })
		switch {
		case len(signs) > 0:
			fs = append(fs, h.New(r, Emergency, "signs", append(ev, signs...), args...))
		case again >= 0:
			o := later[again]
			fs = append(fs, h.New(r, Today, "twice", append(ev, h.pressureEvidence(o)...), "read", readPressure(o.Systolic, o.Diastolic),
				"first", readPressure(p.Systolic, p.Diastolic)))
		case len(later) > 0: // lower after a rest
		case p.When.DayOnly() || h.Now.Sub(first.When.Time()) > time.Hour:
			fs = append(fs, h.New(r, Today, "alone", ev, args...))
		default:
			f := h.New(r, Retest, "", ev, args...)
			if hasty {
				f = h.New(r, Retest, "hasty", append(ev, h.pressureEvidence(first)...), append(args, "first", readPressure(first.Systolic, first.Diastolic))...)
			}
			fs = append(fs, f.DueIn(after(first.When, restBetween, time.Hour)))
		}
	}
	return h.standing(fs)
}
