package finding

import (
	"slices"
	"time"

	"quietwater/model"
)

// bloodKetones: a meter sees the main ketone, which the pad of a strip does
// not. A strip never takes its number back.
var bloodKetones = &Rule{
	ID:        "blood-ketones",
	Urgencies: []Urgency{Retest, Mention, Today, Emergency},
	Reads: []model.Code{"blood-ketones", "vomiting", "belly-pain", "fast-breathing", "confusion",
		"diabetes", "insulin", "metformin", "sglt2-inhibitor"},
	Judges: []model.Code{"blood-ketones"},
	About:  []string{"blood-ketones", "ketones"},
	Limits: []Limit{
		limit("emergency from", bloodKetonesHigh, "mmol/L", "umpierrez2024", "diagnostic criteria: 3.0 mmol/L and more"),
		limit("the same day from", bloodKetonesSome, "mmol/L", "nhs-ketoacidosis", "1.6 to 3 mmol/L: call the team"),
		limit("again from", bloodKetonesFew, "mmol/L", "nhs-ketoacidosis", "0.6 to 1.5 mmol/L: test again in 2 hours"),
		limit("again after", 2, "h", "nhs-ketoacidosis", "test again in 2 hours"),
		ours("and within", 3, "h"),
		limit("with symptoms from", 1, "severity", "nhs-ketoacidosis", "symptoms"),
		ours("symptoms within", 72, "h"),
	},
	Cites: []model.Cite{{Source: "nhs-ketoacidosis", At: "when to get help"},
		{Source: "umpierrez2024", At: "diagnostic criteria: 3.0 mmol/L and more"}, {Source: model.OurChoice}},
	Variants:   []string{"high", "with-symptoms", "low", "low-with-symptoms", "no-diabetes", "no-diabetes-alone"},
	Supersedes: []string{"ketones"},
	Eval:       evalBloodKetones,
}

// Ketones in blood in mmol/L, where they call for something.
const (
	bloodKetonesHigh = 3.0
	bloodKetonesSome = 1.5
	bloodKetonesFew  = 0.6
)

func evalBloodKetones(r *Rule, h *History) []Finding {
	var fs []Finding
	newest := true
	for _, e := range slices.Backward(h.about(model.Vital, "blood-ketones", model.At(h.Now), StripDays*day)) {
		if !h.Recent(e.When, StripDays*day) {
			continue
		}
		if f, fires := h.bloodKetone(r, e, newest); fires {
			fs = append(fs, f)
		}
		newest = false
	}
	return h.standing(fs)
}

// bloodKetone judges one reading. Only the newest of the mild ones asks for
// another.
func (h *History) bloodKetone(r *Rule, e Evidence, newest bool) (Finding, bool) {
	x, risk := e.Value.Number, h.KetoneRisk(e.When)
	signs := h.each(e.When, SymptomSpan, 1, "vomiting", "belly-pain", "fast-breathing")
	ill := append(signs, h.each(e.When, SymptomSpan, 1, "confusion")...)
	ev := append([]Evidence{e}, ill...)
	args := []any{"read", model.Quantity{Typed: e.Value.Text(), UCUM: e.Value.Unit}}
	again := after(e.When, 2*time.Hour, 3*time.Hour)
	switch {
	case x < bloodKetonesFew || !risk && x < bloodKetonesSome:
		return Finding{}, false
	case x >= bloodKetonesHigh && (risk || len(ill) > 0):
		return h.New(r, Emergency, "high", ev, args...), true
	case !risk && (x >= bloodKetonesHigh || len(ill) > 0):
		return h.New(r, Today, "no-diabetes", ev, args...), true
	case !risk:
		return h.New(r, Mention, "no-diabetes-alone", ev, args...), true
	case x >= bloodKetonesSome && len(ill) > 0:
		return h.New(r, Emergency, "with-symptoms", ev, args...), true
	case x >= bloodKetonesSome:
		return h.New(r, Today, "", ev, args...).DueIn(again), true
	case len(signs) > 0:
		return h.New(r, Today, "low-with-symptoms", append([]Evidence{e}, signs...), args...), true
	}
	return h.New(r, Retest, "low", ev, args...).DueIn(again), newest
}
