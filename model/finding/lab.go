package finding

import (
	"slices"
	"strconv"

	"quietwater/model"
)

// What laboratory rules share: results in the unit a rule thinks in, what a
// result that is only a limit proves, which results stand, and whom to ring.

// result is a laboratory value in the unit of its band.
type result struct {
	Evidence
	x       float64
	bound   byte      // '<' or '>' where x is only a limit, else 0
	albumin *Evidence // that calcium was adjusted by
}

// atLeast, above, below and atMost say what a result proves: "<2.5" proves
// that it lies below 2.5 and below 3, and not that it lies below 2.
func (r result) atLeast(limit float64) bool { return r.bound != '<' && r.x >= limit }
func (r result) atMost(limit float64) bool  { return r.bound != '>' && r.x <= limit }
func (r result) above(limit float64) bool {
	return r.bound == 0 && r.x > limit || r.bound == '>' && r.x >= limit
}
func (r result) below(limit float64) bool {
	return r.bound == 0 && r.x < limit || r.bound == '<' && r.x <= limit
}

// shown is the result as the sheet has it.
func (r result) shown() model.Quantity {
	return model.Quantity{Typed: r.Value.Text(), UCUM: r.Value.Unit}
}

// band is where results of one code call for somebody and where for nobody. A
// result that is only a limit may prove neither.
type band struct {
	unit         string
	calls, quiet func(result) bool
}

var bands = map[model.Code]band{
	"potassium": {"mmol/L",
		func(r result) bool { return r.atLeast(potassiumHigh) || r.below(potassiumLow) },
		func(r result) bool { return r.below(potassiumHigh) && r.atLeast(potassiumLow) }},
	"calcium": {"mmol/L",
		func(r result) bool { return r.atLeast(calciumHigh) || r.below(calciumLow) },
		func(r result) bool { return r.below(calciumHigh) && r.atLeast(calciumLow) }},
	"bicarbonate": {"mmol/L",
		func(r result) bool { return r.below(bicarbonateLow) },
		func(r result) bool { return r.atLeast(bicarbonateLow) }},
	"haemoglobin": {"g/L",
		func(r result) bool { return r.atMost(haemoglobinLow) },
		func(r result) bool { return r.above(haemoglobinLow) }},
	// One creatinine alone says nothing; a limit cannot be set against another.
	"creatinine": {"umol/L", never, never},
}

func never(result) bool { return false }

// leavesOpen reports a result that is only a limit and proves neither that
// somebody is to be called nor that nobody is.
func (h *History) leavesOpen(e Evidence) bool {
	r, ok := h.result(e)
	b := bands[e.Value.Code]
	return ok && r.bound != 0 && !b.calls(r) && !b.quiet(r) || h.untold(e)
}

// result reads a value of a code that has a band. Conversions leave a rest in
// the last binary digits, which must not move a result over a limit.
func (h *History) result(e Evidence) (result, bool) {
	b, ok := bands[e.Value.Code]
	if !ok {
		return result{}, false
	}
	it, _ := model.Find(model.Lab, e.Value.Code)
	x, ok := it.In(e.Value, b.unit)
	r := result{Evidence: e, x: round(x, 1e6), bound: e.Value.Bound()}
	if e.Value.Code == "calcium" {
		r = h.adjusted(r)
	}
	return r, ok
}

// results are all of a code in time order; one typed twice is one.
func (h *History) results(c model.Code) []result {
	all := h.Of(model.Lab, c)
	out := make([]result, 0, len(all))
	for _, e := range all {
		if r, ok := h.result(e); ok && !typedTwice(out, r) {
			out = append(out, r)
		}
	}
	return out
}

func typedTwice(before []result, r result) bool {
	for _, o := range slices.Backward(before) {
		if o.When.Compare(r.When) != 0 {
			return false
		}
		if o.x == r.x && o.bound == r.bound {
			return true
		}
	}
	return false
}

// isLater reports that b lies after a for certain: of two results of one day
// of which one has no time, nobody knows which came first.
func (h *History) isLater(a, b model.When) bool {
	if a.DayOnly() || b.DayOnly() {
		return model.DaysBetween(a, b, h.Zone) > 0
	}
	return b.Compare(a) > 0
}

// stands reports that no result of rest takes the place of r: a later one does
// when it is a number, or a limit that proves enough.
func (h *History) stands(r result, rest []result) bool {
	return !slices.ContainsFunc(rest, func(o result) bool {
		return (o.bound == 0 || bands[o.Value.Code].quiet(o)) && h.isLater(r.When, o.When)
	})
}

// perResult asks one question of the results of a code that stand, however
// old, and of those replaced since whose finding was answered in their time.
func (h *History) perResult(rule *Rule, all []result, ask func(r result) (Finding, bool)) []Finding {
	var fs []Finding
	for i, r := range all {
		stands := h.stands(r, all[i+1:])
		if !stands && len(h.answers[rule.ID]) == 0 {
			continue
		}
		f, fires := ask(r)
		if fires && (stands || h.answeredBefore(f, all[i+1:])) {
			fs = append(fs, f)
		}
	}
	return h.standing(fs)
}

// answeredBefore reports an answer given before any later result was known.
func (h *History) answeredBefore(f Finding, rest []result) bool {
	return slices.ContainsFunc(h.answers[f.Rule], func(a AnswerRecord) bool {
		return h.covers(a, f) && !slices.ContainsFunc(rest, func(o result) bool { return h.isLater(o.When, a.When) })
	})
}

// symptomWith finds the worst record of a symptom, of equals the newest, from
// three days before a result until it is old.
func (h *History) symptomWith(at model.When, c model.Code, counts func(Evidence) bool) []Evidence {
	var best []Evidence
	for _, e := range h.about(model.Symptom, c, at, UnansweredLabSpan) {
		near := model.Within(at, e.When, SymptomSpan, h.Zone) ||
			h.isLater(at, e.When) && model.Within(at, e.When, UnansweredLabSpan, h.Zone)
		if near && counts(e) && (best == nil || e.Value.Number >= best[0].Value.Number) {
			best = []Evidence{e}
		}
	}
	return best
}

func from(severity float64) func(Evidence) bool {
	return func(e Evidence) bool { return e.Value.Number >= severity }
}

// whom is who is to be rung about a result.
func (h *History) whom(at model.When) model.Msg {
	for _, c := range []model.Code{"dialysis", "transplant"} {
		if h.onAt(model.Condition, c, at) {
			return model.T("finding.whom." + string(c))
		}
	}
	return model.T("finding.whom.doctor")
}

// tellMedicines are what whoever judges potassium or a kidney injury must know of.
var tellMedicines = []model.Code{"acei-or-arb", "diuretic", "nsaid"}

// atUnit sends the emergencies of those on dialysis to the unit first, which
// can do what an ambulance cannot.
func (h *History) atUnit(f Finding, at model.When) Finding {
	if f.Urgency == Emergency && h.onAt(model.Condition, "dialysis", at) {
		f.Do = model.T("finding.lab.unit-now")
	}
	return f
}

// tell adds which medicines to speak of. What to do with them is not ours to say.
func (h *History) tell(f Finding, at model.When, medicines ...model.Code) Finding {
	var on []model.Code
	for _, m := range medicines {
		if h.onAt(model.Medicine, m, at) {
			on = append(on, m)
		}
	}
	if len(on) > 0 {
		f.Do = model.T("finding.lab.tell", "do", f.Do, "medicines", on)
	}
	return f
}

// decimal writes a computed number with its unit.
func decimal(x float64, digits int, unit string) model.Quantity {
	return model.Quantity{Typed: strconv.FormatFloat(x, 'f', digits, 64), UCUM: unit}
}
