package ui

import (
	"math"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
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
	} else {
		m.then = func(e model.Entry) { w.turn(w.betweenReadings(p, e)) }
	}
	return w.measurePage(m)
}

// betweenReadings tells what the first reading calls for, if anything, and
// counts the minute to the second one.
func (w *Window) betweenReadings(p model.Person, first model.Entry) func() view {
	until := w.house.Tick().Mono + between
	return func() view {
		k := w.kit
		v := view{title: model.T("daily.pressure"), whose: &p, result: true,
			back: &action{"enough", model.T("daily.pressure.enough"), func() { w.toTodayOf(p) }},
			main: &action{"second", model.T("daily.pressure.again"), func() { w.stepTo(w.pressurePage(p, true)) }}}
		if m, ok := w.house.State().Member(p.ID); ok {
			for _, f := range raised(m.Result.Open, first.ID) {
				v.body = append(v.body, w.finding(f, true))
			}
		}
		v.body = append(v.body, k.Both(model.T("daily.pressure.between")))
		dial, stop := k.Countdown(), make(chan struct{})
		tick := func() { dial.Set(until-w.house.Tick().Mono, model.Msg{}) }
		rung := until <= w.house.Tick().Mono
		tick()
		v.fixed = dial
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
