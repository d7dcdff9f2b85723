package finding

import (
	"cmp"
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// New makes a finding of a rule with its texts. variant is "" for the plain
// form. Arguments for the texts follow as in [model.T]; every text also gets
// "name", the person's name, and "when", the time of the newest evidence.
func (h *History) New(r *Rule, u Urgency, variant string, ev []Evidence, args ...any) Finding {
	key := "finding." + r.ID
	if variant != "" {
		key += "." + variant
	}
	ev = slices.Clone(ev)
	slices.SortStableFunc(ev, func(a, b Evidence) int { return a.When.Compare(b.When) })
	f := Finding{Rule: r.ID, Variant: variant, Person: h.Person.ID, Urgency: u, Evidence: ev, About: r.About, Since: model.At(h.Now)}
	if len(ev) > 0 {
		f.Since = ev[len(ev)-1].When
	}
	when := f.Since
	for _, e := range ev { // what the texts date is the strip, where there is one
		if e.Kind == model.Strip {
			when = e.When
		}
	}
	args = append([]any{"name", h.Person.Name, "when", when}, args...)
	f.Title, f.Why = model.T(key+".title", args...), model.T(key+".why", args...)
	f.Do, f.Change = model.T(key+".do", args...), model.T(key+".change", args...)
	for _, c := range r.Cites {
		f.cite(c.Source)
	}
	for _, l := range r.Limits {
		f.cite(l.Cite.Source)
	}
	return f
}

func (f *Finding) cite(s model.SourceID) {
	if s != "" && !slices.Contains(f.Sources, s) {
		f.Sources = append(f.Sources, s)
	}
}

// InDays makes the finding a visit within n days.
func (f Finding) InDays(n int) Finding {
	f.Days = n
	return f
}

// DueIn makes the finding a to-do.
func (f Finding) DueIn(s Span) Finding {
	f.Due = &s
	return f
}

// Result is what the rules say of one person.
type Result struct {
	Open     []Finding // most urgent first
	Answered []Finding // somebody said what became of them
	Lapsed   []Finding // calls nobody answered, older than the rules look back; never urgent
	History  *History
}

// All are the open findings, then the lapsed, then the answered.
func (r Result) All() []Finding { return slices.Concat(r.Open, r.Lapsed, r.Answered) }

// Run gathers one person's history and applies every rule to it.
func Run(in Input, p model.Person) Result {
	res := NewHistory(in, p).Judge()
	res.Lapsed = append(res.Lapsed, res.History.lapsed(in, slices.Concat(res.Open, res.Lapsed))...)
	sortFindings(res.Lapsed, Rules())
	return res
}

// Judge applies every rule.
func (h *History) Judge() Result { return run(h, Rules()) }

func run(h *History, rules []*Rule) Result {
	var all []Finding
	for _, r := range rules {
		all = append(all, r.Eval(r, h)...)
	}
	res := Result{History: h}
	for _, f := range all {
		// What was answered stays as urgent as it was, for whoever reads back.
		if f.Answer = h.answerTo(f); f.Answer != nil {
			res.Answered = append(res.Answered, f)
		} else if f.Lapsed {
			res.Lapsed = append(res.Lapsed, f)
		} else if f, stands := h.age(f); stands {
			res.Open = append(res.Open, f)
		}
	}
	res.Open = supersede(res.Open, rules)
	sortFindings(res.Open, rules)
	sortFindings(res.Answered, rules)
	return res
}

// age turns an urgent finding nobody answered for three days into the question
// whether it was dealt with; for a week it stays as it is where any of it is a
// laboratory result, which a symptom beside it makes no less. It falls away
// when it rests on symptoms alone and each was recorded gone since.
func (h *History) age(f Finding) (aged Finding, stands bool) {
	span, text := UnansweredSpan, "finding.old.do"
	if slices.ContainsFunc(f.Evidence, func(e Evidence) bool { return e.Kind == model.Lab }) {
		span, text = UnansweredLabSpan, "finding.old.lab.do"
	}
	if f.Urgency < Today || h.Recent(f.Since, span) {
		return f, true
	}
	if h.gotBetter(f) {
		return f, false
	}
	f.Urgency, f.Days, f.Due, f.Old = Soon, 3, nil, true
	f.Do = model.T(text, "when", f.Since)
	f.cite(model.OurChoice)
	return f, true
}

// gotBetter reports that every record the finding rests on is a symptom with a
// later record of 0.
func (h *History) gotBetter(f Finding) bool {
	for _, e := range f.Evidence {
		if e.Kind != model.Symptom {
			return false
		}
		last, _ := h.Last(e.Kind, e.Value.Code)
		if last.Value.Number > 0 || last.When.Compare(e.When) <= 0 {
			return false
		}
	}
	return len(f.Evidence) > 0
}

// answerTo finds the newest answer given after the finding's newest evidence.
func (h *History) answerTo(f Finding) *AnswerRecord {
	for _, a := range slices.Backward(h.answers[f.Rule]) {
		if h.covers(a, f) {
			return &a
		}
	}
	return nil
}

// covers reports an answer given no earlier than the finding's newest evidence.
func (h *History) covers(a AnswerRecord, f Finding) bool {
	return a.When.Compare(f.Since) >= 0 || a.When.DayOnly() && model.DaysBetween(f.Since, a.When, h.Zone) >= 0
}

// sooner reports whether f asks for a doctor earlier than g.
func (f Finding) sooner(g Finding) bool {
	return f.Urgency > g.Urgency || f.Urgency == g.Urgency && f.Days < g.Days
}

// supersede hides findings that a standing one of equal or higher urgency
// replaces. A more urgent finding, or an earlier visit, is never hidden.
func supersede(fs []Finding, rules []*Rule) []Finding {
	byID := map[string]*Rule{}
	for _, r := range rules {
		byID[r.ID] = r
	}
	return slices.DeleteFunc(slices.Clone(fs), func(f Finding) bool {
		return slices.ContainsFunc(fs, func(g Finding) bool {
			return !f.sooner(g) && slices.Contains(byID[g.Rule].Supersedes, f.Rule)
		})
	})
}

// Besides adds the calls for a doctor that only other raises: the same history
// with another form of a record that was changed in two places. Until somebody
// has chosen, neither form may hide what the other calls for.
func (r Result) Besides(other Result) Result {
	for _, f := range other.Open {
		known := slices.ContainsFunc(r.Open, func(g Finding) bool { return g.Rule == f.Rule && !f.sooner(g) })
		if f.Urgency >= Soon && !known {
			f.Other = true
			r.Open = append(slices.Clip(r.Open), f)
		}
	}
	sortFindings(r.Open, Rules())
	return r
}

func sortFindings(fs []Finding, rules []*Rule) {
	place := map[string]int{}
	for i, r := range rules {
		place[r.ID] = i
	}
	slices.SortStableFunc(fs, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(b.Urgency, a.Urgency), cmp.Compare(a.Days, b.Days),
			cmp.Compare(place[a.Rule], place[b.Rule]), b.Since.Compare(a.Since))
	})
}

// Quiet is why the quiet sentence may or may not be said of a person.
type Quiet int

// Only Silent and OnlyStrips may be told as "none of our rules fired".
const (
	Silent       Quiet = iota
	HasFindings        // open findings speak instead
	NothingYet         // nothing was recorded that a rule could judge
	Unjudged           // the newest strip test could not be judged
	SevereRecord       // a symptom stands at 3
	AllAnswered        // a rule fired, and somebody said what became of it
	OnlyStrips         // silent, of somebody of whom no laboratory result is recorded
	OldRecord          // nothing newer than QuietDays: it says nothing about today
)

// QuietDays is for how long silence about a record may be told: what strips show
// is looked back at for as long, and a call nobody answered may have lapsed.
const QuietDays = StripDays

// QuietState tells which it is.
func (r Result) QuietState() Quiet {
	newest := r.NewestRecord()
	switch {
	case len(r.Open)+len(r.Lapsed) > 0:
		return HasFindings
	case newest.IsZero():
		return NothingYet
	case r.History.severe():
		return SevereRecord
	case !r.History.Recent(newest, QuietDays*day):
		return OldRecord
	case r.History.newestUnjudged():
		return Unjudged
	case len(r.Answered) > 0:
		return AllAnswered
	case r.History.onlyStrips():
		return OnlyStrips
	}
	return Silent
}

// onlyStrips reports strips, and nothing from a laboratory beside them.
func (h *History) onlyStrips() bool {
	return len(h.Tests) > 0 && !slices.ContainsFunc(h.Entries, func(e model.Entry) bool { return e.Kind == model.Lab })
}

// NewestRecord is when the newest entry is from that a rule could judge; zero
// for none.
func (r Result) NewestRecord() model.When {
	for _, e := range slices.Backward(r.History.Entries) {
		if slices.Contains([]model.Kind{model.Strip, model.Lab, model.Vital, model.Symptom, model.Fluid}, e.Kind) {
			return e.When
		}
	}
	return model.When{}
}

// newestUnjudged reports a newest test of which something could not be told. A
// test without any pad told nothing at all.
func (h *History) newestUnjudged() bool {
	if len(h.Tests) == 0 {
		return false
	}
	pads := h.Tests[len(h.Tests)-1].Verdict.Pads
	return len(pads) == 0 || slices.ContainsFunc(pads, func(p strip.Pad) bool {
		return p.Standing == strip.NotJudged || slices.Contains(p.Reasons, strip.NeedsCreatinine)
	})
}

// severe reports a symptom whose newest record is 3.
func (h *History) severe() bool {
	for _, it := range model.ItemsOf(model.Symptom) {
		if e, ok := h.Last(model.Symptom, it.Code); ok && e.Value.Number >= 3 {
			return true
		}
	}
	return false
}

// Item is a kind and a code, for what no rule reads.
type Item struct {
	Kind model.Kind
	Code model.Code
}

// Judged reports a laboratory, vital or fluid code that some rule can fire on
// by itself.
func Judged(c model.Code) bool {
	return slices.ContainsFunc(rules, func(r *Rule) bool { return slices.Contains(r.Judges, c) })
}

// Unread lists what was recorded in the last 90 days that no rule judges for
// itself, or whose newest result is only a limit that proves nothing, in the
// order of the plain table. Silence about it means nothing, and a screen must
// say so.
func (r Result) Unread() []Item {
	read := map[Item]bool{}
	for _, rule := range rules {
		for _, c := range rule.Reads {
			read[Item{model.Symptom, c}] = true
		}
		for _, c := range rule.Judges {
			for _, k := range []model.Kind{model.Lab, model.Vital, model.Fluid} {
				read[Item{k, c}] = true
			}
		}
	}
	var out []Item
	for _, it := range model.Items() {
		switch it.Kind {
		case model.Lab, model.Vital, model.Fluid, model.Symptom:
		default:
			continue
		}
		e, ok := r.History.Last(it.Kind, it.Code)
		if it.Takes != model.Number && it.Kind != model.Symptom { // about a sheet, and no value
			continue
		}
		if !ok || !r.History.Recent(e.When, StripDays*day) {
			continue
		}
		if item := (Item{it.Kind, it.Code}); !read[item] || r.History.leavesOpen(e) {
			out = append(out, item)
		}
	}
	return out
}
