package finding

import (
	"time"

	"quietwater/model"
	"quietwater/model/water"
)

// fluidLimit counts what was drunk towards the limit the person's own doctor
// set. Without one there is nothing to judge a drink by, and nothing is said.
var fluidLimit = &Rule{
	ID:        "fluid-limit",
	Urgencies: []Urgency{Note, Today},
	Reads:     []model.Code{"drink", "fluid-limit", "ankle-swelling", "face-swelling", "weight", "dialysis"},
	Judges:    []model.Code{"drink"},
	About:     []string{"fluid-limit"},
	Limits: []Limit{
		ours("days over it, one after the other", overDays, "d"),
		ours("swelling from", 1, "severity"),
		ours("swelling within", 72, "h"),
		limit("or weight up by more than", gainKG, "kg", "esc-weight", "more than 2 kg in 3 days"),
		limit("within", gainDays, "d", "esc-weight", "more than 2 kg in 3 days"),
		ours("looks back for a day over it", overDays, "d"),
		ours("and for days over it, one after the other", 2*overDays, "d"),
	},
	Cites:    []model.Cite{{Source: model.CommonPractice}, {Source: model.OurChoice}},
	Variants: []string{"days"},
	Eval:     evalFluidLimit,
}

// overDays is how many days over the limit, with signs of water, call for
// somebody; and how far back a single one is noted.
const overDays = 3

func evalFluidLimit(r *Rule, h *History) []Finding {
	most := h.Facts.FluidLimit
	if most == 0 {
		return nil
	}
	days := water.Days(h.Entries, h.Now.AddDate(0, 0, -2*overDays), h.Now)
	var fs []Finding
	run := 0
	for i, d := range days {
		if run++; d.Drunk <= most {
			run = 0
			continue
		}
		if signs := h.watery(model.OnDay(d.Date)); run >= overDays && len(signs) > 0 {
			fs = append(fs, h.New(r, Today, "days", append(h.drunkOn(d.Date), signs...), overArgs(d, most)...))
		} else if i >= len(days)-1-overDays {
			fs = append(fs, h.New(r, Note, "", h.drunkOn(d.Date), overArgs(d, most)...))
		}
	}
	return h.standing(fs)
}

func overArgs(d water.Day, most float64) []any {
	ml := func(x float64) model.Quantity {
		return model.Quantity{Typed: model.FormatNumber(round(x, 1)), UCUM: "mL"}
	}
	return []any{"day", model.OnDay(d.Date), "drunk", ml(d.Drunk), "limit", ml(most)}
}

// drunkOn is the last drink of a day: what a finding about the day rests on, so
// that an answer given after it holds.
func (h *History) drunkOn(date time.Time) []Evidence {
	var last []Evidence
	for _, e := range h.about(model.Fluid, "drink", model.OnDay(date), day) {
		if model.DaysBetween(model.OnDay(date), e.When, h.Zone) == 0 {
			last = []Evidence{e}
		}
	}
	return last
}

// watery finds swelling near a day, or a gain of weight that belongs to water.
func (h *History) watery(at model.When) []Evidence {
	out := h.each(at, SymptomSpan, 1, "ankle-swelling", "face-swelling")
	if h.onAt(model.Condition, "dialysis", at) {
		return out // a session moves weight by kilograms
	}
	for _, m := range h.gains() {
		if model.Within(m.to.When, at, SymptomSpan, h.Zone) {
			return append(out, m.from.Evidence, m.to.Evidence)
		}
	}
	return out
}
