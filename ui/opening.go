package ui

import (
	"image"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/timeline"
	"quietwater/ui/kit"
)

// unread is a household whose book is still being examined: its newest days can
// be looked at, and nothing else is asked of it.
type unread struct {
	Household
	state *household.State
}

func (u unread) State() *household.State { return u.state }
func (u unread) Now() time.Time          { return u.state.Now }

// Opening is a page that says that a book is being examined, above the picture of
// its newest month. What the rules say is not known before all of it was read,
// so that none of it is shown; ok is false where there is nothing to show.
func Opening(win fyne.Window, st *household.State, apply func(fyne.Theme), o Options) (page fyne.CanvasObject, ok bool) {
	w := &Window{win: win, house: unread{state: st}, apply: apply, forced: o, person: st.Records.Shown()}
	m, ok := w.member()
	if !ok {
		return nil, false
	}
	w.dress()
	m.Result = finding.Result{History: m.Result.History}
	from, to := timeline.View{Zoom: timeline.Month}.Window(timeline.First(m.Result), st.Now)
	p := w.lanes(m, from, to, model.When{})
	if len(p.Lanes)+len(p.Tracks) == 0 {
		return nil, false
	}
	look := w.chartLook()
	return w.kit.Page(kit.PageParts{Title: model.T("screen.opening"), Content: []fyne.CanvasObject{
		w.kit.Both(model.T("screen.opening-why")),
		w.kit.Both(model.T("screen.opening-month", "name", w.called(m.Person))),
		w.kit.ChartView(kit.AskChart{ID: "opening", Alt: charts.Describe(p), Height: w.padHeight(p), Draw: func(width, high int, scale float32) image.Image {
			paper, _ := w.drawPads(p, look, width, high, scale)
			return paper
		}}),
	}}), true
}
