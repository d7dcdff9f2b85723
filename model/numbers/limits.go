package numbers

import (
	"sort"
	"time"

	"quietwater/model"
	"quietwater/model/renal"
)

// Apart is how far apart the results of one failure risk may lie: urine within
// a year of blood, the other four blood results within a day (our own choice).
const Apart = Paired

// failure is the five-year risk, from the newest eGFR by creatinine and the
// nearest ACR. A strip or a PCR never stands in for the ACR.
func (p *person) failure(gs []GFR, as []Albumin) (Failure, model.Msg) {
	now := model.At(p.now)
	switch {
	case p.on("dialysis", now):
		return Failure{}, model.T("numbers.no-risk.dialysis")
	case p.on("transplant", now):
		return Failure{}, model.T("numbers.no-risk.transplant")
	case p.on("pregnancy", now):
		return Failure{}, model.T("numbers.no-risk.pregnancy")
	}
	g, f, why := p.risk(gs, as)
	if why.IsZero() {
		it, _ := model.Find(model.Lab, "acr")
		mgG, _ := it.In(f.ACR.Value, "mg/g")
		f.Eight = p.eight(g, mgG, p.age(g.When))
	}
	return f, why
}

// risk is that of four variables, from the newest eGFR of gs and the nearest
// ACR of as. From begins with the ACR.
func (p *person) risk(gs []GFR, as []Albumin) (GFR, Failure, model.Msg) {
	g, ok := lastWell(gs)
	if !ok {
		return g, Failure{}, model.T("numbers.no-risk.egfr")
	}
	acr, ok := p.acrFor(g.When, as)
	if !ok {
		return g, Failure{}, model.T("numbers.no-risk.acr")
	}
	it, _ := model.Find(model.Lab, "acr")
	mgG, _ := it.In(acr.Value, "mg/g")
	four, why := renal.FailureRisk4(p.age(g.When), p.sex, g.Value, mgG, p.facts.Region)
	if !why.IsZero() {
		return g, Failure{}, why
	}
	return g, Failure{Four: four, When: g.When, GFR: g, ACR: acr.Result}, why
}

// RiskCourse is the five-year risk of four variables as it stood at the end of
// every day that brought a result, in time order. Days without a risk are left
// out, but for those of an eGFR too high for the equation: their risk is 0.
func (n *Numbers) RiskCourse() []Failure {
	p := &n.person
	out := make([]Failure, 0, len(n.GFR))
	for i, j := 0, 0; i < len(n.GFR) || j < len(n.Albumin); {
		var w model.When
		if j == len(n.Albumin) || i < len(n.GFR) && n.GFR[i].When.Compare(n.Albumin[j].When) <= 0 {
			w = n.GFR[i].When
		} else {
			w = n.Albumin[j].When
		}
		for i < len(n.GFR) && p.byDay(n.GFR[i].When, w) {
			i++
		}
		for j < len(n.Albumin) && p.byDay(n.Albumin[j].When, w) {
			j++
		}
		if p.on("dialysis", w) || p.on("transplant", w) || p.on("pregnancy", w) {
			continue
		}
		g, f, why := p.risk(n.GFR[:i], n.Albumin[:j])
		if why.IsZero() {
			out = append(out, f)
		} else if g.Value >= 60 {
			out = append(out, Failure{When: g.When, GFR: g})
		}
	}
	return out
}

// byDay reports that a lies on the day of w or before.
func (p *person) byDay(a, w model.When) bool {
	if apart(a, w) > 2*day { // the calendar is slow to ask
		return a.Compare(w) < 0
	}
	return model.DaysBetween(a, w, p.zone) >= 0
}

// lastWell is the newest eGFR that is a number and was not taken in illness.
func lastWell(gs []GFR) (GFR, bool) {
	for i := len(gs) - 1; i >= 0; i-- {
		if !gs[i].Ill && gs[i].Bound == 0 {
			return gs[i], true
		}
	}
	return GFR{}, false
}

// acrFor is the ACR nearest in time, of those that are numbers.
func (p *person) acrFor(w model.When, as []Albumin) (best Albumin, ok bool) {
	from := w.Time().Add(-Apart - 2*day)
	for _, a := range as[sort.Search(len(as), func(i int) bool { return !as[i].When.Time().Before(from) }):] {
		if a.Ill || a.FromPCR || a.Value.Bound() != 0 || apart(a.When, w) > Apart-2*day && !model.Within(a.When, w, Apart, p.zone) {
			continue
		}
		if !ok || apart(a.When, w) <= apart(best.When, w) {
			best, ok = a, true
		}
	}
	return best, ok
}

func apart(a, b model.When) time.Duration { return a.Time().Sub(b.Time()).Abs() }

func (p *person) eight(g GFR, mgG, age float64) *renal.Risks {
	var got [4]float64
	for i, need := range []struct {
		code model.Code
		unit string
	}{{"albumin", "g/dL"}, {"phosphate", "mg/dL"}, {"bicarbonate", "mmol/L"}, {"calcium", "mg/dL"}} {
		r, ok := p.near(need.code, g.When, day)
		it, _ := model.Find(model.Lab, need.code)
		v, converted := it.In(r.Value, need.unit)
		if !ok || !converted || r.Value.Bound() != 0 {
			return nil
		}
		got[i] = v
	}
	risks, why := renal.FailureRisk8(age, p.sex, g.Value, mgG, got[0], got[1], got[2], got[3], p.facts.Region)
	if !why.IsZero() {
		return nil
	}
	return &risks
}

// cautions are the reasons why the numbers say less than they seem to, as
// things stand now (NICE NG203; KDIGO 2024, 1.2).
func (p *person) cautions(n Numbers) []model.Msg {
	var out []model.Msg
	now := model.At(p.now)
	for _, c := range []model.Code{"dialysis", "pregnancy", "amputation", "acute-illness"} {
		if p.on(c, now) {
			out = append(out, model.T("numbers.caution."+string(c)))
		}
	}
	g, ok := n.Newest()
	if !ok {
		return out
	}
	if g.Ill && !p.on("acute-illness", now) {
		out = append(out, model.T("numbers.caution.ill-then", "when", g.When))
	}
	if g.Invalid != "" && !p.on(g.Invalid, now) {
		out = append(out, model.T("numbers.caution."+string(g.Invalid)+"-then", "when", g.When))
	}
	if age := p.age(g.When); g.Young > 0 {
		out = append(out, model.T("numbers.caution.young-both", "value", model.Quantity{Typed: renal.ShownEGFR(g.Young), UCUM: "mL/min/{1.73_m2}"}))
	} else if age >= 18 && age <= 25 {
		out = append(out, model.T("numbers.caution.young"))
	} else if age >= 0 && age < 18 {
		out = append(out, model.T("numbers.caution.child"))
	}
	if g.Name == "" {
		out = append(out, model.T("numbers.caution.reported"))
	}
	return append(out, model.T("numbers.caution.muscle"))
}

// FarCystatin is how far the two eGFR may differ, as a part of the smaller one,
// before it is said (our own choice; KDIGO 2024, 1.2.4 names no number).
const FarCystatin = 0.2

// Gross is the text of the conflict that no equation explains.
const Gross = "numbers.conflict.gross"

// StripNear is how many days a strip and an ACR may lie apart to be compared
// (our own choice).
const StripNear = 14

// conflicts are results that do not agree with each other.
func (p *person) conflicts(n Numbers) []model.Msg {
	var out []model.Msg
	if g, ok := n.Newest(); ok {
		switch {
		case g.Gross():
			out = append(out, model.T(Gross, "when", g.When, "ours", renal.ShownEGFR(g.Best()), "theirs", g.Reported.Value.Text()))
		case g.Differs():
			out = append(out, model.T("numbers.conflict.reported", "when", g.When, "ours", renal.ShownEGFR(g.Value),
				"theirs", g.Reported.Value.Text()))
		}
		if c := g.Cystatin; c > 0 && g.Name == "egfr-creatinine-2021" && max(c, g.Value) > (1+FarCystatin)*min(c, g.Value) {
			out = append(out, model.T("numbers.conflict.cystatin", "when", g.When, "one", renal.ShownEGFR(g.Value), "both", renal.ShownEGFR(c)))
		}
		if m, ok := p.sameDay("creatinine", g.When); ok {
			out = append(out, m)
		}
	}
	if a, ok := n.NewestAlbumin(); ok {
		if m, ok := p.againstStrip(a); ok {
			out = append(out, m)
		}
		if m, ok := p.sameDay(a.Value.Code, a.When); ok {
			out = append(out, m)
		}
	}
	return out
}

// sameDay finds two numbers of one code on one day that differ.
func (p *person) sameDay(c model.Code, w model.When) (model.Msg, bool) {
	var first *Result
	for _, r := range around(p.labs[c], w, 0) {
		if model.DaysBetween(r.When, w, p.zone) != 0 {
			continue
		}
		if first == nil {
			first = &r
			continue
		}
		if r.Value.Unit != first.Value.Unit || r.Value.Number != first.Value.Number {
			return model.T("numbers.conflict.same-day", "what", model.T("name.lab."+string(c)), "when", model.OnDay(w.DayIn(p.zone)),
				"one", quantity(*first), "other", quantity(r)), true
		}
	}
	return model.Msg{}, false
}

func quantity(r Result) model.Quantity {
	return model.Quantity{Typed: r.Value.Text(), UCUM: r.Value.Unit}
}

// againstStrip sets the newest urine result against the strips of its days.
// The laboratory's is the better of the two, and is said to be.
func (p *person) againstStrip(a Albumin) (model.Msg, bool) {
	for i := len(p.strips) - 1; i >= 0; i-- {
		s := p.strips[i]
		if !model.Within(s.when, a.When, StripNear*day, p.zone) || a.Stage == 0 {
			continue
		}
		if high := s.grade.Rank() >= model.Plus1.Rank(); high && a.Stage == renal.A1 {
			return model.T("numbers.conflict.strip-higher", "when", s.when, "grade", s.grade, "sheet", a.When), true
		} else if s.grade == model.Neg && a.Stage >= renal.A2 {
			return model.T("numbers.conflict.strip-lower", "when", s.when, "sheet", a.When), true
		}
	}
	return model.Msg{}, false
}

// missing is what would make more possible, the most useful first.
func (p *person) missing(n Numbers) []model.Msg {
	var out []model.Msg
	say := func(key string, args ...any) { out = append(out, model.T("numbers.missing."+key, args...)) }
	now := model.At(p.now)
	if len(p.labs["creatinine"]) == 0 && len(n.GFR) == 0 {
		say("creatinine")
	}
	if len(p.labs["creatinine"]) > 0 {
		if p.facts.Birth.IsZero() {
			say("birth")
		}
		if p.sex == "" {
			say("sex")
		}
		if age := p.age(now); age >= 0 && age < 18 && len(p.heights) == 0 {
			say("height")
		}
	}
	a, tested := n.NewestAlbumin()
	switch {
	case p.on("dialysis", now):
	case !tested:
		say("acr")
	case a.FromPCR:
		say("acr-not-pcr")
	case !model.Within(a.When, now, Paired, p.zone):
		say("acr-old", "when", a.When)
	}
	if here, ok := n.Here(); ok && here.G >= renal.G3a && p.facts.Region == "" && n.NoRisk.Key == "renal.refused.region" {
		say("region")
	}
	return out
}
