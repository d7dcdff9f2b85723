package ui

import (
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/ui/kit"
)

// moment is when something happened, as a short entry asks for it: now, unless
// somebody says otherwise.
type moment struct {
	other        bool // another time is asked for
	day          model.When
	hour, minute int
	date         *kit.DateField
	clock        *kit.TimeField
}

// momentPart shows the time an entry will carry, and the one step to change it.
func (w *Window) momentPart(m *moment) []fyne.CanvasObject {
	k := w.kit
	if !m.other {
		return []fyne.CanvasObject{k.Row(k.Text(model.T("daily.now", "when", model.At(w.house.Now()))),
			k.Button("other-time", model.T("daily.other-time"), func() {
				now := w.house.Now()
				*m = moment{other: true, day: model.OnDay(now), hour: now.Hour(), minute: now.Minute()}
				w.focusNext = "time-hour"
				w.redraw()
			}))}
	}
	m.date = k.DateField(kit.AskDate{ID: "date", Label: model.T("daily.day"), Value: m.day, Today: w.house.Now(), Recent: true, Changed: func() {
		if d, p := m.date.Value(); p == nil {
			m.day = d
		}
	}})
	m.clock = k.TimeField(kit.AskTime{ID: "time", Label: model.T("daily.time"), Hour: m.hour, Minute: m.minute, Changed: func() {
		if h, min, p := m.clock.Value(); p == nil {
			m.hour, m.minute = h, min
		}
	}})
	return []fyne.CanvasObject{m.date, m.clock, k.Row(k.Button("time-now", model.T("daily.now-again"), func() {
		*m = moment{}
		w.redraw()
	}))}
}

// when reads the moment, or shows what is wrong with it in form.
func (m *moment) when(w *Window, form *checked) model.When {
	now := w.house.Now()
	if !m.other {
		return model.At(now)
	}
	d, wrong := m.date.Value()
	h, min, wrongTime := m.clock.Value()
	switch {
	case wrong != nil:
		form.check(m.date, wrong.Why)
		return model.When{}
	case wrongTime != nil:
		form.check(m.date, model.Msg{})
		form.check(m.clock, wrongTime.Why)
		return model.When{}
	}
	form.check(m.date, model.Msg{})
	form.check(m.clock, model.Msg{})
	y, month, day := d.Time().Date()
	at := time.Date(y, month, day, h, min, 0, 0, now.Location())
	if at.After(now.Add(time.Minute)) { // the boxes hold whole minutes
		form.check(m.date, model.T("problem.in-the-future"))
	}
	return model.At(at)
}
