package page

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/renal"
	"quietwater/model/sheet"
)

const perArea = "mL/min/{1.73_m2}"

// kidney is what laboratory sheets say: the newest, how it moved, where it
// stands in the grid, what it forebodes; every number in both unit systems.
// While eGFR says nothing of the stage, nothing is told that rests on it.
func (w writer) kidney() []Line {
	n := &w.h.Numbers
	if len(n.Latest) == 0 {
		return []Line{{Facts: []model.Msg{model.T("doc.no-lab")}}}
	}
	var out []Line
	add := func(label model.Msg, rank Rank, facts ...model.Msg) {
		if len(facts) > 0 {
			out = append(out, Line{Label: label, Facts: facts, Rank: rank})
		}
	}
	add(model.T("doc.label.egfr"), Must, w.filtering(n)...)
	add(labelOf(model.Lab, "creatinine"), Must, w.series("creatinine")...)
	fit := len(w.unfit(n)) == 0
	if fit {
		add(model.T("doc.label.trend"), rankWhere(n.NoTrend), w.trend(n)...)
	}
	add(model.T("doc.label.albumin"), Must, w.albumin(n)...)
	if fit {
		add(model.T("doc.label.category"), Must, w.category(n)...)
		add(model.T("doc.label.failure"), rankWhere(n.NoRisk), w.failure(n)...)
	}
	add(labelOf(model.Lab, "potassium"), Must, w.series("potassium")...)
	first, fresh, older := w.others(n)
	add(model.T("doc.label.others"), Key, first...)
	add(model.T("doc.label.others"), Spare, fresh...)
	add(model.T("doc.label.older"), Rest, older...)
	add(model.T("doc.label.caution"), Useful, n.Conflicts...)
	return out
}

// rankWhere lets a line go early that only says why there is no number.
func rankWhere(none model.Msg) Rank {
	if none.IsZero() {
		return Key
	}
	return Rest
}

// unfit is why the newest eGFR says nothing of the stage: creatinine that moves
// (KDIGO AKI 2012; Chen S 2013, J Am Soc Nephrol 24:877), a state in which the
// equation does not hold, kidneys that are not there any more, two numbers of
// which one must be wrong.
func (w writer) unfit(n *numbers.Numbers) []model.Msg {
	g, ok := n.Newest()
	if !ok {
		return nil
	}
	var out []model.Msg
	for _, f := range w.r.All() {
		if f.Rule == "kidney-injury" && model.DaysBetween(f.Since, g.When, w.h.Zone) <= 0 {
			out = append(out, model.T("doc.invalid.changing"))
			break
		}
	}
	for _, c := range []model.Code{"dialysis", "pregnancy", "amputation"} {
		// Cystatin C does not come from muscle.
		if (w.h.On(model.Condition, c) || g.Invalid == c) && !(c == "amputation" && g.Cystatin > 0) {
			out = append(out, model.T("doc.invalid."+string(c)))
		}
	}
	if w.beforeGraft(g.When) {
		out = append(out, model.T("doc.before-transplant"))
	}
	if g.Gross() {
		for _, c := range n.Conflicts {
			if c.Key == numbers.Gross {
				out = append(out, c)
			}
		}
	}
	return out
}

// beforeGraft reports a time before the newest transplant.
func (w writer) beforeGraft(at model.When) bool {
	on, since := model.Switched(w.h.Entries, w.h.Person.ID, model.Condition, "transplant", w.h.Now)
	return on && at.Before(since)
}

// aged reports a result older than a year, from which nothing is foretold.
func (w writer) aged(at model.When) bool {
	return at.Time().Before(w.h.Now.AddDate(0, -freshMonths, 0))
}

// filtering is the newest eGFR with whatever makes it say less, and the one
// before that it may be set against.
func (w writer) filtering(n *numbers.Numbers) []model.Msg {
	g, ok := n.Newest()
	if !ok {
		return append([]model.Msg{model.T("doc.no-egfr")}, n.Missing...)
	}
	out := []model.Msg{model.T("doc.at-how", "value", egfrOf(g), "when", brief(g.When), "how", model.T("doc.how."+how(g)))}
	if unfit := w.unfit(n); len(unfit) > 0 {
		return append(out, unfit...)
	}
	if w.aged(g.When) {
		out = append(out, model.T("doc.old-result"))
	}
	if g.Young > 0 {
		out = append(out, model.T("doc.two-equations-both", "value", model.Quantity{Typed: renal.ShownEGFR(g.Young), UCUM: perArea}))
	} else if age, known := w.h.Facts.AgeYears(w.h.Now); known && age >= 18 && age <= 25 {
		out = append(out, model.T("doc.two-equations"))
	}
	if g.Differs() {
		out = append(out, model.T("doc.reported", "value", quantity(g.Reported.Value)))
	}
	if g.Ill {
		out = append(out, model.T("doc.ill"))
	}
	for i := len(n.GFR) - 2; i >= 0; i-- {
		b := n.GFR[i]
		if b.Comparable(g) && (b.Cystatin > 0) == (g.Cystatin > 0) && !b.Ill && b.Invalid == "" && !w.beforeGraft(b.When) {
			out = append(out, model.T("doc.before", "value", egfrOf(b), "when", brief(b.When)))
			break
		}
	}
	return out
}

// series is the newest of one laboratory value, the one before, and the highest
// of the period where it is neither.
func (w writer) series(code model.Code) []model.Msg {
	var all []finding.Evidence
	for _, e := range w.h.Of(model.Lab, code) {
		if e.Value.IsNumber() {
			all = append(all, e)
		}
	}
	if len(all) == 0 {
		return nil
	}
	last := len(all) - 1
	out := []model.Msg{model.T("doc.last", "value", bothUnits(all[last].Value), "when", brief(all[last].When))}
	if last > 0 {
		out = append(out, model.T("doc.before", "value", bothUnits(all[last-1].Value), "when", brief(all[last-1].When)))
	}
	it, _ := model.Find(model.Lab, code)
	of := func(e finding.Evidence) float64 { x, _ := it.In(e.Value, it.Units[0].UCUM); return x }
	peak := last
	for i, e := range all {
		if !e.When.DayIn(w.h.Zone).Before(w.a.Since) && of(e) > of(all[peak]) {
			peak = i
		}
	}
	if peak < last-1 {
		out = append(out, model.T("doc.peak", "value", bothUnits(all[peak].Value), "when", brief(all[peak].When)))
	}
	return out
}

func egfrOf(g numbers.GFR) model.Quantity {
	if g.Bound != 0 {
		return quantity(g.Reported.Value)
	}
	return model.Quantity{Typed: renal.ShownEGFR(g.Best()), UCUM: perArea}
}

// how names what an eGFR was worked out from.
func how(g numbers.GFR) string {
	switch {
	case g.Name == "":
		return "reported"
	case g.Name == renal.NameU25Creatinine && g.Cystatin > 0:
		return "child-both"
	case g.Name == renal.NameU25Creatinine:
		return "child"
	case g.Cystatin > 0:
		return "both"
	}
	return "creatinine"
}

func (w writer) trend(n *numbers.Numbers) []model.Msg {
	if len(n.GFR) == 0 {
		return nil
	}
	if !n.NoTrend.IsZero() {
		return []model.Msg{n.NoTrend}
	}
	t := n.Trend
	out := []model.Msg{model.T("doc.slope", "slope", signed(t.PerYear), "low", signed(t.Low), "high", signed(t.High)),
		model.T("doc.slope-from", "n", t.N, "from", brief(n.TrendOf[0].When), "to", brief(n.TrendOf[len(n.TrendOf)-1].When))}
	if t.Driven {
		out = append(out, model.T("doc.slope-driven", "slope", signed(t.Robust)))
	}
	return out
}

// signed is a number to one decimal with its sign.
func signed(x float64) model.Quantity {
	s := strconv.FormatFloat(math.Abs(x), 'f', 1, 64)
	switch {
	case s == "0.0":
		return model.Quantity{Typed: "0"}
	case x < 0:
		return model.Quantity{Typed: "-" + s}
	}
	return model.Quantity{Typed: "+" + s}
}

// albumin is the newest ratio of albumin or protein with the one before it, the
// newest of the other kind, and protein in a whole collection.
func (w writer) albumin(n *numbers.Numbers) []model.Msg {
	var out []model.Msg
	newest, ok := n.NewestAlbumin()
	if ok {
		out = append(out, model.T("doc."+string(newest.Value.Code), "value", bothUnits(newest.Value), "when", brief(newest.When)))
		if newest.Ill {
			out = append(out, model.T("doc.ill"))
		}
		if w.aged(newest.When) {
			out = append(out, model.T("doc.old-result"))
		}
	}
	before, other := false, false
	for _, a := range slices.Backward(n.Albumin) {
		switch {
		case !ok || a.Entry == newest.Entry && a.FromPCR == newest.FromPCR:
		case a.FromPCR == newest.FromPCR && !before && !a.Ill:
			before = true
			out = append(out, model.T("doc.before", "value", bothUnits(a.Value), "when", brief(a.When)))
		case a.FromPCR != newest.FromPCR && !other && !w.aged(a.When):
			other = true
			out = append(out, model.T("doc."+string(a.Value.Code), "value", bothUnits(a.Value), "when", brief(a.When)))
		}
	}
	if e, has := w.h.Last(model.Lab, "urine-protein"); has {
		out = append(out, w.byDay([]model.Observation{{When: e.When, Kind: model.Lab, Value: e.Value}})...)
	}
	if len(out) == 0 {
		return []model.Msg{model.T("doc.no-acr")}
	}
	return out
}

// category is the cell of the grid with the days it rests on. Of results of
// more than a year ago no risk is told.
func (w writer) category(n *numbers.Numbers) []model.Msg {
	p, ok := n.Here()
	if !ok {
		return nil
	}
	cell := p.G.String()
	dates := model.T("doc.cell-date", "egfr", brief(p.GFR.When))
	if p.A != 0 {
		cell += " " + p.A.String()
		dates = model.T("doc.cell-dates", "egfr", brief(p.GFR.When), "acr", brief(p.Albumin.When))
	}
	out := []model.Msg{model.T("doc.cell", "cell", cell), dates}
	if r, ok := p.Risk(); ok && !w.aged(p.GFR.When) {
		out = append(out, model.T("doc.risk", "risk", riskWord(r)))
		if r == renal.Low {
			out = append(out, model.T("chart.grid.low"))
		}
	}
	if n.Filter.Abnormal {
		out = append(out, confirmed("doc.filter", n.Filter))
	}
	if n.Leak.Abnormal && p.A != 0 { // an old result says nothing of now
		out = append(out, confirmed("doc.leak", n.Leak))
	}
	return out
}

// confirmed says of an abnormal number whether it has stood for three months.
func confirmed(key string, c numbers.Confirmation) model.Msg {
	switch {
	case c.Yes:
		return model.T(key+"-confirmed", "n", c.Days)
	case c.Days == 0:
		return model.T(key + "-once")
	}
	return model.T(key+"-not-confirmed", "n", c.Days)
}

// failure is the risk that kidneys fail with what it rests on, or why there is
// none, where there is an eGFR at all.
func (w writer) failure(n *numbers.Numbers) []model.Msg {
	switch {
	case len(n.GFR) == 0:
		return nil
	case w.h.Facts.Region == "" && n.NoRisk.Key == "renal.refused.region":
		return []model.Msg{model.T("doc.no-region")} // to a doctor, what the household is asked to choose
	case !n.NoRisk.IsZero():
		return []model.Msg{n.NoRisk}
	case w.aged(n.Failure.When) || w.h.On(model.Condition, "amputation"): // the equation takes creatinine alone
		return nil
	}
	f := n.Failure
	out := []model.Msg{model.T("doc.failure-four", "two", thousand(f.Four.Two), "five", thousand(f.Four.Five))}
	if f.Eight != nil {
		out = append(out, model.T("doc.failure-eight", "two", thousand(f.Eight.Two), "five", thousand(f.Eight.Five)))
	}
	if f.ACR.Value.Code != "" {
		out = append(out, model.T("doc.failure-egfr", "egfr", model.Quantity{Typed: renal.ShownEGFR(f.GFR.Value), UCUM: perArea}, "acr", quantity(f.ACR.Value)))
	}
	return append(out, model.T("doc.failure-from", "when", brief(f.Latest()), "region", model.T("doc.region."+w.h.Facts.Region)))
}

// thousand is a risk as so many in a thousand.
func thousand(risk float64) model.Msg {
	n := int(math.Round(1000 * risk))
	if n < 1 {
		return model.T("doc.under-one-in-thousand")
	}
	return model.T("doc.in-thousand", "n", n)
}

// freshMonths is for how long a result that is not of the two main ones stands
// on the first line of the others (our own choice).
const freshMonths = 12

// others are the newest of the other laboratory results by the day of their
// sheet: of the last year what a nephrologist asks for first, then the rest,
// and the older ones.
func (w writer) others(n *numbers.Numbers) (first, fresh, older []model.Msg) {
	limit := w.h.Now.AddDate(0, -freshMonths, 0)
	var lists [3][]model.Observation
	for _, r := range n.Latest {
		i := 1
		switch {
		case slices.Contains(elsewhere, r.Value.Code):
			continue
		case r.When.Time().Before(limit):
			i = 2
		case slices.Contains(askedFirst, r.Value.Code):
			i = 0
		}
		lists[i] = append(lists[i], model.Observation{When: r.When, Kind: model.Lab, Value: r.Value})
	}
	return w.byDay(lists[0]), w.byDay(lists[1]), w.byDay(lists[2])
}

// askedFirst are the other results that decide most in kidney disease: KDIGO
// 2024 follows acidosis and anaemia in sections of their own (from memory).
var askedFirst = []model.Code{"bicarbonate", "haemoglobin"}

// elsewhere are the laboratory results that have lines of their own, or say
// nothing without each other.
var elsewhere = []model.Code{"egfr", "creatinine", "potassium", "acr", "pcr", "urine-volume", "urine-hours", "urine-creatinine", "urine-protein"}

// byDay says values with the day they are of once, the newest day first.
func (w writer) byDay(values []model.Observation) []model.Msg {
	values = slices.Clone(values)
	slices.SortStableFunc(values, func(a, b model.Observation) int {
		return b.When.DayIn(w.h.Zone).Compare(a.When.DayIn(w.h.Zone))
	})
	var out []model.Msg
	for len(values) > 0 {
		day := values[0].When
		var said []model.Msg
		for len(values) > 0 && model.DaysBetween(values[0].When, day, w.h.Zone) == 0 {
			said = append(said, valueOf(values[0].Kind, values[0].Value))
			values = values[1:]
		}
		out = append(out, model.T("doc.on", "when", brief(day), "list", said))
	}
	return out
}

// valueOf is a value with its name.
func valueOf(k model.Kind, v model.Value) model.Msg {
	var shown any
	switch {
	case k == model.Lab:
		shown = bothUnits(v)
	case k == model.Symptom:
		shown = severity(v)
	case v.Grade == model.NoGrade && !v.IsNumber():
		if it, _ := model.Find(k, v.Code); it.Takes == model.Flag && v.Word == "yes" {
			return nameOf(k, v.Code)
		}
		shown = model.T("word." + v.Word)
	default:
		shown = shownOf(v)
	}
	return model.T("doc.value-of", "what", nameOf(k, v.Code), "value", shown)
}

// severity is how bad a symptom was; of one that is only asked for as there or
// not, whether it was.
func severity(v model.Value) model.Msg {
	if it, _ := model.Find(model.Symptom, v.Code); it.YesNo && (v.Number == 0 || v.Number == model.There) {
		return model.T(map[bool]string{true: "word.yes", false: "word.no"}[v.Number > 0])
	}
	return model.T("severity." + model.FormatNumber(v.Number))
}

// riskWord is the word of a cell of the grid.
func riskWord(r renal.Risk) model.Msg {
	return model.T("risk." + strings.ReplaceAll(r.String(), " ", "-"))
}

func quantity(v model.Value) model.Quantity { return model.Quantity{Typed: v.Text(), UCUM: v.Unit} }

// bothUnits is a laboratory value as its sheet has it, and in the other unit
// system where there is a sure conversion.
func bothUnits(v model.Value) model.Msg {
	if other, ok := sheet.InOther(sheet.Line{Code: v.Code, Typed: v.Text(), Unit: v.Unit}); ok {
		return model.T("doc.both-units", "value", quantity(v), "other", other)
	}
	return model.T("doc.value", "value", quantity(v))
}
