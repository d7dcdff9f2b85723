package finding

import (
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// day is a calendar day as a duration; [model.Within] counts days where no
// time of day is known.
const day = 24 * time.Hour

// limit and ours write a rule's numbers briefly.
func limit(name string, v float64, unit string, source model.SourceID, at string) Limit {
	return Limit{name, v, unit, model.Cite{Source: source, At: at}}
}

func ours(name string, v float64, unit string) Limit {
	return Limit{name, v, unit, model.Cite{Source: model.OurChoice}}
}

func grade(g model.Grade) float64 { return float64(g.Rank()) }

// near finds, of the symptoms named, the worst record of at least severity
// within d of at; of equals the newest.
func (h *History) near(at model.When, d time.Duration, severity float64, codes ...model.Code) (Evidence, bool) {
	var best Evidence
	found := false
	for _, c := range codes {
		for _, e := range h.about(model.Symptom, c, at, d) {
			if e.Value.Number < severity || !model.Within(at, e.When, d, h.Zone) {
				continue
			}
			better := e.Value.Number > best.Value.Number ||
				e.Value.Number == best.Value.Number && e.When.Compare(best.When) > 0
			if !found || better {
				best, found = e, true
			}
		}
	}
	return best, found
}

// each collects the worst record of every symptom named.
func (h *History) each(at model.When, d time.Duration, severity float64, codes ...model.Code) []Evidence {
	var out []Evidence
	for _, c := range codes {
		if e, ok := h.near(at, d, severity, c); ok {
			out = append(out, e)
		}
	}
	return out
}

// Body temperatures that point to an infection, in degrees Celsius.
const (
	FeverFrom = 38.0
	ColdBelow = 36.0
)

// fever finds a temperature of 38 °C or more within d of at, or the symptom,
// which without a thermometer counts as that.
func (h *History) fever(at model.When, d time.Duration) []Evidence {
	out := h.each(at, d, 1, "fever")
	return append(out, h.temperature(at, d, func(c float64) bool { return c >= FeverFrom })...)
}

// cold finds a temperature below 36 °C within d of at.
func (h *History) cold(at model.When, d time.Duration) []Evidence {
	return h.temperature(at, d, func(c float64) bool { return c < ColdBelow })
}

// temperature finds the newest measurement within d of at that is as asked.
func (h *History) temperature(at model.When, d time.Duration, is func(float64) bool) []Evidence {
	it, _ := model.Find(model.Vital, "temperature")
	for _, e := range slices.Backward(h.about(model.Vital, "temperature", at, d)) {
		c, ok := it.In(e.Value, "Cel")
		// Fahrenheit leaves a rest in the last binary digits: 100.4 °F is 38 °C.
		if ok && model.Within(at, e.When, d, h.Zone) && is(round(c, 1e6)) {
			return []Evidence{e}
		}
	}
	return nil
}

func round(x, parts float64) float64 { return float64(int64(x*parts+0.5)) / parts }

// onAt reports a condition or medicine that is on at the time of a record, or
// now: whoever enters it a day late is still one of those it concerns.
func (h *History) onAt(k model.Kind, c model.Code, at model.When) bool {
	return h.onThen(k, c, at) || h.On(k, c)
}

// onThen reports one that was on at the time of a record.
func (h *History) onThen(k model.Kind, c model.Code, at model.When) bool {
	return h.switched(k, c, at.Time())
}

// newly reports that the symptom had not been recorded at this severity or
// more in the 14 days before.
func (h *History) newly(e Evidence, severity float64) bool {
	return !slices.ContainsFunc(h.about(e.Kind, e.Value.Code, e.When, NewDays*day), func(o Evidence) bool {
		earlier := o.When.Compare(e.When) < 0 || o.When.Compare(e.When) == 0 && o.Entry < e.Entry
		return earlier && o.Value.Number >= severity && model.Within(o.When, e.When, NewDays*day, h.Zone)
	})
}

// NewDays is how long a symptom must not have been recorded to be new.
const NewDays = 14

// newSwelling finds swelling of face or ankles near a time that is new, or has
// newly reached 2.
func (h *History) newSwelling(at model.When) (Evidence, bool) {
	for _, c := range []model.Code{"face-swelling", "ankle-swelling"} {
		for _, e := range slices.Backward(h.about(model.Symptom, c, at, SymptomSpan)) {
			n := e.Value.Number
			if n < 1 || !model.Within(at, e.When, SymptomSpan, h.Zone) {
				continue
			}
			if h.newly(e, 1) || n >= 2 && h.newly(e, 2) {
				return e, true
			}
		}
	}
	return Evidence{}, false
}

// perTest asks one question of every recent test that has a pad, and keeps of
// the answers what still stands. newest tells of the last test with that pad,
// the only one that a mild finding may rest on.
func (h *History) perTest(c model.Code, ask func(t Test, p strip.Pad, newest bool) (Finding, bool)) []Finding {
	var fs []Finding
	tests := h.RecentTests()
	newest := true
	for _, t := range slices.Backward(tests) {
		p, ok := t.Verdict.Pad(c)
		if c == model.Protein {
			p, ok = t.Verdict.Protein()
		}
		if !ok {
			continue
		}
		if f, fires := ask(t, p, newest); fires {
			fs = append(fs, f)
		}
		if p.Standing > strip.NotJudged {
			newest = false
		}
	}
	return h.standing(fs)
}

// perRecord asks one question of every record of a symptom of at least 1 in
// the last 90 days.
func (h *History) perRecord(c model.Code, ask func(e Evidence) (Finding, bool)) []Finding {
	var fs []Finding
	for _, e := range slices.Backward(h.about(model.Symptom, c, model.At(h.Now), StripDays*day)) {
		if e.Value.Number < 1 || !h.Recent(e.When, StripDays*day) {
			continue
		}
		if f, fires := ask(e); fires {
			fs = append(fs, f)
		}
	}
	return fs
}

// standing keeps, of findings about one thing, those that were answered and
// of the others the one that is most urgent by now: an answered alarm never
// hides a later one, and a milder record never hides an open alarm.
func (h *History) standing(fs []Finding) []Finding {
	var out []Finding
	best, found := Finding{}, false
	var now Finding
	for _, f := range fs {
		if h.answerTo(f) != nil {
			out = append(out, f)
			continue
		}
		aged, open := h.age(f)
		if !open {
			continue
		}
		if !found || aged.sooner(now) || !now.sooner(aged) && f.Since.Compare(best.Since) > 0 {
			best, now, found = f, aged, true
		}
	}
	if found {
		out = append(out, best)
	}
	return out
}

// old reports that the person's age is at least years. An unknown age counts
// as old where that is the cautious side.
func (h *History) old(years int) bool {
	a, known := h.Facts.AgeYears(h.Now)
	return !known || a >= years
}

// diabetes reports diabetes recorded as such or by a medicine given for it.
func (h *History) diabetes(at model.When) bool {
	return h.onAt(model.Condition, "diabetes", at) || h.onAt(model.Medicine, "insulin", at) ||
		h.onAt(model.Medicine, "metformin", at)
}

// KetoneRisk reports somebody for whom ketones can be dangerous even with
// little sugar.
func (h *History) KetoneRisk(at model.When) bool {
	return h.diabetes(at) || h.onAt(model.Medicine, "sglt2-inhibitor", at)
}

// asSymptom names what a value tells of: a measured temperature is a fever.
func asSymptom(e Evidence) model.Code {
	if e.Value.Code == "temperature" {
		return "fever"
	}
	return e.Value.Code
}
