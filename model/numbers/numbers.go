// Package numbers owns what the laboratory sheets of one person say together:
// the course of the kidneys' filtering and of the albumin in urine, the place
// in the grid of stages, whether it is confirmed, its trend and risk, what
// disagrees, what limits it and what is missing.
//
// It refuses to know the equations (renal does), what calls for a doctor
// (finding does), and how a number is drawn.
package numbers

import (
	"cmp"
	"time"

	"quietwater/model"
	"quietwater/model/renal"
)

// Result is one laboratory value and where it stands in the book.
type Result struct {
	Entry model.ID
	When  model.When
	Value model.Value
	Ill   bool // taken during an acute illness, as somebody recorded
}

// GFR is the filtering of the kidneys on one occasion: by our own equation
// where creatinine, birth date and sex allow it, else as the laboratory
// reported it.
type GFR struct {
	When     model.When
	Value    float64    // mL/min/1.73 m², unrounded; of a bounded report its limit
	Name     renal.Name // the equation, "" where Value is the laboratory's report
	Bound    byte       // '<' or '>' of a report that is only a limit, else 0
	Cystatin float64    // by creatinine and cystatin C together; 0 where not
	Young    float64    // from 18 to 25 by the children's equation too; 0 where not, or without a height
	Reported *Result    // the laboratory's own, of the same time; nil where none
	From     []Result   // what it was computed from, or the report itself
	Ill      bool
	Invalid  model.Code // condition under which eGFR tells little: pregnancy, dialysis, amputation
}

// Best is the number a stage is read from: with cystatin C where it was
// measured too (KDIGO 2024, 1.2.2), else Value.
func (g GFR) Best() float64 { return cmp.Or(g.Cystatin, g.Value) }

// Stage is the GFR category of Best; 0 where a bounded report leaves it open.
func (g GFR) Stage() renal.G {
	c := renal.GOf(g.Best())
	switch {
	case g.Bound == '>' && c != renal.G1, g.Bound == '<' && g.Value > 15:
		return 0
	case g.Bound == '<':
		return renal.G5
	}
	return c
}

// Below reports whether the laboratory's number or one of ours lies below
// limit, and which did: a limit crossed by either counts.
func (g GFR) Below(limit float64) (below, byReport bool) {
	if g.Name != "" && (g.Value < limit || g.Cystatin > 0 && g.Cystatin < limit) {
		return true, false
	}
	if g.Reported == nil {
		return false, false
	}
	v := g.Reported.Value
	return v.Number < limit && v.Bound() != '>' || v.Bound() == '<' && v.Number <= limit, true
}

// Differs reports that the laboratory's own number and ours are more than 10 %
// or more than 5 units apart (clinical decision 2).
func (g GFR) Differs() bool {
	if g.Name == "" || g.Reported == nil || g.Reported.Value.Bound() != 0 {
		return false
	}
	d := g.Reported.Value.Number - g.Value
	return max(d, -d) > 5 || max(d, -d) > 0.1*g.Value
}

// Gross reports that the laboratory's own number and all of ours are further
// apart than equations are, by more than a third of theirs and by 15 or more:
// one of the two is a slip, of another unit or another person (common
// practice).
func (g GFR) Gross() bool {
	if g.Name == "" || g.Reported == nil {
		return false
	}
	v := g.Reported.Value
	for _, ours := range []float64{g.Value, cmp.Or(g.Cystatin, g.Value)} {
		d := ours - v.Number
		if d > 0 && v.Bound() == '>' || d < 0 && v.Bound() == '<' || max(d, -d) < 15 || 3*max(d, -d) <= v.Number {
			return false
		}
	}
	return true
}

// Comparable reports that two results may be set against each other: neither
// is only a limit, and they come from one equation, or one was reported.
func (g GFR) Comparable(o GFR) bool {
	return g.Bound == 0 && o.Bound == 0 && (g.Name == o.Name || g.Name == "" || o.Name == "")
}

// Albumin is one result of albumin (or, where FromPCR, of protein) against
// creatinine in urine, with its category.
type Albumin struct {
	Result
	Stage   renal.A // 0 where a bounded result leaves it open
	FromPCR bool
}

// Place is a cell of the grid of stages, at the time of the newer of its two
// results. A is 0 where no urine result lies within a year.
type Place struct {
	When    model.When
	G       renal.G
	A       renal.A
	GFR     GFR
	Albumin Albumin
}

// Risk is the cell's risk word; ok is false while one of the two is unknown.
func (p Place) Risk() (r renal.Risk, ok bool) {
	if p.G == 0 || p.A == 0 {
		return 0, false
	}
	return renal.RiskOf(p.G, p.A), true
}

// Confirmation tells whether an abnormal result has stood for three months.
type Confirmation struct {
	Abnormal bool // the newest is
	Yes      bool
	Days     int // since when it has been abnormal without a break
}

// Failure is the risk that kidneys fail, by the equation of four variables, and
// by that of eight where all were measured at one time.
type Failure struct {
	Four  renal.Risks
	Eight *renal.Risks
	When  model.When // of the eGFR
	GFR   GFR
	ACR   Result // without a Code where the eGFR alone settles it
}

// From is what it rests on, the ACR first.
func (f *Failure) From() []Result {
	if f.ACR.Value.Code == "" {
		return f.GFR.From
	}
	return append([]Result{f.ACR}, f.GFR.From...)
}

// Latest is the time of the newest result it rests on.
func (f *Failure) Latest() model.When {
	w := f.GFR.When
	for _, r := range f.GFR.From {
		if w.Compare(r.When) < 0 {
			w = r.When
		}
	}
	if f.ACR.Value.Code != "" && w.Compare(f.ACR.When) < 0 {
		w = f.ACR.When
	}
	return w
}

// Numbers is all of it, as of one time.
type Numbers struct {
	GFR     []GFR     // in time order
	Albumin []Albumin // in time order
	Path    []Place   // each time the cell was told anew, in time order
	Latest  []Result  // the newest of every laboratory code, in the order of the plain table

	Trend       renal.Trend
	NoTrend     model.Msg // why there is none
	TrendOf     []GFR     // the results it rests on
	Failure     Failure
	NoRisk      model.Msg // why there is none
	Filter      Confirmation
	Leak        Confirmation
	NextTest    time.Time // first day the next laboratory test is due; zero where nothing says so
	EveryMonths float64   // the interval it rests on
	NextFrom    []Result  // the newest of blood and of urine, which it is counted from
	ByDoctor    bool      // the doctor's own interval

	Cautions  []model.Msg // what makes the numbers say less, as things stand now
	Conflicts []model.Msg // results that do not agree
	Missing   []model.Msg // what would make more possible

	person person
}

// Newest is the newest eGFR; ok is false where there is none.
func (n *Numbers) Newest() (g GFR, ok bool) {
	if len(n.GFR) == 0 {
		return GFR{}, false
	}
	return n.GFR[len(n.GFR)-1], true
}

// NewestAlbumin is the newest ACR, or PCR where no ACR is newer.
func (n *Numbers) NewestAlbumin() (a Albumin, ok bool) {
	if len(n.Albumin) == 0 {
		return Albumin{}, false
	}
	return n.Albumin[len(n.Albumin)-1], true
}

// Here is the newest place in the grid.
func (n *Numbers) Here() (p Place, ok bool) {
	if len(n.Path) == 0 {
		return Place{}, false
	}
	return n.Path[len(n.Path)-1], true
}

// Of reads one person's entries, which are in time order and not after now;
// now's location is the household's zone.
func Of(entries []model.Entry, facts model.Facts, now time.Time) Numbers {
	p := read(entries, facts, now)
	n := Numbers{person: p}
	n.GFR = p.filtering()
	n.Albumin = p.albumin()
	n.Path = p.path(n.GFR, n.Albumin)
	n.Latest = p.latest()
	n.TrendOf = p.steady(n.GFR)
	n.Trend, n.NoTrend = p.trend(n.TrendOf)
	n.Filter = p.confirmFilter(n.GFR)
	n.Leak = p.confirmLeak(n.Albumin)
	n.Failure, n.NoRisk = p.failure(n.GFR, n.Albumin)
	n.next(p)
	n.Cautions = p.cautions(n)
	n.Conflicts = p.conflicts(n)
	n.Missing = p.missing(n)
	return n
}
