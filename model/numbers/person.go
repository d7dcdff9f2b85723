package numbers

import (
	"slices"
	"sort"
	"time"

	"quietwater/model"
	"quietwater/model/renal"
)

// person is what the equations need of somebody, gathered once.
type person struct {
	facts    model.Facts
	sex      renal.Sex
	now      time.Time
	zone     *time.Location
	labs     map[model.Code][]Result // in time order, the same result only once
	switches map[model.Code][]turn   // conditions, in time order
	heights  []measure
	weights  []measure
	strips   []strip
}

type turn struct {
	when model.When
	on   bool
}

type measure struct {
	when  model.When
	value float64
}

// strip is the protein of one strip test, by the grade read.
type strip struct {
	when  model.When
	grade model.Grade
}

func read(entries []model.Entry, facts model.Facts, now time.Time) person {
	p := person{facts: facts, sex: renal.Sex(facts.Sex), now: now, zone: now.Location(),
		labs: map[model.Code][]Result{}, switches: map[model.Code][]turn{}}
	ill := map[string]bool{} // sheets somebody called taken while ill, by their time
	for _, e := range entries {
		switch e.Kind {
		case model.Condition:
			for _, v := range e.Values {
				p.switches[v.Code] = append(p.switches[v.Code], turn{e.When, v.Word == "start"})
			}
		case model.Lab:
			if e.Says("ill-then", "yes") {
				ill[e.When.String()] = true
			}
		case model.Profile:
			p.heights = measured(p.heights, e, model.Profile, "height", "cm")
		case model.Vital:
			p.weights = measured(p.weights, e, model.Vital, "weight", "kg")
		case model.Strip:
			if v, ok := e.Value(model.Protein); ok {
				if g, ok := model.UsualGrade(model.Protein, v); ok && g != model.Unclear {
					p.strips = append(p.strips, strip{e.When, g})
				}
			}
		}
	}
	count := map[model.Code]int{} // each list is made once: copying years of results as it grows takes long
	for _, e := range entries {
		if e.Kind == model.Lab {
			for _, v := range e.Values {
				count[v.Code]++
			}
		}
	}
	for c, n := range count {
		p.labs[c] = make([]Result, 0, n)
	}
	for _, e := range entries {
		if e.Kind != model.Lab {
			continue
		}
		sick := len(ill) > 0 && ill[e.When.String()] || p.on("acute-illness", e.When)
		for _, v := range e.Values {
			p.take(Result{e.ID, e.When, v, sick})
		}
	}
	return p
}

func measured(ms []measure, e model.Entry, k model.Kind, c model.Code, unit string) []measure {
	v, ok := e.Value(c)
	if !ok {
		return ms
	}
	it, _ := model.Find(k, c)
	if x, ok := it.In(v, unit); ok {
		ms = append(ms, measure{e.When, x})
	}
	return ms
}

// take keeps a result unless it is one that stands there already, typed twice
// (clinical decision 9).
func (p *person) take(r Result) {
	all := p.labs[r.Value.Code]
	for _, o := range slices.Backward(all) {
		if o.When.Compare(r.When) != 0 {
			break
		}
		if o.Value.Text() == r.Value.Text() && o.Value.Unit == r.Value.Unit {
			return
		}
	}
	p.labs[r.Value.Code] = append(all, r)
}

// on reports a condition that held at the time w.
func (p *person) on(c model.Code, w model.When) bool {
	held, _ := p.held(c, w.Time())
	return held
}

func (p *person) held(c model.Code, at time.Time) (held bool, since model.When) {
	for _, t := range p.switches[c] {
		if !t.when.After(at) {
			held, since = t.on, t.when
		}
	}
	return held, since
}

// age is the exact age in years at w; negative where the birth date is not
// known or later.
func (p *person) age(w model.When) float64 {
	if p.facts.Birth.IsZero() || p.facts.Birth.After(w.Time()) {
		return -1
	}
	return renal.Exact(p.facts.Birth, w)
}

// heightAt is the newest height known at w, or the first one after it; 0 where
// none is known.
func (p *person) heightAt(w model.When) float64 {
	var h float64
	for _, m := range p.heights {
		if h == 0 || m.when.Compare(w) <= 0 {
			h = m.value
		}
	}
	return h
}

// near finds, of a code's results within d of w, the one of the same time, else
// the newest.
func (p *person) near(c model.Code, w model.When, d time.Duration) (best Result, found bool) {
	for _, r := range around(p.labs[c], w, d) {
		if !model.Within(r.When, w, d, p.zone) {
			continue
		}
		if best, found = r, true; r.When.Compare(w) == 0 {
			break
		}
	}
	return best, found
}

// around is the part of rs that may lie within d of w, and some days more: what
// is known by the day alone lies up to two from where a zone has it.
func around(rs []Result, w model.When, d time.Duration) []Result {
	from, to := w.Time().Add(-d-2*day), w.Time().Add(d+2*day)
	i := sort.Search(len(rs), func(i int) bool { return !rs[i].When.Time().Before(from) })
	j := i
	for j < len(rs) && !rs[j].When.Time().After(to) {
		j++
	}
	return rs[i:j]
}

const day = 24 * time.Hour
