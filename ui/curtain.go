package ui

import (
	"fmt"
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// idleness is how long nobody has touched the window. Fyne tells of keys and
// taps only whom they are for, so it is read from what they leave behind: where
// the keyboard is, what the fields hold, how far the page is scrolled; and from
// the mouse.
type idleness struct {
	seen  string        // what the window looked like
	since time.Duration // of the clock that never jumps
	moved bool          // the mouse, since the last look
}

// Idle looks whether anybody has touched the window, and covers it when nobody
// has for as long as the household chose. It is called every few seconds.
func (w *Window) Idle() {
	now, seen := w.house.Tick().Mono, w.looks()
	if seen != w.idle.seen || w.idle.moved || w.bare() || w.view.awake {
		w.idle = idleness{seen: seen, since: now}
		return
	}
	if after := w.house.State().Records.Curtain(); after > 0 && now-w.idle.since >= after {
		w.cover()
	}
}

func (w *Window) looks() string {
	c := w.win.Canvas()
	text := fmt.Sprintf("%p %p %s", w.page, c.Overlays().Top(), kit.Focused(c))
	if w.page != nil {
		text += fmt.Sprint(w.page.Offset(), kit.Held(w.page))
	}
	return text
}

// bare reports a page that no curtain may hide: a clock runs on it, somebody is
// in the middle of a test, or it says that there is an emergency.
func (w *Window) bare() bool { return w.view.busy || w.view.bare }

// cover hangs the curtain.
func (w *Window) cover() {
	if w.curtain != nil || w.bare() {
		return
	}
	if w.forced.Voice != nil {
		w.forced.Voice.Stop()
	}
	w.curtain = w.kit.Cover(w.win.Canvas(), model.T("curtain.title"), model.T("curtain.what"), func() {
		w.curtain, w.idle = nil, idleness{since: w.house.Tick().Mono}
	})
}

// uncover lifts it.
func (w *Window) uncover() {
	if w.curtain != nil {
		w.curtain.Lift()
	}
}

// alarmed reports an emergency that was not there before.
func alarmed(before, now *household.State) bool {
	was := emergencies(before)
	return slices.ContainsFunc(emergencies(now), func(id string) bool { return !slices.Contains(was, id) })
}

func emergencies(st *household.State) (out []string) {
	for _, m := range st.Members {
		for _, f := range m.Result.Open {
			if f.Urgency == finding.Emergency {
				out = append(out, fmt.Sprint(m.Person.ID, f.Rule, f.Variant))
			}
		}
	}
	return out
}

func anEmergency(f finding.Finding) bool { return f.Urgency == finding.Emergency }

// curtainChoice asks after how many minutes the window covers itself.
func (w *Window) curtainChoice() fyne.CanvasObject {
	options := []kit.Option{{ID: "0", Label: model.T("curtain.never")}}
	for _, n := range household.CurtainMinutes() {
		options = append(options, kit.Option{ID: fmt.Sprint(n), Label: model.T("curtain.minutes", "n", n)})
	}
	chosen := fmt.Sprint(int(w.house.State().Records.Curtain().Minutes()))
	return w.kit.AtOnce().ShortChoice("curtain-after", model.T("curtain.after"), options, chosen, func(n string) {
		if n == "0" {
			n = ""
		}
		w.set(household.SetCurtain, n)
	})
}
