package ui

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// result tells what a test calls for, then what it is worth. Of which kind the
// strip was is only kept with its pack; who just made the test knows it without.
func (w *Window) result(id model.ID, p model.Person, kind *strip.Kind) view {
	v := view{title: model.T("screen.guided"), whose: &p, result: true,
		main: &action{"to-today", model.T("guided.to-today"), w.toToday},
		keys: map[fyne.KeyName]func(){fyne.KeyEscape: w.toToday}}
	m, ok := w.house.State().Member(p.ID)
	if !ok {
		return v
	}
	i := slices.IndexFunc(m.Result.History.Tests, func(t finding.Test) bool { return t.Entry.ID == id })
	if i < 0 { // taken back meanwhile
		v.body = []fyne.CanvasObject{w.kit.Both(model.T("done.undone"))}
		return v
	}
	t := m.Result.History.Tests[i]
	t.Kind = cmp.Or(t.Kind, kind)
	mine := raised(m.Result.Open, id)
	// What calls for somebody comes first; what only explains the test later.
	for _, f := range mine {
		v.body = append(v.body, w.finding(f, true))
	}
	v.bare = slices.ContainsFunc(mine, anEmergency)
	said := raised(m.Result.Answered, id)
	for _, f := range said {
		v.body = append(v.body, w.finding(f, false))
	}
	if len(mine)+len(said) == 0 {
		v.body = append(v.body, w.kit.Card(w.kit.Both(nothingFired(t.Verdict))))
	}
	v.body = append(v.body, w.worth(t)...)
	v.body = append(v.body, w.kit.BothSmall(model.T("guided.hygiene")))
	return v
}

// nothingFired is what may be said of a test without a finding: nothing at
// all when no pad of it could be judged.
func nothingFired(v strip.Verdict) model.Msg {
	if slices.ContainsFunc(v.Pads, func(p strip.Pad) bool { return p.Standing > strip.NotJudged }) {
		return model.T("guided.result-none")
	}
	return model.T("guided.result-unjudged")
}

// worth is the quality of a test in words: each pad with its value and, where
// there is one, the reason it may not simply be believed.
func (w *Window) worth(t finding.Test) []fyne.CanvasObject {
	k := w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("guided.result"))}
	var said []strip.Reason
	for _, r := range strip.Reasons() {
		if t.Verdict.Has(r) {
			said = append(said, r)
			why := "reason." + string(r) + ".why"
			if r == strip.Early && t.ReadAtOnce() {
				why = "guided.early-pads"
			}
			body = append(body, k.Notice(kit.NoticeCare, model.T(why, "pads", w.padsWith(t.Verdict, r))))
		}
	}
	switch {
	case t.Verdict.Age == strip.UnknownAge:
		body = append(body, k.Notice(kit.NoticeCare, model.T("guided.age-unknown")))
	case len(said) == 0:
		body = append(body, k.Both(model.T("guided.result-good")))
	}
	card := []fyne.CanvasObject{}
	for _, p := range t.Verdict.Pads {
		card = append(card, k.Text(w.padLine(p)))
	}
	if out := leftOut(t); len(out) > 0 {
		card = append(card, k.BothStrong(model.T("guided.left-out", "pads", out)))
	}
	return append(body, k.Card(card...), k.BothSmall(model.T("guided.result-limits")))
}

// leftOut are the pads of the strip of which nothing was kept: a list of the
// others alone would let them pass for read.
func leftOut(t finding.Test) []model.Msg {
	if t.Kind == nil {
		return nil
	}
	var out []model.Msg
	for _, r := range t.Kind.Chart.Rows {
		if _, read := t.Entry.Value(r.Pad); !read {
			out = append(out, padName(r.Pad))
		}
	}
	return out
}

func (w *Window) padsWith(v strip.Verdict, r strip.Reason) []model.Msg {
	var out []model.Msg
	for _, p := range v.Pads {
		if slices.Contains(p.Reasons, r) {
			out = append(out, padName(p.Value.Code))
		}
	}
	return out
}

// padLine is one pad with its value and what it is worth.
func (w *Window) padLine(p strip.Pad) model.Msg {
	line := w.valueLine(model.Strip, *p.Value)
	if p.Standing == strip.NotJudged {
		return model.T("timeline.pad-not-judged", "pad", line)
	}
	return kit.Said(line)
}

// raised are the open findings that rest on one of some entries.
func raised(open []finding.Finding, ids ...model.ID) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(open), func(f finding.Finding) bool {
		return !slices.ContainsFunc(f.Evidence, func(e finding.Evidence) bool { return slices.Contains(ids, e.Entry) })
	})
}
