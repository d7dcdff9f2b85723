package timeline

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/renal"
	"quietwater/model/water"
)

// Track is one course in time beside the strip pads: numbers, how bad a symptom
// was, or when something began and ended.
type Track struct {
	Kind   model.Kind
	Code   model.Code
	Unit   string // UCUM, of the newest reading; "" where there is none
	Points []Point
	Spans  []Span
	// Limit is a doctor's, in the track's unit, as it stands now; 0 where none.
	Limit float64
	// Joined is the longest pause, in days, that the line goes on over; 0 for
	// points that stand alone.
	Joined float64
}

// Point is one reading: a number, or the two of a pair. Numbers of other units
// are turned into the track's.
type Point struct {
	When   model.When
	Lo, Hi float64
	Typed  string // as it is written; of a pair both
}

// Span is a time something lasted. From is zero where it began before the
// records; one that still goes on lasts until now.
type Span struct {
	From, To model.When
	Open     bool
}

// Pressure is the code of the track of pairs.
const Pressure model.Code = "pressure"

// joined is how long a pause may be before a line stops: a little over what
// households usually leave between two readings. Common practice.
const (
	joinedDaily = 10
	joinedLab   = 400
)

// Steps reports a track of severities, and how many steps they have.
func (t Track) Steps() (n int, ok bool) { return 3, t.Kind == model.Symptom }

// Tracks gathers all courses of one person, in time order: what the laboratory
// measured, pressure, weight, drinks and urine by day, other vital signs,
// symptoms, then conditions and medicines. Courses without a reading are left
// out.
func Tracks(r finding.Result) []Track {
	h := r.History
	all := map[model.Kind]map[model.Code]*Track{}
	at := func(k model.Kind, c model.Code) *Track {
		if all[k] == nil {
			all[k] = map[model.Code]*Track{}
		}
		if all[k][c] == nil {
			all[k][c] = &Track{Kind: k, Code: c}
		}
		return all[k][c]
	}
	for _, g := range h.Numbers.GFR {
		t := at(model.Lab, "egfr")
		t.Unit = "mL/min/{1.73_m2}"
		t.Points = append(t.Points, Point{g.When, g.Value, g.Value, renal.ShownEGFR(g.Value)})
	}
	units := newestUnits(h)
	for i := range h.Entries {
		e := &h.Entries[i]
		for _, v := range e.Values {
			switch e.Kind {
			case model.Lab, model.Vital, model.Symptom:
				if v.Code != "egfr" && v.Code != "diastolic" {
					number(at, e, v, units[v.Code])
				}
			case model.Condition, model.Medicine:
				turn(at(e.Kind, v.Code), e.When, v.Word)
			}
		}
	}
	for _, kind := range []model.Kind{model.Condition, model.Medicine} {
		for _, t := range all[kind] {
			if n := len(t.Spans); n > 0 && t.Spans[n-1].To.IsZero() {
				t.Spans[n-1].To, t.Spans[n-1].Open = model.At(h.Now), true
			}
		}
	}
	days(at, h)
	return inOrder(all)
}

// newestUnits are those the laboratory and the household wrote last.
func newestUnits(h *finding.History) map[model.Code]string {
	out := map[model.Code]string{}
	for i := range h.Entries {
		if e := &h.Entries[i]; e.Kind == model.Lab || e.Kind == model.Vital {
			for _, v := range e.Values {
				if v.Unit != "" {
					out[v.Code] = v.Unit
				}
			}
		}
	}
	return out
}

// number adds a reading in a unit, or in its item's first; one that cannot be
// turned into it is left to the list.
func number(at func(model.Kind, model.Code) *Track, e *model.Entry, v model.Value, unit string) {
	it, ok := model.Find(e.Kind, v.Code)
	if !ok || it.Takes != model.Number || v.Code == "urine-hours" {
		return
	}
	u, ok := it.Unit(unit)
	if !ok {
		return
	}
	n, ok := it.In(v, u.UCUM)
	if !ok {
		return
	}
	p := Point{e.When, n, n, shortly(n)}
	if own, ok := it.Unit(v.Unit); ok && own.UCUM == u.UCUM {
		p.Typed = v.Text()
	}
	code := v.Code
	if code == "systolic" {
		low, ok := e.Value("diastolic")
		if !ok {
			return
		}
		code, p.Lo, p.Typed = Pressure, low.Number, v.Text()+"/"+low.Text()
	}
	t := at(e.Kind, code)
	t.Unit = u.UCUM
	t.Points = append(t.Points, p)
}

// shortly writes a number that was turned into another unit with three digits:
// it is no more exact than that.
func shortly(n float64) string {
	if n == 0 {
		return "0"
	}
	by := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(n))))
	return model.FormatNumber(math.Round(n*by) / by)
}

// turn begins or ends a span. What ends without having begun here lasted from
// before the records.
func turn(t *Track, when model.When, word string) {
	n := len(t.Spans)
	open := n > 0 && t.Spans[n-1].To.IsZero()
	switch {
	case word == "start" && !open:
		t.Spans = append(t.Spans, Span{From: when})
	case word == "end" && open:
		t.Spans[n-1].To = when
	case word == "end":
		t.Spans = append(t.Spans, Span{To: when})
	}
}

// days adds what was drunk and passed each day that anything was written down.
func days(at func(model.Kind, model.Code) *Track, h *finding.History) {
	i := slices.IndexFunc(h.Entries, func(e model.Entry) bool { return e.Kind == model.Fluid })
	if i < 0 || h.Zone == nil {
		return
	}
	for _, d := range water.Days(h.Entries[i:], h.Entries[i].When.DayIn(h.Zone), h.Now) {
		day := model.OnDay(d.Date)
		if d.Drinks > 0 {
			t := at(model.Fluid, "drink")
			t.Points = append(t.Points, Point{day, d.Drunk, d.Drunk, model.FormatNumber(d.Drunk)})
			t.Limit, t.Unit = h.Facts.FluidLimit, "mL"
		}
		if d.Passed > 0 {
			t := at(model.Fluid, "urine")
			t.Unit = "mL"
			t.Points = append(t.Points, Point{day, d.Passed, d.Passed, model.FormatNumber(d.Passed)})
		}
	}
}

// inOrder lists the courses that hold anything: the kidneys' own first, then in
// the order of the plain table.
func inOrder(all map[model.Kind]map[model.Code]*Track) []Track {
	var out []Track
	take := func(k model.Kind, c model.Code) {
		t := all[k][c]
		if t == nil || len(t.Points)+len(t.Spans) == 0 {
			return
		}
		delete(all[k], c)
		slices.SortStableFunc(t.Points, func(a, b Point) int { return a.When.Compare(b.When) })
		switch k {
		case model.Lab:
			t.Joined = joinedLab
		case model.Vital:
			t.Joined = joinedDaily
		}
		if k == model.Vital && c == "weight" {
			t.Joined = 2 * joinedDaily
		}
		out = append(out, *t)
	}
	for _, first := range []struct {
		kind model.Kind
		code model.Code
	}{{model.Lab, "egfr"}, {model.Lab, "acr"}, {model.Lab, "potassium"}, {model.Vital, Pressure}, {model.Vital, "weight"}, {model.Fluid, "drink"}, {model.Fluid, "urine"}} {
		take(first.kind, first.code)
	}
	for _, it := range model.Items() {
		take(it.Kind, it.Code)
	}
	return out
}

// Cut is the courses with what lies between two times, and as much before and
// after as a line needs to come in and go out. Those with nothing there are
// left out.
func Cut(all []Track, from, to time.Time) []Track {
	var out []Track
	for _, t := range all {
		first := sort.Search(len(t.Points), func(i int) bool { return !t.Points[i].When.Time().Before(from) })
		end := sort.Search(len(t.Points), func(i int) bool { return t.Points[i].When.Time().After(to) })
		cut := t
		cut.Points = t.Points[first:max(first, end)]
		cut.Spans = slices.DeleteFunc(slices.Clone(t.Spans), func(s Span) bool {
			return !s.To.IsZero() && s.To.Time().Before(from) || !s.From.IsZero() && s.From.Time().After(to)
		})
		if len(cut.Points)+len(cut.Spans) > 0 {
			out = append(out, cut)
		}
	}
	return out
}

// First is when the records of a person begin; zero where there are none. What
// has lasted since long before is no reason to show those years.
func First(r finding.Result) time.Time {
	for _, e := range r.History.Entries {
		switch e.Kind {
		case model.Profile, model.Condition, model.Medicine:
		default:
			if !e.When.IsZero() {
				return e.When.Time()
			}
		}
	}
	return time.Time{}
}

// Flags are the findings of a person in time order, answered ones among them.
func Flags(r finding.Result) []finding.Finding {
	out := r.All()
	slices.SortStableFunc(out, func(a, b finding.Finding) int {
		return cmp.Or(a.Since.Compare(b.Since), cmp.Compare(a.Rule, b.Rule))
	})
	return out
}
