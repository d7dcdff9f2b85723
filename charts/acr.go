package charts

import (
	"math"
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/timeline"
)

// perMmol is how many mg/g one mg/mmol is; results of the other unit are converted for the drawing alone,
// never to be judged.
const perMmol = 8.84

// acrUnit is the unit of the newest ACR, which the picture is drawn in.
func acrUnit(n *numbers.Numbers) string {
	for _, a := range slices.Backward(n.Albumin) {
		if !a.FromPCR {
			return a.Value.Unit
		}
	}
	return "mg/g"
}

// acrLimits are where A2 and A3 begin, in a unit.
func acrLimits(unit string) (a2, a3 float64) {
	if unit == "mg/mmol" {
		return 3, 30
	}
	return 30, 300
}

// ACR draws albumin against creatinine in urine over time on a scale of tenfold steps, with the three
// stages as bands.
func ACR(n *numbers.Numbers, marks []timeline.Mark, from, to time.Time, w Words, l Look, width int) Sized {
	c := newCourse(marks, from, to, w, l)
	c.nothing = model.T("chart.acr.nothing")
	unit := acrUnit(n)
	a2, a3 := acrLimits(unit)
	lowest, highest := a2/3, a3*3
	converted, protein := false, false
	for _, a := range n.Albumin {
		if a.FromPCR {
			protein = protein || c.days.covers(a.When)
			continue
		}
		p := coursePoint{when: a.When, y: a.Value.Number, label: w.Number(a.Value.Text()), shape: limitOf(a.Value.Typed)}
		if a.Value.Unit != unit {
			if p.y *= perMmol; unit == "mg/mmol" {
				p.y = a.Value.Number / perMmol
			}
			p.label += " " + w.Unit(a.Value.Unit)
			converted = converted || c.days.covers(a.When)
		}
		if a.Ill && p.shape == dot {
			p.shape = ill
		}
		if p.y <= 0 {
			p.y = a2 / 30
		}
		c.point(p)
	}
	for _, p := range c.points {
		lowest, highest = min(lowest, p.y/1.5), max(highest, p.y*1.5)
	}
	bottom, height := math.Log(lowest), math.Log(highest)-math.Log(lowest)
	c.level = func(v float64) float64 {
		if v <= 0 {
			return 0
		}
		return (math.Log(v) - bottom) / height
	}
	band := func(from, to float64, key string) {
		c.bands = append(c.bands, courseBand{from, to, w.T(model.T(key, "limit", model.Quantity{Typed: model.FormatNumber(a2)}, "high", model.Quantity{Typed: model.FormatNumber(a3)}))})
	}
	band(lowest, a2, "chart.acr.a1")
	band(a2, a3, "chart.acr.a2")
	band(a3, highest, "chart.acr.a3")
	c.note("chart.acr.unit", "unit", w.Unit(unit))
	if converted {
		c.note("chart.acr.converted")
	}
	if protein {
		c.note("chart.acr.protein")
	}
	if c.has(ill) {
		c.note("chart.course.ill")
	}
	if c.has(atMost) || c.has(atLeast) {
		c.note("chart.course.limit")
	}
	return c.sized(width)
}

// DescribeACR says in words what the picture shows.
func DescribeACR(n *numbers.Numbers, from, to time.Time) model.Msg {
	days := newCalendar(from, to)
	in := slices.DeleteFunc(slices.Clone(n.Albumin), func(a numbers.Albumin) bool { return a.FromPCR || !days.covers(a.When) })
	if len(in) == 0 {
		return model.T("chart.acr.nothing")
	}
	first, last := in[0], in[len(in)-1]
	said := func(a numbers.Albumin) model.Quantity {
		return model.Quantity{Typed: a.Value.Text(), UCUM: a.Value.Unit}
	}
	args := []any{"n", len(in), "first", said(first), "since", first.When, "last", said(last), "when", last.When}
	if len(in) == 1 {
		return model.T("chart.acr.one", args...)
	}
	return model.T("chart.acr.description", args...)
}

// acrSpec is the chart as the list has it.
func acrSpec() Spec {
	return Spec{ID: "acr", Title: model.T("chart.acr.title"),
		Draw: func(r finding.Result, from, to time.Time, w Words, l Look, width int) Sized {
			return ACR(&r.History.Numbers, marksAbout(r, "acr"), from, to, w, l, width)
		},
		Describe: func(r finding.Result, from, to time.Time) model.Msg { return DescribeACR(&r.History.Numbers, from, to) }}
}
