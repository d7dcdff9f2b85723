package finding

import (
	"math"
	"slices"

	"quietwater/model"
	"quietwater/model/numbers"
	"quietwater/model/renal"
)

// This file is what the rules about the course of eGFR and albumin share: which
// results tell of the kidneys a person has now, what a result that is only a
// limit proves, what "for the first time" means, and what a result is set
// against.

// sheets makes evidence of laboratory results.
func sheets(rs ...numbers.Result) []Evidence {
	out := make([]Evidence, len(rs))
	for i, r := range rs {
		out[i] = Evidence{r.Entry, r.When, model.Lab, r.Value}
	}
	return out
}

// onDialysis reports dialysis now, when the unit has its own blood tests.
func (h *History) onDialysis() bool { return h.On(model.Condition, "dialysis") }

// filterings are the eGFR that tell of the kidneys a person has now: none on
// dialysis, and none of a time of dialysis or before the newest transplant.
func (h *History) filterings() []numbers.GFR {
	if h.onDialysis() {
		return nil
	}
	all := slices.DeleteFunc(slices.Clone(h.Numbers.GFR), func(g numbers.GFR) bool { return g.Invalid == "dialysis" })
	return anew(h, all, func(g numbers.GFR) model.When { return g.When })
}

// anew leaves out what the newest transplant has made history: results up to
// its day. A transplant without a later result leaves nothing out, so that the
// newest result is always judged.
func anew[T any](h *History, rs []T, when func(T) model.When) []T {
	var from model.When
	for _, e := range h.Of(model.Condition, "transplant") {
		if e.Value.Word == "start" {
			from = e.When
		}
	}
	if from.IsZero() {
		return rs
	}
	i := slices.IndexFunc(rs, func(r T) bool { return model.DaysBetween(from, when(r), h.Zone) > 0 })
	return rs[max(i, 0):]
}

// since tells when a condition or medicine that was on at a time was begun.
func (h *History) since(k model.Kind, c model.Code, at model.When) (begun model.When, on bool) {
	for _, e := range h.Of(k, c) {
		if e.When.After(at.Time()) {
			break
		}
		start := e.Value.Word == "start"
		if start && !on {
			begun = e.When
		}
		on = start
	}
	return begun, on
}

// dayApart reports that two results lie a day or more apart.
func (h *History) dayApart(a, b model.When) bool { return !model.Within(a, b, day-1, h.Zone) }

// reading is one of the numbers that one occasion gave for eGFR; without by it
// is none.
type reading struct {
	by     string // creatinine, cystatin (with creatinine) or laboratory
	number float64
	bound  byte // as of [model.Value.Bound]
	gfr    *numbers.GFR
}

// readings are the numbers of an occasion: our own from creatinine, our own
// with cystatin C, the laboratory's, each in its place.
func readings(g *numbers.GFR) (out [3]reading) {
	if g.Name != "" {
		out[0] = reading{"creatinine", g.Value, 0, g}
	}
	if g.Cystatin > 0 {
		out[1] = reading{"cystatin", g.Cystatin, 0, g}
	}
	if g.Reported != nil {
		out[2] = reading{"laboratory", g.Reported.Value.Number, g.Reported.Value.Bound(), g}
	}
	return out
}

// said is the number, and whose it is.
func (r reading) said() model.Msg {
	typed := ""
	switch {
	case r.by == "":
		return model.Msg{}
	case r.by == "laboratory":
		typed = r.gfr.Reported.Value.Text()
	default:
		typed = renal.ShownEGFR(r.number)
	}
	return model.T("finding.read.egfr-"+r.by, "egfr", model.Quantity{Typed: typed, UCUM: "mL/min/{1.73_m2}"})
}

// evidence is what it rests on.
func (r reading) evidence() []Evidence {
	switch r.by {
	case "creatinine":
		return sheets(r.gfr.From[:1]...)
	case "cystatin":
		return sheets(r.gfr.From...)
	case "laboratory":
		return sheets(*r.gfr.Reported)
	}
	return nil
}

// proves tells where the true number lies of a result that may be only a limit.
func proves(number float64, bound byte) (lo, hi float64) {
	switch bound {
	case '<':
		return 0, number
	case '>':
		return number, math.Inf(1)
	}
	return number, number
}

// reaches reports that a value is at least limit; known is false where it is
// itself only a limit and leaves that open.
func reaches(v model.Value, limit float64) (yes, known bool) {
	switch v.Bound() {
	case '<':
		return false, v.Number <= limit
	case '>':
		return v.Number >= limit, v.Number >= limit
	}
	return v.Number >= limit, true
}

// mark is what one result says of a limit. Results that leave it open make none.
type mark struct {
	when     model.When
	of       model.Code // what was measured: nothing else clears it
	reached  bool
	tell     func() ([]Evidence, []any) // what it rests on, newest last, and what the texts need
	evidence []Evidence                 // of tell, once it is known to stand
	args     []any
}

// firstTime applies "first time" to marks in time order (clinical decisions,
// "How soon"): the first result that reached a limit stands until somebody
// answers it, and once answered no later one is news; unanswered, it is
// replaced by a later result that no longer reaches the limit. It gives the
// newest result that the finding rests on, with the first as evidence beside it.
func (h *History) firstTime(r *Rule, marks []mark) (rests mark, ok bool) {
	first := slices.IndexFunc(marks, func(m mark) bool { return m.reached })
	if first < 0 {
		return mark{}, false
	}
	over := h.answered(r, marks[first].when)
	cleared := map[model.Code]model.When{}
	for i, m := range slices.Backward(marks) {
		switch by, is := cleared[m.of]; {
		case !m.reached && !is:
			cleared[m.of] = m.when
		case !m.reached, over && !h.answered(r, m.when), !over && is && h.isLater(m.when, by):
		default:
			if m.evidence, m.args = m.tell(); i > first {
				earlier, _ := marks[first].tell()
				m.evidence = slices.Concat(earlier, m.evidence)
			}
			return m, true
		}
	}
	return mark{}, false
}

// untold reports a number of the kidneys' course that no rule can tell anything
// of: on dialysis none, and otherwise what is only a limit and leaves open which
// side of ours it lies on, or a cystatin C without a creatinine of its day.
func (h *History) untold(e Evidence) bool {
	if e.Kind != model.Lab {
		return false
	}
	v, known := e.Value, true
	switch v.Code {
	case "acr", "pcr":
		_, known = reaches(v, highLeak[v.Code][v.Unit])
	case "egfr":
		_, known = reaches(v, lowEGFR)
	case "cystatin-c":
		known = slices.ContainsFunc(h.Numbers.GFR, func(g numbers.GFR) bool {
			return slices.ContainsFunc(g.From, func(r numbers.Result) bool { return r.Entry == e.Entry })
		})
	case "creatinine":
	default:
		return false
	}
	return !known || h.onDialysis()
}

// answered reports an answer to the rule given at w or later.
func (h *History) answered(r *Rule, w model.When) bool {
	return h.answerTo(Finding{Rule: r.ID, Since: w}) != nil
}

// changeDays is how long a change that nobody answered is asked about after
// newer results came that have not taken it back.
const changeDays = 365

// course is n results in time order, and what one of them says against an
// earlier one.
type course struct {
	n    int
	when func(i int) model.When
	way  func(from, to int) int  // -1 fell, 1 rose, 0 neither for sure
	ends func(from, to int) bool // from is what to is set against; nothing earlier is
	tell func(from, to int) Finding
}

// changes finds each result that changed from an earlier one a day or more
// before, and keeps what still stands: what was answered, what the newest result
// says, and of the last year what the newest result has not taken back.
func (h *History) changes(c course) []Finding {
	var fs []Finding
	last := c.n - 1
	for to := range c.n {
		var best Finding
		for from := to - 1; from >= 0; from-- {
			if !h.dayApart(c.when(from), c.when(to)) {
				continue
			}
			if way := c.way(from, to); way != 0 {
				f := c.tell(from, to)
				stands := !h.isLater(c.when(to), c.when(last)) || h.Recent(c.when(to), changeDays*day) && c.way(from, last) == way
				if (stands || h.answerTo(f) != nil) && (best.Rule == "" || f.sooner(best)) {
					best = f
				}
			}
			if c.ends(from, to) {
				break
			}
		}
		if best.Rule != "" {
			fs = append(fs, best)
		}
	}
	return h.standing(fs)
}
