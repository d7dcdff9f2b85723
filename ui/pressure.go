package ui

import (
	"math"
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/pressure"
)

// between is how long to sit still between two readings of a pair (facts E:
// two readings one minute apart).
const between = time.Minute

// pressure asks for a reading of the cuff; a second one follows a minute later.
func (w *Window) pressure(p model.Person) func() view { return w.pressurePage(p, false) }

func (w *Window) pressurePage(p model.Person, second bool) func() view {
	m := w.newMeasure("pressure", p, model.Vital, "systolic", "diastolic", "pulse")
	m.boxes[2].optional = true
	m.more = func() []fyne.CanvasObject { return w.weekPart(p) }
	if second {
		m.id = "pressure-second"
	}
	m.then = func(e model.Entry) { w.afterReading(p, e, second) }
	return w.measurePage(m)
}

// afterReading leads on: to a rest of five minutes where the pressure is very
// high, to a second reading after a minute where it is not, and to neither
// where the reading calls for a doctor already.
func (w *Window) afterReading(p model.Person, e model.Entry, second bool) {
	_, rest := w.restDue(p)
	switch {
	case w.callsToday(p, e):
		w.turn(w.readingCalls(p, e))
	case rest || !second:
		w.turn(w.betweenReadings(p, e))
	default:
		w.todayAfter(p, w.savedFor(p.ID), true)
	}
}

// restDue is the finding that asks for a second reading after a rest.
func (w *Window) restDue(p model.Person) (finding.Finding, bool) {
	m, _ := w.house.State().Member(p.ID)
	i := slices.IndexFunc(m.Result.Open, func(f finding.Finding) bool { return f.Rule == "pressure-crisis" && f.Due != nil })
	if i < 0 {
		return finding.Finding{}, false
	}
	return m.Result.Open[i], true
}

// raisedBy are the open findings that rest on an entry.
func (w *Window) raisedBy(p model.Person, e model.Entry) []finding.Finding {
	m, _ := w.house.State().Member(p.ID)
	return raised(m.Result.Open, e.ID)
}

func (w *Window) callsToday(p model.Person, e model.Entry) bool {
	return slices.ContainsFunc(w.raisedBy(p, e), func(f finding.Finding) bool { return f.Urgency >= finding.Today })
}

// readingCalls tells what a reading calls for, and asks for no other.
func (w *Window) readingCalls(p model.Person, e model.Entry) func() view {
	return func() view {
		v := view{title: model.T("daily.pressure"), whose: &p, result: true, keys: map[fyne.KeyName]func(){fyne.KeyEscape: func() { w.toTodayOf(p) }},
			main: &action{"enough", model.T("guided.to-today"), func() { w.toTodayOf(p) }}}
		for _, f := range w.raisedBy(p, e) {
			v.body = append(v.body, w.finding(f, true))
		}
		if len(v.body) == 0 { // taken back meanwhile
			v.body = []fyne.CanvasObject{w.kit.Both(model.T("done.undone"))}
		}
		return v
	}
}

// restWords say what to do until a very high pressure is measured again, and
// when not to wait for what dial counts to.
func (w *Window) restWords(f finding.Finding, e model.Entry, dial fyne.CanvasObject) []fyne.CanvasObject {
	k := w.kit
	danger := model.T("daily.pressure.danger")
	if n := w.house.State().Records.Settings[household.SetEmergency]; n != "" {
		danger = model.T("daily.pressure.danger-ring", "number", n)
	}
	out := []fyne.CanvasObject{k.BothStrong(model.T("daily.pressure.rest")), k.BothStrong(danger)}
	// A reading that came too soon is kept, but is no second one.
	if first := f.Evidence[0]; first.Entry != e.ID && e.When.Compare(first.When) >= 0 {
		out = append(out, k.Both(model.T("daily.pressure.too-soon")))
	}
	return append(out, dial, k.Both(model.T("daily.pressure.rest-why")))
}

// betweenReadings tells what the reading calls for, if anything, and counts
// down to the second one: a minute, or to the end of the rest that a very high
// pressure needs.
func (w *Window) betweenReadings(p model.Person, first model.Entry) func() view {
	until := w.house.Tick().Mono + between
	if f, rest := w.restDue(p); rest {
		until = w.house.Tick().Mono + f.Due.From.Sub(w.house.Now())
	}
	rung := until <= w.house.Tick().Mono
	return func() view {
		k := w.kit
		v := view{title: model.T("daily.pressure"), whose: &p, result: true,
			back: &action{"enough", model.T("daily.pressure.enough"), func() { w.toTodayOf(p) }},
			main: &action{"second", model.T("daily.pressure.again"), func() { w.stepTo(w.pressurePage(p, true)) }}}
		dial, stop := k.Countdown(), make(chan struct{})
		if f, rest := w.restDue(p); rest {
			v.body = w.restWords(f, first, dial)
		} else {
			v.fixed, v.body = dial, []fyne.CanvasObject{k.Both(model.T("daily.pressure.between"))}
		}
		for _, f := range w.raisedBy(p, first) {
			v.body = append(v.body, w.finding(f, true))
		}
		tick := func() { dial.Set(until-w.house.Tick().Mono, model.Msg{}) }
		tick()
		v.enter = func() {
			w.pulse(stop, func() {
				tick()
				if !rung && until <= w.house.Tick().Mono {
					rung = true
					w.sound.Now()
				}
			})
		}
		v.leave = func() { close(stop) }
		return v
	}
}

// weekPart shows how far the week of readings has come, or lets one begin.
func (w *Window) weekPart(p model.Person) []fyne.CanvasObject {
	k := w.kit
	m, ok := w.house.State().Member(p.ID)
	if !ok || !w.house.ReadOnly().IsZero() {
		return nil
	}
	r := w.house.State().Records
	keep := func(start model.When) func() {
		return func() {
			if w.keep(r.KeepWeek(p.ID, start)) {
				w.redraw()
			}
		}
	}
	start, going := r.Week(p.ID)
	if !going {
		return []fyne.CanvasObject{k.Row(k.Button("begin-week", model.T("daily.week.begin"), keep(model.OnDay(w.house.Now()))))}
	}
	readings := pressure.Readings(m.Result.History.Entries, start.Time())
	say := w.weekWords(pressure.WeekOf(readings, start, w.house.Now()))
	if mean, ok := pressure.MeanOf(readings, w.house.Now().Location()); ok {
		say = append(say, k.Both(model.T("daily.week.mean", "systolic", math.Round(mean.Systolic), "diastolic", math.Round(mean.Diastolic), "n", len(mean.Of))))
	}
	say = append(say, k.Row(k.Button("end-week", model.T("daily.week.end"), keep(model.When{}))))
	return []fyne.CanvasObject{k.Band(say...)}
}

// weekWords tell how far a week has come and when the next pair is due.
func (w *Window) weekWords(week pressure.Week) []fyne.CanvasObject {
	k := w.kit
	if week.Over {
		return []fyne.CanvasObject{k.BothStrong(model.T("daily.week.over"))}
	}
	day := max(week.Day, 1) // a clock may have been set back
	today := week.Days[day-1]
	return []fyne.CanvasObject{k.BothStrong(model.T("daily.week.day", "day", day, "days", pressure.WeekDays)),
		k.Both(model.T("daily.week.today", "morning", min(today.Morning, pressure.Pair), "evening", min(today.Evening, pressure.Pair), "pair", pressure.Pair)),
		k.Both(model.T("daily.week.next", "day", model.OnDay(week.From), "from", w.words.Clock(week.From), "to", w.words.Clock(week.To)))}
}

// weekToday is the same on the page Today, while a week is going on.
func (w *Window) weekToday(p model.Person) []fyne.CanvasObject {
	start, going := w.house.State().Records.Week(p.ID)
	if !going {
		return nil
	}
	week := pressure.WeekOf(pressure.Readings(w.entriesOf(p.ID), start.Time()), start, w.house.Now())
	return []fyne.CanvasObject{w.kit.Band(w.weekWords(week)...)}
}

// toTodayOf shows somebody's page Today.
func (w *Window) toTodayOf(p model.Person) {
	w.person = p.ID
	w.show("today")
}
