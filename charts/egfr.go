package charts

import (
	"math"
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/renal"
	"quietwater/model/timeline"
)

// EGFR draws the filtering of the kidneys over time, with the stages as bands and the trend dashed.
func EGFR(n *numbers.Numbers, marks []timeline.Mark, from, to time.Time, w Words, l Look, width int) Sized {
	c := newCourse(marks, from, to, w, l)
	c.nothing = model.T("chart.egfr.nothing")
	highest := 45.0
	for _, g := range n.GFR {
		p := coursePoint{when: g.When, y: g.Value, label: w.Number(renal.ShownEGFR(g.Value))}
		switch {
		case g.Bound != 0:
			p.shape, p.label = limitOf(string(g.Bound)), string(g.Bound)+p.label
		case tellsLittle(g):
			p.shape = little
		case g.Ill:
			p.shape = ill
		}
		c.point(p)
		if g.Cystatin > 0 {
			c.point(coursePoint{when: g.When, y: g.Cystatin, shape: both, label: w.Number(renal.ShownEGFR(g.Cystatin))})
		}
		if g.Differs() {
			c.point(coursePoint{when: g.When, y: g.Reported.Value.Number, shape: theirs})
		}
	}
	for _, p := range c.points {
		highest = max(highest, p.y)
	}
	top := topOf(1.12*highest, 60, 75, 90, 120, 150, 200) // more is no filtering of kidneys
	c.level = func(v float64) float64 { return v / top }
	for g := renal.G5; g >= renal.G1; g-- {
		if g.From() < top {
			c.bands = append(c.bands, courseBand{g.From(), min(g.To(), top),
				w.T(model.T("chart.egfr.band", "stage", g.String(), "range", rangeOf(g))), w.T(model.T("stage." + g.String()))})
		}
	}
	c.trendOf(n)
	c.note("chart.egfr.unit")
	for _, s := range []struct {
		sign shape
		key  string
	}{{both, "chart.egfr.both"}, {theirs, "chart.egfr.theirs"}, {ill, "chart.course.ill"}, {little, "chart.egfr.little"}} {
		if c.has(s.sign) {
			c.noted(s.sign, s.key)
		}
	}
	if slices.ContainsFunc(n.GFR, func(g numbers.GFR) bool { return g.Invalid == "amputation" && c.days.covers(g.When) }) {
		c.note("numbers.caution.amputation")
	}
	c.noteLimits()
	if c.trend != nil {
		c.notes = append(c.notes, courseNote{dashes, []string{w.T(TrendWords(n.Trend))}})
		c.trend.said = w.T(model.T("chart.egfr.slope", "slope", signed(n.Trend.PerYear), "low", signed(n.Trend.Low), "high", signed(n.Trend.High)))
		if n.Trend.Driven {
			c.note("chart.egfr.driven", "slope", signed(n.Trend.Robust))
		}
	}
	return c.sized(width)
}

// tellsLittle reports that eGFR says nothing of the stage: the equations hold neither on dialysis nor in
// pregnancy (clinical decision 7).
func tellsLittle(g numbers.GFR) bool { return g.Invalid == "dialysis" || g.Invalid == "pregnancy" }

// topOf is the first of the tops that is high enough, else the last.
func topOf(least float64, tops ...float64) float64 {
	for _, t := range tops {
		if t >= least {
			return t
		}
	}
	return tops[len(tops)-1]
}

// rangeOf is a stage's range in words: "45 to 59".
func rangeOf(g renal.G) model.Msg {
	switch {
	case g == renal.G1:
		return model.T("chart.egfr.from", "from", int(g.From()))
	case g == renal.G5:
		return model.T("chart.egfr.below", "to", int(g.To()))
	}
	return model.T("chart.egfr.range", "from", int(g.From()), "to", int(g.To())-1)
}

// trendOf takes the trend where all of what it rests on lies in the window.
func (c *course) trendOf(n *numbers.Numbers) {
	if !n.NoTrend.IsZero() || len(n.TrendOf) < 2 {
		return
	}
	first, last := n.TrendOf[0].When, n.TrendOf[len(n.TrendOf)-1].When
	var mx, my float64
	for _, g := range n.TrendOf {
		mx += c.days.of(g.When) / float64(len(n.TrendOf))
		my += g.Value / float64(len(n.TrendOf))
	}
	ends := func(perYear float64) [2]float64 {
		at := func(w model.When) float64 { return my + perYear*(c.days.of(w)-mx)/365.25 }
		return [2]float64{at(first), at(last)}
	}
	c.trend = &courseTrend{from: first, to: last, mid: ends(n.Trend.PerYear), low: ends(n.Trend.Low), high: ends(n.Trend.High)}
	if !c.days.covers(first) || !c.days.covers(last) {
		c.trend = nil
	}
}

// TrendWords says how eGFR moves, with its doubt.
func TrendWords(t renal.Trend) model.Msg {
	size := model.Quantity{Typed: oneDecimal(math.Abs(t.PerYear))}
	args := []any{"slope", size, "n", t.N, "low", signed(t.Low), "high", signed(t.High)}
	switch {
	case t.Low <= 0 && t.High >= 0:
		args[1] = signed(t.PerYear)
		return model.T("chart.egfr.steady", args...)
	case t.PerYear < 0:
		return model.T("chart.egfr.falls", args...)
	}
	return model.T("chart.egfr.rises", args...)
}

func oneDecimal(x float64) string { return model.FormatNumber(math.Round(x*10) / 10) }

// signed is a number a year with its sign, as a minus is read.
func signed(x float64) model.Quantity {
	s := oneDecimal(math.Abs(x))
	switch {
	case s == "0":
	case x < 0:
		s = "−" + s
	default:
		s = "+" + s
	}
	return model.Quantity{Typed: s}
}

// DescribeEGFR says in words what the picture shows.
func DescribeEGFR(n *numbers.Numbers, from, to time.Time) model.Msg {
	days := newCalendar(from, to)
	in := slices.DeleteFunc(slices.Clone(n.GFR), func(g numbers.GFR) bool { return !days.covers(g.When) })
	if len(in) == 0 {
		return model.T("chart.egfr.nothing")
	}
	first, last := in[0], in[len(in)-1]
	shown := func(g numbers.GFR) model.Quantity {
		typed := renal.ShownEGFR(g.Value)
		if g.Bound != 0 {
			typed = string(g.Bound) + typed
		}
		return model.Quantity{Typed: typed}
	}
	args := []any{"n", len(in), "first", shown(first), "since", first.When, "last", shown(last), "when", last.When}
	key, sick := "chart.egfr.description", 0
	if len(in) == 1 {
		key = "chart.egfr.one"
	}
	said := []model.Msg{model.T(key, args...)}
	for _, g := range in {
		if g.Ill {
			sick++
		}
	}
	if slices.ContainsFunc(in, tellsLittle) {
		said = append(said, model.T("chart.egfr.some-little"))
	}
	if sick > 0 {
		said = append(said, model.T("chart.course.sick", "n", sick))
	}
	if g := last.Stage(); g != 0 && !last.Ill && !tellsLittle(last) {
		said = append(said, model.T("chart.egfr.stage", "stage", g.String(), "plain", model.T("stage."+g.String())))
	}
	if n.NoTrend.IsZero() && len(n.TrendOf) > 0 && days.covers(n.TrendOf[0].When) && days.covers(n.TrendOf[len(n.TrendOf)-1].When) {
		said = append(said, TrendWords(n.Trend))
	}
	return together(said)
}

// together says one sentence after the other.
func together(said []model.Msg) model.Msg {
	all := said[0]
	for _, m := range said[1:] {
		all = model.T("chart.course.then", "first", all, "more", m)
	}
	return all
}

// egfrSpec is the chart as the list has it.
func egfrSpec() Spec {
	return Spec{ID: "egfr", Title: model.T("chart.egfr.title"),
		Draw: func(r finding.Result, from, to time.Time, w Words, l Look, width int) Sized {
			return EGFR(&r.History.Numbers, marksAbout(r, "egfr", "slope", "kidney-injury", "failure-risk"), from, to, w, l, width)
		},
		Describe: func(r finding.Result, from, to time.Time) model.Msg {
			return DescribeEGFR(&r.History.Numbers, from, to)
		}}
}
