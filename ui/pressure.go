package ui

import (
	"time"

	"quietwater/model"
)

// between is how long to sit still between two readings of a pair (facts E:
// two readings one minute apart).
const between = time.Minute

// pressure asks for a reading of the cuff; a second one follows a minute later.
func (w *Window) pressure(p model.Person) func() view { return w.pressurePage(p, false) }

func (w *Window) pressurePage(p model.Person, second bool) func() view {
	m := w.newMeasure("pressure", p, model.Vital, "systolic", "diastolic", "pulse")
	m.boxes[2].optional = true
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
		v := view{title: model.T("daily.pressure"), whose: &p,
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

// toTodayOf shows somebody's page Today.
func (w *Window) toTodayOf(p model.Person) {
	w.person = p.ID
	w.show("today")
}
