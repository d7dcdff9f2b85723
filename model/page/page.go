// Package page owns the one side that a doctor reads in a minute about one
// person: what stands on it, in which order, and what gives way when the side
// is full; and the tables for the sides after it.
//
// It refuses to know paper, typefaces and screens: print and ui set what it
// arranges, in any language.
package page

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
)

// Months are the periods offered: since how long ago things are told.
func Months() []int { return []int{3, 6, 12, 24} }

// Asks is how many questions of the person's own the page has room for. They
// stand there whole.
const (
	Asks      = 3
	noteRunes = 160 // of what somebody noted of a call
)

// Page is what a doctor is told about one person, as of one time.
type Page struct {
	Person   model.Person
	Who      []model.Msg // name, birth date, sex used by the equations, height
	Period   model.Msg
	Sections []Section
	Foot     model.Msg // what kind of numbers these are
}

// Section is a heading and its lines.
type Section struct {
	ID    string
	Title model.Msg
	Lines []Line
}

// Line is a label and what stands beside it: facts one after the other. A
// finding's line has the sign of its urgency instead.
type Line struct {
	Label   model.Msg // zero: the facts have the whole width
	Facts   []model.Msg
	Own     string           // the person's own words instead of facts
	Urgency *finding.Urgency // of a finding, else nil
	Rank    Rank
}

// Rank says which lines give way when the side is full: the highest first,
// equals the last.
type Rank int

// The ranks.
const (
	Must   Rank = iota // goes only where nothing else is left to go
	Firm               // what calls for a visit
	Key                // what else a doctor asks for first
	Useful             // what explains it
	Spare              // what is nice to have
	Rest               // what the household keeps for itself
)

// Asked is what the page is made for.
type Asked struct {
	Since     time.Time // lies on the first day of the period
	Questions []string  // the person's own, in their words
	Packs     []model.Pack
	Twofold   int // records of the person that stand in two forms, and nobody has chosen
}

// Of arranges the page of one person as of the time of r's history.
func Of(r finding.Result, a Asked) Page {
	w := newWriter(r, a)
	p := Page{Person: w.h.Person, Who: w.who(),
		Period: model.T("doc.period", "from", brief(model.OnDay(w.a.Since)), "to", brief(model.OnDay(w.h.Now))), Foot: model.T("doc.foot")}
	for _, s := range []Section{
		{"asks", model.T("doc.section.asks"), w.asks()},
		{"background", model.T("doc.section.background"), w.background()},
		{"findings", model.T("doc.section.findings"), w.findings()},
		{"kidney", model.T("doc.section.kidney"), w.kidney()},
		{"strips", model.T("doc.section.strips"), w.strips()},
		{"home", model.T("doc.section.home"), w.home()},
		{"symptoms", model.T("doc.section.symptoms"), w.symptoms()},
		{"told", model.T("doc.section.told"), w.told()},
	} {
		if len(s.Lines) > 0 {
			p.Sections = append(p.Sections, s)
		}
	}
	return p
}

// writer gathers the lines.
type writer struct {
	r finding.Result
	h *finding.History
	a Asked
}

// newWriter lets the period begin with its first day.
func newWriter(r finding.Result, a Asked) writer {
	a.Since = model.OnDay(a.Since).DayIn(r.History.Zone)
	return writer{r, r.History, a}
}

// inPeriod are the entries of a kind that the period holds.
func (w writer) inPeriod(k model.Kind) []model.Entry {
	var out []model.Entry
	for _, e := range w.h.Entries {
		if e.Kind == k && !e.When.IsZero() && !e.When.DayIn(w.h.Zone).Before(w.a.Since) {
			out = append(out, e)
		}
	}
	return out
}

func (w writer) who() []model.Msg {
	f := w.h.Facts
	out := []model.Msg{}
	if age, ok := f.AgeYears(w.h.Now); ok {
		out = append(out, model.T("doc.born", "when", brief(f.Birth), "n", age))
	} else {
		out = append(out, model.T("doc.no-birth"))
	}
	if f.Sex != "" {
		out = append(out, model.T("doc.sex", "sex", model.T("word."+f.Sex)))
	} else {
		out = append(out, model.T("doc.no-sex"))
	}
	if f.HeightCM > 0 {
		out = append(out, model.T("doc.height", "value", model.Quantity{Typed: model.FormatNumber(f.HeightCM), UCUM: "cm"}))
	}
	return out
}

func (w writer) asks() []Line {
	var out []Line
	for _, q := range w.a.Questions {
		if q = strings.TrimSpace(q); q != "" && len(out) < Asks {
			out = append(out, Line{Own: q})
		}
	}
	return out
}

func shorten(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// background are the conditions and medicines that stand now: they change how
// everything below is read.
func (w writer) background() []Line {
	var out []Line
	for _, k := range []model.Kind{model.Condition, model.Medicine} {
		var facts []model.Msg
		for _, it := range model.ItemsOf(k) {
			switch on, since := model.Switched(w.h.Entries, w.h.Person.ID, k, it.Code, w.h.Now); {
			case !on:
			case it.Code == "pregnancy" && k == model.Condition:
				facts = append(facts, model.T("doc.pregnant", "what", nameOf(k, it.Code), "n", model.DaysBetween(since, model.At(w.h.Now), w.h.Zone)/7))
			case since.IsZero() || w.h.Facts.ForYears(w.h.Entries, k, it.Code, since, w.h.Zone):
				facts = append(facts, model.T("doc.since-long", "what", nameOf(k, it.Code)))
			default:
				facts = append(facts, model.T("doc.since", "what", nameOf(k, it.Code), "when", brief(since)))
			}
		}
		if len(facts) == 0 {
			facts = []model.Msg{model.T("doc.none-recorded")}
		}
		out = append(out, Line{Label: model.T("doc.label." + string(k)), Facts: facts})
	}
	return out
}

// brief is a day in short: the page has no room for more.
func brief(w model.When) model.Brief { return model.Brief{When: w} }

// A finding's line names the values of daysShown days; of one where there are
// more than crowded findings.
const (
	daysShown = 2
	crowded   = 4
)

// answeredShown is for how long a call that somebody has made still stands on
// the page: as long as findings look back on what is felt (clinical decisions).
const answeredShown = 72 * time.Hour

// sourcesShown is how many publications.
const sourcesShown = 1

// findings are the open ones, most urgent first, and what was called about in
// the last days. Notes and tests to repeat are the household's own business and
// give way first.
func (w writer) findings() []Line {
	var out []Line
	if w.a.Twofold > 0 { // the rules saw only one of the two
		out = append(out, Line{Facts: []model.Msg{model.T("merge.twofold-some", "n", w.a.Twofold)}})
	}
	standing := slices.Concat(w.r.Open, w.r.Lapsed)
	slices.SortStableFunc(standing, func(a, b finding.Finding) int { return cmp.Compare(b.Urgency, a.Urgency) })
	for _, f := range standing {
		key := "doc.finding"
		if f.Old {
			key = "doc.finding-old"
		}
		u := f.Urgency
		out = append(out, Line{Label: model.T(key, "urgency", w.howSoon(f), "title", f.Title),
			Facts: append(w.restsOn(f), w.sourcesOf(f)...), Urgency: &u, Rank: rankOfFinding(u)})
	}
	for _, f := range w.r.Answered {
		if f.Urgency >= finding.Today && f.Answer != nil && w.h.Recent(f.Since, answeredShown) {
			u := f.Urgency
			out = append(out, Line{Label: model.T("doc.finding-answered", "urgency", w.howSoon(f), "when", brief(f.Answer.When), "title", f.Title),
				Facts: w.restsOn(f), Urgency: &u, Rank: Firm})
		}
	}
	if w.r.QuietState() == finding.HasFindings {
		return out
	}
	quiet := map[finding.Quiet]model.Msg{finding.Silent: model.T("doc.nothing-open"), finding.OnlyStrips: model.T("doc.nothing-open"), finding.NothingYet: model.T("quiet.nothing-yet"),
		finding.Unjudged: model.T("today.quiet-unjudged"), finding.SevereRecord: model.T("today.quiet-severe"),
		finding.AllAnswered: model.T("doc.nothing-open"), finding.OldRecord: model.T("doc.old-record", "when", w.r.NewestRecord())}
	return append(out, Line{Facts: []model.Msg{quiet[w.r.QuietState()]}})
}

func rankOfFinding(u finding.Urgency) Rank {
	switch u {
	case finding.Emergency, finding.Today:
		return Must
	case finding.Soon:
		return Firm
	case finding.Mention:
		return Key
	case finding.Retest:
		return Useful
	}
	return Rest
}

// restsOn are the values a finding rests on, of its newest days.
func (w writer) restsOn(f finding.Finding) []model.Msg {
	newest, older := f.Observations()
	var total []model.Msg
	if a := f.Why.Args; f.Rule == "fluid-limit" && a["limit"] != nil { // what was drunk in the day, not its last drink
		total = append(total, model.T("doc.drunk-of", "drunk", a["drunk"], "limit", a["limit"]))
		newest = slices.DeleteFunc(newest, func(o model.Observation) bool { return o.Kind == model.Fluid })
	}
	days, most := w.byDay(newest), daysShown
	if len(w.r.Open) > crowded {
		most = 1
	}
	if len(days) > most {
		days = w.labDayFirst(days, newest)[:most]
		older++
	}
	if older > 0 {
		days = append(days, model.T("doc.and-earlier"))
	}
	days = append(total, days...)
	if f.Rule == "kidney-injury" {
		a := f.Why.Args
		days = append(days, model.T("doc.injury", "times", a["times"], "before", a["before"], "stage", a["stage"]))
	}
	if f.Other {
		days = append(days, model.T("doc.other-form"))
	}
	return days
}

// labDayFirst puts the newest day with a laboratory result before the others: it
// is what the finding is about, and a symptom of the next day must not push it
// off the line.
func (w writer) labDayFirst(days []model.Msg, values []model.Observation) []model.Msg {
	byDay := func(a, b model.Observation) int { return a.When.DayIn(w.h.Zone).Compare(b.When.DayIn(w.h.Zone)) }
	labs := slices.DeleteFunc(slices.Clone(values), func(o model.Observation) bool { return o.Kind != model.Lab })
	if len(labs) == 0 {
		return days
	}
	newest, newer := slices.MaxFunc(labs, byDay), map[time.Time]bool{}
	for _, o := range values {
		if byDay(o, newest) > 0 {
			newer[o.When.DayIn(w.h.Zone)] = true
		}
	}
	at := len(newer)
	return slices.Concat(days[at:at+1], days[:at], days[at+1:])
}

// sourcesOf names what the rule rests on, by author or body and year.
func (w writer) sourcesOf(f finding.Finding) []model.Msg {
	if len(w.r.Open) > 2*crowded {
		return nil // what else calls needs the room
	}
	var names []string
	for _, id := range f.Sources {
		if src, ok := model.FindSource(id); ok && src.Published() && len(names) < sourcesShown {
			names = append(names, src.Short())
		}
	}
	if len(names) == 0 {
		return []model.Msg{model.T("doc.source-own")}
	}
	return []model.Msg{model.T("doc.source", "list", names)}
}

// howSoon is the urgency for somebody who is the doctor that it calls for.
func (w writer) howSoon(f finding.Finding) model.Msg {
	if f.Urgency == finding.Soon {
		return model.T("doc.within", "n", f.Days)
	}
	return model.T("doc.urgency." + f.Urgency.String())
}

// told is what was said of findings to whom, the newest first.
func (w writer) told() []Line {
	var out []Line
	for _, e := range slices.Backward(w.inPeriod(model.Answer)) {
		for _, v := range e.Values {
			r, ok := finding.FindRule(string(v.Code))
			if !ok {
				continue
			}
			facts := []model.Msg{model.T("doc.told", "when", brief(e.When), "title", w.titleOf(r), "word", model.T("word."+v.Word))}
			if v.Note != "" {
				facts = append(facts, model.T("doc.quoted", "text", shorten(v.Note, noteRunes)))
			}
			out = append(out, Line{Facts: facts, Rank: rankOf(len(out), 1)})
		}
	}
	return out
}

// titleOf is what a rule says, in the words of a finding where there is one
// still; of which symptom is not known once it has gone.
func (w writer) titleOf(r *finding.Rule) model.Msg {
	for _, f := range w.r.All() {
		if f.Rule == r.ID {
			return f.Title
		}
	}
	return model.T("finding."+r.ID+".title", "what", model.T("doc.a-symptom"), "name", w.h.Person.Name)
}

// rankOf lets the first few of a list stay longest, and as many again longer
// than the rest.
func rankOf(i, stay int) Rank {
	switch {
	case i < stay:
		return Key
	case i < 2*stay:
		return Spare
	}
	return Rest
}

// nameOf is the name of an item as a text.
func nameOf(k model.Kind, c model.Code) model.Msg {
	return model.T("name." + string(k) + "." + string(c))
}

// labelOf is the same where it stands by itself.
func labelOf(k model.Kind, c model.Code) model.Msg {
	return model.T("doc.label", "what", nameOf(k, c))
}
