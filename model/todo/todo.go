// Package todo owns the dated list of what a household should do: to test
// again, to see somebody in time, to measure, to replace a pack of strips, to
// back the book up.
//
// It refuses to know what a finding means, and how a list, a calendar or a
// reminder is made of it.
package todo

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/pressure"
	"quietwater/model/strip"
)

// Item is one thing to do.
type Item struct {
	// ID stays the same as long as the thing to do does, so that a calendar
	// that is written again changes an entry and does not double it.
	ID     string
	Person model.ID // "" for the household
	Name   string   // the person's, or the pack's
	// What says it in full and may tell of health; Plain never does, and may
	// stand where others read it.
	What, Plain model.Msg
	From, To    time.Time
	Days        bool // From and To are whole days, To the last one
}

// Overdue reports that the time to do it has gone by.
func (i Item) Overdue(now time.Time) bool {
	if i.Days {
		return model.DaysBetween(model.OnDay(i.To), model.OnDay(now), now.Location()) > 0
	}
	return now.After(i.To)
}

// When says in which time to do it.
func (i Item) When() model.Msg {
	from, to := i.say(i.From), i.Until()
	if from.Compare(to) == 0 {
		return model.T("todo.on", "day", from)
	}
	return model.T("todo.when", "from", from, "to", to)
}

// Until is the last moment, or the last day.
func (i Item) Until() model.When { return i.say(i.To) }

func (i Item) say(t time.Time) model.When {
	if i.Days {
		return model.OnDay(t)
	}
	return model.At(t)
}

// Of lists everything that is to be done, soonest first.
func Of(s household.State) []Item {
	var out []Item
	for _, m := range s.Members {
		for _, f := range m.Result.Open {
			if it, ok := ofFinding(m.Person, f); ok && !again(m, f) {
				out = append(out, it)
			}
		}
		out = append(out, AfterCalls(m, s.Now)...)
		out = append(out, ofWeek(s, m)...)
	}
	out = append(out, ofPacks(s)...)
	out = append(out, ofBackup(s)...)
	slices.SortStableFunc(out, func(a, b Item) int {
		return cmp.Or(a.From.Compare(b.From), a.To.Compare(b.To), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// ofFinding is a finding that has a time: a test to repeat, or a visit. What
// calls for somebody the same day is no entry for a calendar.
func ofFinding(p model.Person, f finding.Finding) (Item, bool) {
	// Without the day of its newest evidence: a later record moves the entry of a
	// calendar and leaves no orphan. One rule may speak of several things.
	it := Item{ID: "finding." + f.Rule + "." + strings.Join(f.About, "+") + "." + string(p.ID), Person: p.ID, Name: p.Name,
		What: f.Title, Plain: model.T("todo.plain", "name", p.Name)}
	switch {
	case f.Due != nil:
		it.From, it.To = f.Due.From, f.Due.To
		if slices.ContainsFunc(f.Evidence, func(e finding.Evidence) bool { return e.Kind == model.Strip }) {
			it.What = model.T("todo.again", "title", f.Title)
		}
		if it.Days = wholeDays(*f.Due); it.Days {
			it.To = it.To.Add(-time.Minute)
		}
	case f.Urgency == finding.Soon:
		it.Days = true
		it.From = f.Since.Time()
		y, m, d := it.From.Date()
		it.To = time.Date(y, m, d+f.Days, 12, 0, 0, 0, it.From.Location())
		it.What = model.T("todo.visit", "title", f.Title)
	default:
		return Item{}, false
	}
	return it, true
}

// AfterCalls are the measurements that went with calls for the same day, which
// were made: each stays until it was measured, or its time is over. What is only
// to be tested again is settled with its answer.
func AfterCalls(m household.Member, now time.Time) (out []Item) {
	for _, f := range m.Result.Answered {
		if f.Due == nil || f.Urgency < finding.Today || f.Answer.Word == "done" || !now.Before(f.Due.To) || again(m, f) {
			continue
		}
		it, _ := ofFinding(m.Person, f)
		out = append(out, it)
	}
	return out
}

// early is how much before its time a measurement counts as the one asked for.
const early = 15 * time.Minute

// again reports a call whose value was measured once more, when it was to be.
func again(m household.Member, f finding.Finding) bool {
	if f.Due == nil || f.Urgency < finding.Today || len(f.Evidence) == 0 {
		return false
	}
	of := f.Evidence[len(f.Evidence)-1]
	return slices.ContainsFunc(m.Result.History.Entries, func(e model.Entry) bool {
		_, has := e.Value(of.Value.Code)
		return has && e.Kind == of.Kind && !e.When.DayOnly() && !e.When.Time().Before(f.Due.From.Add(-early))
	})
}

// wholeDays reports a span from midnight to midnight.
func wholeDays(s finding.Span) bool {
	midnight := func(t time.Time) bool { return t.Hour() == 0 && t.Minute() == 0 }
	return midnight(s.From) && midnight(s.To) && s.To.After(s.From)
}

// ofWeek is the next pair of a week of blood pressure that is going on.
func ofWeek(s household.State, m household.Member) []Item {
	start, going := s.Records.Week(m.Person.ID)
	if !going {
		return nil
	}
	w := pressure.WeekOf(pressure.Readings(m.Result.History.Entries, start.Time()), start, s.Now)
	if w.Over {
		return nil
	}
	return []Item{{ID: "pressure." + string(m.Person.ID) + "." + w.From.Format("20060102T15"), Person: m.Person.ID, Name: m.Person.Name,
		What: model.T("todo.pressure"), Plain: model.T("todo.plain", "name", m.Person.Name), From: w.From, To: w.To}}
}

// ofPacks are packs whose last good day comes near or that are nearly empty,
// and, where no good strip is left in the house, that there is none.
func ofPacks(s household.State) []Item {
	var out []Item
	var since model.When // when the last good pack ended
	usable := false
	for _, p := range s.Packs {
		ended := p.Shelf.Until
		if used := lastUse(s, p.Pack.ID); p.Empty || ended.IsZero() {
			ended = used
		}
		switch {
		case !p.Empty && (p.Freshness == strip.Fresh || p.Freshness == strip.UnknownAge):
			usable = true
		case ended.Compare(since) > 0:
			since = ended
		}
		if it, ok := ofPack(s, p); ok {
			out = append(out, it)
		}
	}
	if len(s.Packs) > 0 && !usable && !since.IsZero() {
		out = append(out, Item{ID: "packs", Days: true, What: model.T("todo.pack-none"), Plain: model.T("todo.plain-pack"), From: since.Time(), To: since.Time()})
	}
	return out
}

func ofPack(s household.State, p household.PackState) (Item, bool) {
	if p.Empty || !p.EndingSoon {
		return Item{}, false
	}
	it := Item{ID: "pack." + string(p.Pack.ID), Person: p.Pack.Person, Name: p.Pack.Label, Days: true, Plain: model.T("todo.plain-pack")}
	if p.Shelf.Until.IsZero() || p.DaysLeft < 0 || p.LeftKnown && p.Left <= household.FewStrips {
		// Since its last use, so that it is reminded of once.
		it.From, it.What = s.Now, model.T("todo.pack-few", "pack", p.Pack.Label)
		if at := lastUse(s, p.Pack.ID); !at.IsZero() {
			it.From = at.Time()
		}
		it.To = s.Now
	} else {
		it.From, it.What = p.Shelf.Until.Time(), model.T("todo.pack-ends", "pack", p.Pack.Label)
		it.To = it.From
	}
	return it, true
}

// ofBackup is the backup that is due, from its day on.
func ofBackup(s household.State) []Item {
	if !s.BackupLate() {
		return nil
	}
	day, _ := s.BackupDue()
	return []Item{{ID: "backup", Days: true, What: model.T("todo.backup"), Plain: model.T("todo.backup"), From: day, To: day}}
}

// lastUse is when a pack was last tested from.
func lastUse(s household.State, pack model.ID) model.When {
	for _, e := range slices.Backward(s.Records.Book.Entries) {
		if e.Kind == model.Strip && e.Pack == pack {
			return e.When
		}
	}
	return model.When{}
}

// RemindAt is when to remind of it, in zone: at its time, of whole days in the
// morning, and not in the night where the morning is early enough.
func (i Item) RemindAt(zone *time.Location) time.Time {
	if i.Days { // a day is the same day everywhere
		y, m, d := i.From.Date()
		return time.Date(y, m, d, DayHour, 0, 0, 0, zone)
	}
	at := i.From.In(zone)
	y, m, d := at.Date()
	if at.Hour() >= SleepHour {
		d++
	} else if at.Hour() >= WakeHour {
		return at
	}
	if awake := time.Date(y, m, d, WakeHour, 0, 0, 0, zone); awake.Before(i.To) {
		return awake
	}
	return at
}

// The hours reminders keep to, our own choice; the night is the one of
// finding's dilute sample.
const (
	DayHour   = 9
	WakeHour  = 7
	SleepHour = 21
)

// Due lists the items to remind of after since and up to now, each once, while
// the program runs.
func Due(items []Item, since, now time.Time) []Item {
	var out []Item
	for _, it := range items {
		if at := it.RemindAt(now.Location()); at.After(since) && !at.After(now) {
			out = append(out, it)
		}
	}
	return out
}
