package ui

import (
	"slices"

	"quietwater/model"
	"quietwater/ui/kit"
)

// drawn takes note of what the fields of a page hold when it is opened. A page
// drawn anew is the same page: what was typed on it before still counts, and
// half of a date stays.
func (w *Window) drawn(before *kit.Page) {
	if before == nil {
		w.held = kit.Held(w.page)
		return
	}
	kit.CarryOver(before, w.page)
	for id, value := range kit.Held(w.page) {
		if _, known := w.held[id]; !known {
			w.held[id] = value
		}
	}
}

// settled takes what the page holds as saved.
func (w *Window) settled() {
	w.unsaved = false
	if w.page != nil {
		w.held = kit.Held(w.page)
	}
}

// changed reports something typed or chosen on the open page, or on one before
// it in the same task, that leaving would lose.
func (w *Window) changed() bool { return w.canLose() && w.unsaved || w.changedHere() }

func (w *Window) canLose() bool { return w.page != nil && !w.view.kept && w.house.ReadOnly().IsZero() }

// changedHere is changed of the open page alone.
func (w *Window) changedHere() bool {
	if !w.canLose() {
		return false
	}
	if w.typedInto != nil && len(w.typed) > 0 {
		return true
	}
	for id, value := range kit.Held(w.page) {
		if was, known := w.held[id]; known && was != value {
			return true
		}
	}
	return false
}

// leaving does what leads away from the page; where something typed would be
// lost with it, only once somebody has said so.
func (w *Window) leaving(do func()) {
	w.keepTyped()
	if !w.changed() {
		do()
		return
	}
	w.askLeave(do)
}

// askLeave asks before something typed is lost. The safe answer comes first.
func (w *Window) askLeave(do func()) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("leave.title"), Body: model.T("leave.note"),
		Keep: model.T("leave.stay"), Do: model.T("leave.go"), Danger: true, Then: func() {
			clear(w.typed)
			w.settled()
			do()
		}})
}

// goBack leaves the open task page for what is under it.
func (w *Window) goBack() { w.leaving(w.close) }

// visit opens a page of the rail because somebody asked for it.
func (w *Window) visit(id string) { w.Leaving(func() { w.show(id) }) }

// Leaving does what leads away from the open page and from all it lies over, as
// closing the window does; it asks first where something typed would be lost.
func (w *Window) Leaving(do func()) {
	if slices.ContainsFunc(w.trail, func(s spot) bool { return s.changed }) {
		w.askLeave(do)
		return
	}
	w.leaving(do)
}
