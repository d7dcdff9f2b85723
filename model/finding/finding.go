// Package finding owns the rules that say whether something recorded calls
// for anybody, how soon and why: one file a rule, listed in list.go, and the
// engine that runs, dates, sorts and supersedes them.
//
// It refuses to know how a reading was made trustworthy (strip does), how a
// finding is drawn, and any language: it speaks in model.Msg.
package finding

import (
	"time"

	"quietwater/model"
)

// Urgency is how soon, from least to most.
type Urgency int

// The steps of urgency. Note and Retest are not calls to a doctor.
const (
	Note Urgency = iota
	Retest
	Mention
	Soon
	Today
	Emergency
)

var urgencyWords = [...]string{"note", "retest", "mention", "soon", "today", "emergency"}

// Urgencies lists the steps from least to most urgent.
func Urgencies() []Urgency { return []Urgency{Note, Retest, Mention, Soon, Today, Emergency} }

// String gives the code word of the step.
func (u Urgency) String() string { return urgencyWords[u] }

// Name is the short name a person reads.
func (u Urgency) Name() model.Msg { return model.T("urgency." + u.String() + ".name") }

// Limit is one number a rule compares with, and where it comes from.
type Limit struct {
	Name  string
	Value float64
	Unit  string
	Cite  model.Cite
}

// Rule is one thing the program knows how to notice.
type Rule struct {
	ID        string
	Urgencies []Urgency    // what it may say
	Reads     []model.Code // codes whose values it looks at
	// Judges names those codes of laboratory, vital and fluid entries that can
	// raise it by themselves; others only lend weight to a strip or a symptom.
	Judges []model.Code
	About  []string     // never empty; codes, or one of the words of the command line
	Limits []Limit      // every clinical number in Eval
	Cites  []model.Cite // where the rule itself comes from
	// Variants are the forms its texts take besides the plain one; each has
	// its own title, why, do and change in the catalogues.
	Variants []string
	// Supersedes names rules whose findings are hidden while this one stands,
	// if they are not more urgent.
	Supersedes []string
	Eval       func(r *Rule, h *History) []Finding
}

// Span is when a to-do is due.
type Span struct{ From, To time.Time }

// Evidence is an entry's value that a finding rests on.
type Evidence struct {
	Entry model.ID
	When  model.When
	Kind  model.Kind
	Value model.Value
}

// Finding is something recorded that calls for something.
type Finding struct {
	Rule     string
	Variant  string
	Person   model.ID
	Urgency  Urgency
	Days     int   // for Soon: within how many days of Since
	Due      *Span // for to-dos
	Title    model.Msg
	Why      model.Msg
	Do       model.Msg
	Change   model.Msg
	Sources  []model.SourceID
	Evidence []Evidence // newest last
	About    []string
	Since    model.When    // of the newest evidence
	Old      bool          // was more urgent and nobody said what became of it
	Lapsed   bool          // and the rules look back to it no longer
	Other    bool          // only a form of a record that does not stand calls for it
	Answer   *AnswerRecord // what was said of it; nil while open
}

// Within is the time a doctor should be reached in, as an ISO 8601 duration;
// "" where the finding is no call to a doctor.
func (f Finding) Within() string {
	switch f.Urgency {
	case Soon:
		return "P" + model.FormatNumber(float64(f.Days)) + "D"
	case Today:
		return "PT12H"
	case Emergency:
		return "PT0S"
	}
	return ""
}

// HowSoon is the urgency in full words: "See a doctor within 7 days: ring now".
func (f Finding) HowSoon() model.Msg {
	if f.Lapsed {
		return model.T("urgency.lapsed.when")
	}
	return model.T("urgency."+f.Urgency.String()+".when", "n", f.Days)
}

// Script is what to say on the phone: about whom, what was found, what is
// needed, and the values to read out. ok is false for findings that are no call
// the same day.
func (f Finding) Script() (script []model.Msg, ok bool) {
	if f.Urgency < Today && !f.Old {
		return nil, false
	}
	key := "finding.script"
	if len(f.Evidence) > 0 && f.Evidence[len(f.Evidence)-1].Kind == model.Lab {
		key = "finding.script-lab"
	}
	script = []model.Msg{model.T(key, "name", f.Title.Args["name"], "title", f.Title, "when", f.Since)}
	if values, _ := f.Observations(); len(values) > 0 {
		script = append(script, model.T("finding.script-values", "list", values))
	}
	return script, true
}

// manyValues is how many values a finding names; a week of pressure has more
// than anybody reads.
const manyValues = 8

// Observations are the newest values the finding rests on, and how many older
// ones are left out.
func (f Finding) Observations() (newest []model.Observation, older int) {
	older = max(0, len(f.Evidence)-manyValues)
	for _, e := range f.Evidence[older:] {
		newest = append(newest, model.Observation{When: e.When, Kind: e.Kind, Value: e.Value})
	}
	return newest, older
}

// AnswerRecord is what the household said of a finding.
type AnswerRecord struct {
	When model.When
	Word string // called, doctor-knows, done
	Note string // who, and what they said
}
