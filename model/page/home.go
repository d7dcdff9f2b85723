package page

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/pressure"
	"quietwater/model/strip"
	"quietwater/model/water"
)

// strips are the tests of the period: how many, how far they can be trusted,
// and what each pad showed how often.
func (w writer) strips() []Line {
	var tests []finding.Test
	for _, t := range w.h.Tests {
		if !t.When().DayIn(w.h.Zone).Before(w.a.Since) {
			tests = append(tests, t)
		}
	}
	if len(tests) == 0 {
		return []Line{{Facts: []model.Msg{model.T("doc.no-strips")}, Rank: Useful}}
	}
	out := []Line{{Label: model.T("doc.label.tests"), Facts: w.trusted(tests), Rank: Must}}
	var quiet []model.Msg
	for _, pad := range padOrder() {
		c := countPad(pad, tests)
		switch {
		case c.n == 0:
		case c.quiet():
			quiet = append(quiet, model.T("doc.pad-same", "what", nameOf(model.Strip, pad), "value", shownOf(c.last), "n", c.n))
		default:
			out = append(out, Line{Label: labelOf(model.Strip, pad), Facts: c.facts(), Rank: c.rank(pad)})
		}
	}
	if len(quiet) > 0 {
		out = append(out, Line{Label: model.T("doc.label.same"), Facts: quiet, Rank: Spare})
	}
	if packs := w.packs(tests); len(packs) > 0 {
		out = append(out, Line{Label: model.T("doc.label.packs"), Facts: packs, Rank: Rest})
	}
	return out
}

// padOrder is the pads in the order in which they speak of kidneys.
func padOrder() []model.Code {
	first := []model.Code{"protein", "albumin", "blood", "leukocytes", "nitrite", "glucose", "ketones"}
	out := slices.Clone(first)
	for _, it := range model.ItemsOf(model.Strip) {
		if it.Takes != model.Flag && it.Takes != model.Text && !slices.Contains(first, it.Code) {
			out = append(out, it.Code)
		}
	}
	return out
}

// trusted counts the tests, those whose every pad counts, and why others do
// not; and how they were read.
func (w writer) trusted(tests []finding.Test) []model.Msg {
	full, ageless := 0, 0
	reasons, origins := map[strip.Reason]int{}, map[model.Origin]int{}
	for _, t := range tests {
		whole := true
		seen := map[strip.Reason]bool{}
		for _, p := range t.Verdict.Pads {
			if p.Standing == strip.Counts {
				continue
			}
			whole = false
			for _, r := range p.Reasons {
				seen[r] = true
			}
		}
		for r := range seen {
			reasons[r]++
		}
		if whole {
			full++
		}
		origins[t.Entry.Origin]++
		if t.Verdict.Age == strip.UnknownAge {
			ageless++
		}
	}
	last := tests[len(tests)-1]
	out := []model.Msg{model.T("doc.tests", "n", len(tests), "full", full, "when", brief(last.Entry.When))}
	for _, r := range strip.Reasons() {
		if reasons[r] > 0 {
			out = append(out, model.T("doc.counted", "what", model.T("reason."+string(r)+".name"), "n", reasons[r]))
		}
	}
	if ageless > 0 {
		out = append(out, model.T("doc.counted", "what", model.T("doc.age-unknown"), "n", ageless))
	}
	for _, o := range []model.Origin{model.ReadAtTone, model.ByHand, model.FromPhoto, model.ReadLater, model.FromTable} {
		if origins[o] > 0 {
			out = append(out, model.T("doc.counted", "what", model.T("doc.read."+cmp.Or(string(o), "hand")), "n", origins[o]))
		}
	}
	return out
}

// padCount is what one pad showed in the period.
type padCount struct {
	n        int
	by       map[string]int // grade or number as the table writes it
	values   map[string]model.Value
	low, top float64 // of numbers
	numeric  bool
	last     model.Value
	lastAt   model.When
	usable   int         // readings that may be used at all
	worst    model.Grade // by the pack's own chart
}

func countPad(code model.Code, tests []finding.Test) padCount {
	c := padCount{by: map[string]int{}, values: map[string]model.Value{}, low: math.Inf(1), top: math.Inf(-1)}
	for _, t := range tests {
		p, ok := t.Verdict.Pad(code)
		if !ok {
			continue
		}
		c.n++
		if p.Standing == strip.NotJudged {
			continue // is counted, and says nothing
		}
		c.usable++
		c.last, c.lastAt = *p.Value, t.When()
		c.worst = max(c.worst, p.Grade)
		text := p.Value.Text()
		c.by[text]++
		c.values[text] = *p.Value
		if p.Value.IsNumber() {
			c.numeric = true
			c.low, c.top = min(c.low, p.Value.Number), max(c.top, p.Value.Number)
		}
	}
	return c
}

// quiet reports one and the same reading throughout that is no positive one.
func (c padCount) quiet() bool { return len(c.by) == 1 && c.worst <= model.Neg && c.usable == c.n }

// facts are how often each grade was seen, from least to most, or between
// which numbers the readings lay; and the newest.
func (c padCount) facts() []model.Msg {
	var out []model.Msg
	if c.numeric && len(c.by) > 3 {
		out = append(out, model.T("doc.range", "low", short(c.low, c.last), "high", short(c.top, c.last), "n", c.n))
	} else {
		texts := make([]string, 0, len(c.by))
		for text := range c.by {
			texts = append(texts, text)
		}
		slices.SortFunc(texts, func(a, b string) int { return compareValues(c.values[a], c.values[b]) })
		for _, text := range texts {
			out = append(out, model.T("doc.value-counted", "value", shownOf(c.values[text]), "n", c.by[text]))
		}
	}
	if c.n > c.usable {
		out = append(out, model.T("doc.unusable", "n", c.n-c.usable))
	}
	if c.usable > 0 {
		out = append(out, model.T("doc.last", "value", shownOf(c.last), "when", brief(c.lastAt)))
	}
	return out
}

// rank keeps what speaks of the kidneys longest, then whatever else was found.
func (c padCount) rank(pad model.Code) Rank {
	switch {
	case c.usable > 0 && slices.Contains([]model.Code{"protein", "albumin", "blood"}, pad):
		return Key
	case c.worst > model.Neg:
		return Useful
	}
	return Rest
}

// shownOf is a pad's value: a grade as charts print it, or a number with unit.
func shownOf(v model.Value) any {
	switch {
	case v.IsNumber():
		return quantity(v)
	case slices.Contains([]model.Grade{model.Neg, model.Trace, model.Pos, model.Unclear}, v.Grade):
		return model.T("doc.grade." + v.Text())
	}
	return v.Text() // 1+ is the same in every language
}

func short(x float64, like model.Value) model.Quantity {
	typed := model.FormatNumber(x)
	if like.Unit == "{SG}" || like.Unit == "" && x > 0.9 && x < 1.1 {
		typed = strconv.FormatFloat(x, 'f', 3, 64)
	}
	return model.Quantity{Typed: typed, UCUM: like.Unit}
}

func compareValues(a, b model.Value) int {
	switch {
	case a.IsNumber() != b.IsNumber():
		if a.IsNumber() {
			return 1
		}
		return -1
	case a.IsNumber():
		return int(math.Copysign(1, a.Number-b.Number))
	}
	return int(a.Grade) - int(b.Grade)
}

// packs are those the tests came from, with what says whether they were good.
func (w writer) packs(tests []finding.Test) []model.Msg {
	used := map[model.ID]int{}
	for _, t := range tests {
		used[t.Entry.Pack]++
	}
	var out []model.Msg
	for _, p := range w.a.Packs {
		if used[p.ID] > 0 {
			out = append(out, model.T("doc.pack", "label", shorten(p.Label, 40), "n", used[p.ID], "until", brief(strip.ShelfOf(p).Until)))
		}
	}
	return out
}

// home is what was measured with a cuff, scales and a jug.
func (w writer) home() []Line {
	var out []Line
	add := func(label model.Msg, rank Rank, facts ...model.Msg) {
		if len(facts) > 0 {
			out = append(out, Line{Label: label, Facts: facts, Rank: rank})
		}
	}
	add(model.T("doc.label.pressure"), Must, w.pressure()...)
	add(labelOf(model.Vital, "weight"), Useful, w.weight()...)
	add(labelOf(model.Vital, "temperature"), Rest, w.warmest()...)
	add(model.T("doc.label.drinks"), Spare, w.drinks()...)
	add(model.T("doc.label.urine"), Useful, w.collected()...)
	return out
}

// pressure is the newest mean by the protocol in the period, else the plain
// mean of all; and the highest reading and the last.
func (w writer) pressure() []model.Msg {
	rs := pressure.Readings(w.h.Entries, w.a.Since)
	if len(rs) == 0 {
		return nil
	}
	out := []model.Msg{w.mean(rs)}
	if age, known := w.h.Facts.AgeYears(w.h.Now); known && age < 18 {
		out = append(out, model.T("doc.not-judged-child"))
	}
	highest, lower := rs[0], rs[0]
	for _, r := range rs {
		if r.Systolic > highest.Systolic {
			highest = r
		}
		if r.Diastolic > lower.Diastolic {
			lower = r
		}
	}
	last := rs[len(rs)-1]
	out = append(out, model.T("doc.highest", "pair", pair(highest.Systolic, highest.Diastolic), "when", brief(highest.When), "n", len(rs)))
	if lower.Diastolic > highest.Diastolic {
		out = append(out, model.T("doc.highest-lower", "pair", pair(lower.Systolic, lower.Diastolic), "when", brief(lower.When)))
	}
	return append(out,
		model.T("doc.last", "value", pair(last.Systolic, last.Diastolic), "when", brief(last.When)))
}

func (w writer) mean(rs []pressure.Reading) model.Msg {
	for n := len(rs); n > 0; n-- {
		earliest := rs[n-1].When.Time().AddDate(0, 0, -pressure.MeanSpan-1) // zones lie up to a day apart
		from, _ := slices.BinarySearchFunc(rs[:n], earliest, func(r pressure.Reading, t time.Time) int { return r.When.Time().Compare(t) })
		if m, ok := pressure.MeanOf(rs[from:n], w.h.Zone); ok {
			return model.T("doc.mean", "pair", pair(m.Systolic, m.Diastolic), "n", len(m.Of), "days", m.Days, "from", brief(m.From), "to", brief(m.To))
		}
	}
	var systolic, diastolic, n float64
	for _, r := range rs {
		if r.Systolic > 0 && r.Diastolic > 0 {
			systolic, diastolic, n = systolic+r.Systolic, diastolic+r.Diastolic, n+1
		}
	}
	if n == 0 {
		return model.T("doc.no-mean")
	}
	return model.T("doc.plain-mean", "pair", pair(systolic/n, diastolic/n), "n", int(n))
}

// pair is a pressure as it is written; what was not recorded is a dash.
func pair(systolic, diastolic float64) string {
	half := func(x float64) string {
		if x == 0 {
			return "–"
		}
		return strconv.Itoa(int(math.Round(x)))
	}
	return half(systolic) + "/" + half(diastolic)
}

// measured are the values of a vital sign in the period, in time order.
func (w writer) measured(code model.Code) (vs []model.Value, at []model.When) {
	for _, e := range w.inPeriod(model.Vital) {
		if v, ok := e.Value(code); ok {
			vs, at = append(vs, v), append(at, e.When)
		}
	}
	return vs, at
}

func (w writer) weight() []model.Msg {
	vs, at := w.measured("weight")
	if len(vs) == 0 {
		return nil
	}
	n := len(vs) - 1
	out := []model.Msg{model.T("doc.last", "value", quantity(vs[n]), "when", brief(at[n]))}
	it, _ := model.Find(model.Vital, "weight")
	if first, sure := it.In(vs[0], vs[n].Unit); n > 0 && sure {
		change := signed(vs[n].Number - first)
		change.UCUM = vs[n].Unit
		out = append(out, model.T("doc.change-since", "change", change, "when", brief(at[0])))
	}
	if limit := w.h.Facts.WeightLimit; limit > 0 {
		out = append(out, model.T("doc.weight-limit", "limit", model.Quantity{Typed: model.FormatNumber(limit), UCUM: "kg"}))
	}
	return out
}

func (w writer) warmest() []model.Msg {
	it, _ := model.Find(model.Vital, "temperature")
	vs, at := w.measured("temperature")
	best, high := -1, finding.FeverFrom
	for i, v := range vs {
		if c, ok := it.In(v, "Cel"); ok && c >= high {
			best, high = i, c
		}
	}
	if best < 0 {
		return nil
	}
	return []model.Msg{model.T("doc.warmest", "value", quantity(vs[best]), "when", brief(at[best]))}
}

// drinks is the mean of the days on which drinks were recorded, and the doctor's
// limit. Days without an entry say nothing.
func (w writer) drinks() []model.Msg {
	var sum float64
	n := 0
	for _, d := range water.Days(w.h.Entries, w.a.Since, w.h.Now) {
		if d.Drinks > 0 {
			sum += d.Drunk
			n++
		}
	}
	var out []model.Msg
	if n > 0 {
		out = append(out, model.T("doc.drunk", "value", millilitres(sum/float64(n)), "n", n))
	}
	if limit := w.h.Facts.FluidLimit; limit > 0 {
		out = append(out, model.T("doc.fluid-limit", "limit", millilitres(limit)))
	}
	return out
}

// collected is the newest collection of urine whose hours are known.
func (w writer) collected() []model.Msg {
	cs := water.Collections(w.h.Entries, w.a.Since)
	if len(cs) == 0 {
		return nil
	}
	c := cs[len(cs)-1]
	return []model.Msg{model.T("doc.collected", "value", millilitres(c.ML), "hours", model.Quantity{Typed: model.FormatNumber(c.Hours), UCUM: "h"}, "when", brief(c.When))}
}

func millilitres(ml float64) model.Quantity {
	return model.Quantity{Typed: strconv.Itoa(int(math.Round(ml))), UCUM: "mL"}
}

// symptoms are those of the period, the worst first, with how often they were
// noted.
func (w writer) symptoms() []Line {
	type felt struct {
		code  model.Code
		worst float64
		days  map[string]bool
		last  model.When
		now   float64
	}
	by := map[model.Code]*felt{}
	for _, e := range w.inPeriod(model.Symptom) {
		for _, v := range e.Values {
			f := by[v.Code]
			if f == nil {
				f = &felt{code: v.Code, days: map[string]bool{}}
				by[v.Code] = f
			}
			f.now = v.Number
			if v.Number >= 1 {
				f.worst = max(f.worst, v.Number)
				f.days[e.When.DayIn(w.h.Zone).Format("2006-01-02")] = true
				f.last = e.When
			}
		}
	}
	var list []*felt
	for _, it := range model.ItemsOf(model.Symptom) {
		if f := by[it.Code]; f != nil && f.worst >= 1 {
			list = append(list, f)
		}
	}
	slices.SortStableFunc(list, func(a, b *felt) int {
		if a.worst != b.worst {
			return int(b.worst - a.worst)
		}
		return b.last.Compare(a.last)
	})
	var out []Line
	for i, f := range list {
		facts := []model.Msg{model.T("doc.symptom", "worst", model.T("severity."+strconv.Itoa(int(f.worst))), "n", len(f.days), "when", brief(f.last))}
		if it, _ := model.Find(model.Symptom, f.code); it.YesNo { // was asked for as there or not
			facts = []model.Msg{model.T("doc.symptom-there", "n", len(f.days), "when", brief(f.last))}
		}
		if f.now == 0 {
			facts = append(facts, model.T("doc.gone"))
		}
		out = append(out, Line{Label: labelOf(model.Symptom, f.code), Facts: facts, Rank: rankOf(i, 2)})
	}
	return out
}
