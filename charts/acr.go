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
	lowest, highest := a2/10, a3*10
	converted, protein := false, 0
	for _, a := range n.Albumin {
		if a.FromPCR {
			if c.days.covers(a.When) {
				protein++
			}
			continue
		}
		if !measured(a) {
			continue
		}
		p := coursePoint{when: a.When, y: a.Value.Number, label: w.Number(a.Value.Text()), shape: limitOf(a.Value.Typed)}
		if a.Value.Unit != unit {
			if p.y *= perMmol; unit == "mg/mmol" {
				p.y = a.Value.Number / perMmol
			}
			p.label += "\u00a0" + w.Unit(a.Value.Unit)
			converted = converted || c.days.covers(a.When)
		}
		if a.Ill && p.shape == dot {
			p.shape = ill
		}
		if p.y <= 0 { // below all that can be measured, and below any scale of tenfold steps
			p.y, p.shape = lowest/2, atMost
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
	band := func(from, to float64, key string, a renal.A) {
		name := w.T(model.T(key, "limit", amount(w, a2, unit), "high", amount(w, a3, unit)))
		c.bands = append(c.bands, courseBand{from, to, name, w.T(model.T("stage." + a.String()))})
	}
	band(lowest, a2, "chart.acr.a1", renal.A1)
	band(a2, a3, "chart.acr.a2", renal.A2)
	band(a3, highest, "chart.acr.a3", renal.A3)
	c.note("chart.acr.unit", "unit", w.Unit(unit))
	if converted {
		c.note("chart.acr.converted")
	}
	if protein > 0 {
		c.note("chart.acr.protein", "n", protein)
	}
	if c.has(ill) {
		c.noted(ill, "chart.course.ill")
	}
	c.noteLimits()
	return c.sized(width)
}

// measured reports a number that can be.
func measured(a numbers.Albumin) bool {
	return a.Value.Number >= 0 && !math.IsInf(a.Value.Number, 0)
}

// DescribeACR says in words what the picture shows.
func DescribeACR(n *numbers.Numbers, from, to time.Time) model.Msg {
	days := newCalendar(from, to)
	in := slices.DeleteFunc(slices.Clone(n.Albumin), func(a numbers.Albumin) bool { return a.FromPCR || !measured(a) || !days.covers(a.When) })
	if len(in) == 0 {
		return model.T("chart.acr.nothing")
	}
	first, last := in[0], in[len(in)-1]
	said := func(a numbers.Albumin) model.Quantity {
		return model.Quantity{Typed: a.Value.Text(), UCUM: a.Value.Unit}
	}
	args := []any{"n", len(in), "first", said(first), "since", first.When, "last", said(last), "when", last.When}
	key := "chart.acr.description"
	if len(in) == 1 {
		key = "chart.acr.one"
	}
	msgs := []model.Msg{model.T(key, args...)}
	if last.Stage != 0 && !last.Ill {
		msgs = append(msgs, model.T("chart.acr.stage", "stage", last.Stage.String(), "plain", model.T("stage."+last.Stage.String())))
	}
	return together(msgs)
}

// acrSpec is the chart as the list has it.
func acrSpec() Spec {
	return Spec{ID: "acr", Title: model.T("chart.acr.title"),
		Draw: func(r finding.Result, from, to time.Time, w Words, l Look, width int) Sized {
			return ACR(&r.History.Numbers, marksAbout(r, "acr"), from, to, w, l, width)
		},
		Describe: func(r finding.Result, from, to time.Time) model.Msg { return DescribeACR(&r.History.Numbers, from, to) }}
}
