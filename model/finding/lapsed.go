package finding

import (
	"slices"
	"time"

	"quietwater/model"
)

// lapsed are the calls for a doctor that nobody answered and that no rule looks
// back to any more. A finding stays until it is answered or newer evidence
// replaces it (clinical decisions, "First time"), yet findings look back only so
// far: once that is passed it calls no longer, but it is not forgotten either.
func (h *History) lapsed(in Input, standing []Finding) []Finding {
	var out []Finding
	add := func(f Finding) {
		same := func(o Finding) bool { return o.Rule == f.Rule }
		if !slices.ContainsFunc(standing, same) && !slices.ContainsFunc(out, same) {
			out = append(out, f.asLapsed())
		}
	}
	for _, end := range h.ends() {
		in.Now = end.last.Time().Add(SymptomSpan).In(h.Zone) // what belongs to it may have come days later
		in.Book.Entries = h.upTo(in.Now)
		then := NewHistory(in, h.Person)
		then.answers = h.answers
		judged := then.Judge()
		for _, f := range judged.Open {
			if judged.asks(f) && slices.ContainsFunc(f.Evidence, end.of) {
				add(f)
			}
		}
	}
	return out
}

// asks reports what nobody may forget: a call for a doctor, or something found on
// a strip that was to be tested again, and of which no doctor was told.
func (r Result) asks(f Finding) bool {
	told := func(o Finding) bool { return slices.Equal(o.About, f.About) }
	return f.Urgency >= Soon || (f.Rule == proteinOnce.ID || f.Rule == bloodOnce.ID) && !slices.ContainsFunc(r.Answered, told)
}

// upTo are the entries that findings of that time looked at, and some more: years
// of tests before them must not be judged again.
func (h *History) upTo(now time.Time) []model.Entry {
	from := now.Add(-(StripDays + 40) * day)
	var out []model.Entry
	for i := range h.Entries {
		switch e := &h.Entries[i]; {
		case e.When.After(now):
		case e.Kind == model.Profile, e.Kind == model.Condition, e.Kind == model.Medicine, e.Kind == model.Lab, e.When.Time().After(from):
			out = append(out, *e)
		}
	}
	return out
}

// end is the newest of what findings of one kind rest on, after which nothing
// came for longer than they look back. Each thing that is measured at home has
// its own, so that measuring one does not hide that another is long past.
type end struct {
	kind model.Kind
	code model.Code // empty for any
	last model.When
}

func (x end) of(e Evidence) bool {
	return e.Kind == x.kind && (x.code == "" || e.Value.Code == x.code)
}

func (h *History) ends() []end {
	var out []end
	note := func(k model.Kind, c model.Code, w model.When, span time.Duration) {
		if !w.IsZero() && !h.Recent(w, span) {
			out = append(out, end{k, c, w})
		}
	}
	if n := len(h.Tests); n > 0 {
		note(model.Strip, "", h.Tests[n-1].When(), StripDays*day)
	}
	for _, m := range []struct {
		kind model.Kind
		code model.Code
		days time.Duration
	}{
		{model.Vital, "systolic", PressureDays}, {model.Vital, "weight", WeightDays},
		{model.Vital, "blood-ketones", StripDays}, {model.Vital, "temperature", StripDays},
		{model.Fluid, "urine-hours", collectionDays},
	} {
		measured, _ := h.Last(m.kind, m.code)
		note(m.kind, m.code, measured.When, m.days*day)
	}
	note(model.Symptom, "", h.lastFelt(), StripDays*day)
	return out
}

// lastFelt is when a symptom of at least 1 was recorded last; zero for never.
func (h *History) lastFelt() model.When {
	for i := len(h.Entries) - 1; i >= 0; i-- {
		if e := &h.Entries[i]; e.Kind == model.Symptom && slices.ContainsFunc(e.Values, func(v model.Value) bool { return v.Number >= 1 }) {
			return e.When
		}
	}
	return model.When{}
}

// asLapsed is a call as it stands once the rules look back to it no longer: to be
// told at the next visit, and asked after.
func (f Finding) asLapsed() Finding {
	f.Urgency, f.Days, f.Due, f.Old, f.Lapsed = Mention, 0, nil, true, true
	f.Do = model.T("finding.lapsed.do", "when", f.Since)
	f.cite(model.OurChoice)
	return f
}
