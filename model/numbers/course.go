package numbers

import (
	"cmp"
	"slices"
	"sort"
	"time"

	"quietwater/model"
	"quietwater/model/renal"
)

var (
	creatinineItem, _ = model.Find(model.Lab, "creatinine")
	cystatinItem, _   = model.Find(model.Lab, "cystatin-c")
)

// filtering is every eGFR: one a creatinine, and one a report that no
// creatinine of its day stands beside.
func (p *person) filtering() []GFR {
	out := make([]GFR, 0, max(len(p.labs["creatinine"]), len(p.labs["egfr"])))
	used := map[model.ID]bool{}
	for _, r := range p.labs["creatinine"] {
		g, ok := p.compute(r)
		if !ok {
			continue
		}
		if rep, ok := p.near("egfr", r.When, 0); ok && !used[rep.Entry] {
			g.Reported, used[rep.Entry] = &rep, true
		}
		out = append(out, g)
	}
	for _, r := range p.labs["egfr"] {
		if used[r.Entry] {
			continue
		}
		rep := r
		out = append(out, GFR{When: r.When, Value: r.Value.Number, Bound: r.Value.Bound(), Reported: &rep, From: []Result{r},
			Ill: r.Ill, Invalid: p.invalid(r.When)})
	}
	slices.SortStableFunc(out, func(a, b GFR) int { return a.When.Compare(b.When) })
	return out
}

// compute is eGFR by creatinine, with cystatin C of the same day beside it.
func (p *person) compute(r Result) (GFR, bool) {
	age := p.age(r.When)
	mg, ok := creatinineItem.In(r.Value, "mg/dL")
	if !ok || r.Value.Bound() != 0 || age < 0 || p.sex == "" {
		return GFR{}, false
	}
	g := GFR{When: r.When, From: []Result{r}, Ill: r.Ill, Invalid: p.invalid(r.When)}
	var refused model.Msg
	if age < 18 {
		g.Name = "egfr-u25-creatinine"
		g.Value, refused = renal.U25Creatinine(mg, p.heightAt(r.When), age, p.sex)
	} else {
		g.Name = "egfr-creatinine-2021"
		g.Value, refused = renal.CreatinineEGFR(mg, int(age), p.sex)
		if young, no := renal.U25Creatinine(mg, p.heightAt(r.When), age, p.sex); no.IsZero() {
			g.Young = young
		}
	}
	if !refused.IsZero() {
		return GFR{}, false
	}
	if cys, ok := p.near("cystatin-c", r.When, 0); ok && cys.Value.Bound() == 0 {
		p.addCystatin(&g, cys, mg, age)
	}
	return g, true
}

func (p *person) addCystatin(g *GFR, cys Result, mg, age float64) {
	mgL, ok := cystatinItem.In(cys.Value, "mg/L")
	if !ok {
		return
	}
	var both float64
	var refused model.Msg
	if age < 18 {
		if both, refused = renal.U25Cystatin(mgL, age, p.sex); refused.IsZero() {
			both = (both + g.Value) / 2
		}
	} else {
		both, refused = renal.CreatinineCystatinEGFR(mg, mgL, int(age), p.sex)
	}
	if refused.IsZero() {
		g.Cystatin, g.From = both, append(g.From, cys)
	}
}

// invalid is the condition under which eGFR tells little at the time w.
func (p *person) invalid(w model.When) model.Code {
	for _, c := range []model.Code{"dialysis", "pregnancy", "amputation"} {
		if p.on(c, w) {
			return c
		}
	}
	return ""
}

// albumin is every ACR, and every PCR on whose day no ACR was measured.
func (p *person) albumin() []Albumin {
	var out []Albumin
	for _, r := range p.labs["acr"] {
		a, _ := renal.AOf(r.Value)
		out = append(out, Albumin{r, a, false})
	}
	for _, r := range p.labs["pcr"] {
		if _, both := p.near("acr", r.When, 0); !both {
			a, _ := renal.AOfPCR(r.Value)
			out = append(out, Albumin{r, a, true})
		}
	}
	slices.SortStableFunc(out, func(a, b Albumin) int { return a.When.Compare(b.When) })
	return out
}

// Paired is how far apart blood and urine may be tested to stand for one place
// in the grid: a year, the longest interval between tests (our own choice).
const Paired = 365 * day

// path walks through the results and tells the place each time one is new.
// Results of an acute illness say nothing of the stage.
func (p *person) path(gs []GFR, as []Albumin) []Place {
	out := make([]Place, 0, len(gs)+len(as))
	var here Place
	tell := func(w model.When) {
		if here.G == 0 {
			return
		}
		now := here
		now.When = w
		if now.A != 0 && !model.Within(now.GFR.When, now.Albumin.When, Paired, p.zone) {
			now.A, now.Albumin = 0, Albumin{}
		}
		if n := len(out); n > 0 && apart(out[n-1].When, w) < 2*day && model.DaysBetween(out[n-1].When, w, p.zone) == 0 {
			out[n-1] = now
			return
		}
		out = append(out, now)
	}
	for i, j := 0, 0; i < len(gs) || j < len(as); {
		if j == len(as) || i < len(gs) && gs[i].When.Compare(as[j].When) <= 0 {
			if g := gs[i]; !g.Ill && g.Stage() != 0 && g.Invalid != "dialysis" {
				here.G, here.GFR = g.Stage(), g
				tell(g.When)
			}
			i++
			continue
		}
		if a := as[j]; !a.Ill && a.Stage != 0 {
			here.A, here.Albumin = a.Stage, a
			tell(a.When)
		}
		j++
	}
	return out
}

// latest is the newest result of every code, about the sheet itself left out.
func (p *person) latest() []Result {
	var out []Result
	for _, it := range model.ItemsOf(model.Lab) {
		if rs := p.labs[it.Code]; len(rs) > 0 && it.Takes == model.Number {
			out = append(out, rs[len(rs)-1])
		}
	}
	return out
}

// TrendYears is how far back a trend looks: what kidneys did earlier says
// little of what they do now (our own choice).
const TrendYears = 5

// steady is what a trend may rest on: of the last years, by one way of telling,
// not taken in illness or where eGFR tells little, and since the newest
// transplant.
func (p *person) steady(gs []GFR) []GFR {
	gs = slices.DeleteFunc(slices.Clone(gs), func(g GFR) bool {
		return g.Ill || g.Bound != 0 || g.Invalid == "dialysis" || g.Invalid == "pregnancy"
	})
	if len(gs) == 0 {
		return nil
	}
	var out []GFR
	newest := gs[len(gs)-1]
	from := newest.When.DayIn(p.zone).AddDate(-TrendYears, 0, 0)
	if _, since := p.held("transplant", p.now); since.Time().After(from) {
		from = since.DayIn(p.zone)
	}
	for _, g := range gs {
		if !g.When.DayIn(p.zone).Before(from) && g.Comparable(newest) {
			out = append(out, g)
		}
	}
	return out
}

// TrendAt is the trend as it stood at w, and what it rests on; zero where there
// was none.
func (n *Numbers) TrendAt(w model.When) (renal.Trend, []GFR) {
	i := sort.Search(len(n.GFR), func(i int) bool {
		g := n.GFR[i].When
		return g.Compare(w) > 0 && !(w.DayOnly() && model.DaysBetween(g, w, n.person.zone) >= 0)
	})
	of := n.person.steady(n.GFR[:i])
	t, _ := n.person.trend(of)
	return t, of
}

func (p *person) trend(gs []GFR) (renal.Trend, model.Msg) {
	if len(gs) == 0 {
		return renal.TrendOf(nil)
	}
	points := make([]renal.Point, len(gs))
	first := gs[0].When.DayIn(p.zone)
	for i, g := range gs {
		points[i] = renal.Point{Years: years(first, g.When), EGFR: g.Value}
	}
	return renal.TrendOf(points)
}

func years(first time.Time, w model.When) float64 {
	return w.Time().Sub(first).Hours() / 24 / 365.25
}

func (p *person) confirmFilter(gs []GFR) Confirmation {
	var rs []renal.Abnormal
	for _, g := range gs {
		if g.Ill || g.Invalid == "dialysis" {
			continue
		}
		if s := g.Stage(); s != 0 {
			rs = append(rs, renal.Abnormal{When: g.When, Is: s >= renal.G3a})
		}
	}
	return p.confirm(rs)
}

func (p *person) confirmLeak(as []Albumin) Confirmation {
	var rs []renal.Abnormal
	for _, a := range as {
		if !a.Ill && a.Stage != 0 {
			rs = append(rs, renal.Abnormal{When: a.When, Is: a.Stage >= renal.A2})
		}
	}
	return p.confirm(rs)
}

// confirm tells of the kidneys there are: results before the newest transplant
// are of others.
func (p *person) confirm(rs []renal.Abnormal) Confirmation {
	if on, since := p.held("transplant", p.now); on {
		rs = slices.DeleteFunc(rs, func(r renal.Abnormal) bool { return r.When.Before(since) })
	}
	if len(rs) == 0 || !rs[len(rs)-1].Is {
		return Confirmation{}
	}
	yes, days := renal.Confirmed(rs, p.zone)
	return Confirmation{true, yes, days}
}

// next is when blood and urine should be tested again: by the doctor's own
// interval, else by the grid where there is something to watch (ADA Standards
// of Care 2024, section 11, after KDIGO).
func (n *Numbers) next(p person) {
	for _, codes := range [][]model.Code{{"creatinine", "egfr"}, {"acr", "pcr"}} {
		if r, ok := p.newest(codes...); ok {
			n.NextFrom = append(n.NextFrom, r)
		}
	}
	if len(n.NextFrom) == 0 || p.on("dialysis", model.At(p.now)) {
		n.NextFrom = nil
		return
	}
	slices.SortStableFunc(n.NextFrom, func(a, b Result) int { return a.When.Compare(b.When) })
	newest := n.NextFrom[len(n.NextFrom)-1]
	if m := p.facts.LabMonths; m > 0 {
		n.EveryMonths, n.ByDoctor = m, true
	} else if place, known := n.Here(); known && p.watched(place) {
		n.EveryMonths = 12 / float64(renal.ChecksPerYear(place.G, cmp.Or(place.A, renal.A1)))
	}
	if n.EveryMonths > 0 {
		whole := int(n.EveryMonths)
		rest := int((n.EveryMonths - float64(whole)) * 30.4375)
		n.NextTest = newest.When.DayIn(p.zone).AddDate(0, whole, rest)
	}
}

// newest is the newest result of any of the codes.
func (p *person) newest(codes ...model.Code) (newest Result, ok bool) {
	for _, c := range codes {
		if rs := p.labs[c]; len(rs) > 0 && (!ok || rs[len(rs)-1].When.Compare(newest.When) > 0) {
			newest, ok = rs[len(rs)-1], true
		}
	}
	return newest, ok
}

// watched reports that the grid asks for tests: G1 and G2 without albumin only
// where kidney disease is known of.
func (p *person) watched(here Place) bool {
	if here.G >= renal.G3a || here.A >= renal.A2 {
		return true
	}
	now := model.At(p.now)
	return p.on("kidney-disease", now) || p.on("transplant", now) || p.on("single-kidney", now)
}
