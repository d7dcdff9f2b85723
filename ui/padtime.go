package ui

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// When one pad was read, while its page is open.
const (
	seenRest  = "rest"  // when the rest of the strip was
	seenOwn   = "own"   // at its own time
	seenOther = "other" // at a time the box says
)

// padSeen is what was said of when one pad was read; how is "" before anything
// was.
type padSeen struct {
	how string
	box *measured
	ask *kit.Choice // nil where it need not be said
}

// seenOf is what was said of a pad so far. Only where the picture was taken
// outside the pad's time must it be said.
func (g *guided) seenOf(r strip.Row) *padSeen {
	if s := g.seenPads[r.Pad]; s != nil {
		return s
	}
	s := &padSeen{how: seenRest, box: &measured{code: model.OwnTime(r.Pad), unit: "min"}}
	if own, has := g.draft.Values[s.box.code]; has {
		s.how, s.box.typed, s.box.unit = seenOther, g.w.words.Number(own.Text()), cmp.Or(own.Unit, "s")
		if own == atItsTime(r) {
			s.how = seenOwn
		}
	} else if g.mustSay(r) {
		s.how = ""
	}
	if g.seenPads == nil {
		g.seenPads = map[model.Code]*padSeen{}
	}
	g.seenPads[r.Pad] = s
	return s
}

// mustSay reports a pad whose colour on the picture says nothing, so that it
// matters whether it was seen there or on the strip at its own time.
func (g *guided) mustSay(r strip.Row) bool { return r.ReadS > 0 && g.pictureMisses(r) != "" }

// pictureMisses says whether the picture was taken before a pad's time or after
// it; "" where it was in time, or where nothing is read from a picture.
func (g *guided) pictureMisses(r strip.Row) strip.Reason {
	if g.draft.How != model.FromPhoto {
		return ""
	}
	return r.Timing(float64(g.draft.Seconds))
}

// notReady are the pads whose time has not come at the photo moment.
func (g *guided) notReady() []model.Msg {
	var out []model.Code
	for _, r := range g.kind.Chart.Rows {
		if r.Timing(strip.PhotoAtS) == strip.Early {
			out = append(out, r.Pad)
		}
	}
	return padNames(out)
}

// atItsTime is a pad's own reading time, as though the person had typed it.
func atItsTime(r strip.Row) model.Value {
	q := afterDip(r.ReadS)
	n, _ := model.ParseNumber(q.Typed)
	return model.Value{Code: model.OwnTime(r.Pad), Number: n, Typed: q.Typed, Unit: q.UCUM}
}

// afterDip is so many seconds as they are said: whole minutes from two on.
func afterDip(seconds int) model.Quantity {
	if seconds > 60 && seconds%60 == 0 {
		return model.Quantity{Typed: model.FormatNumber(float64(seconds / 60)), UCUM: "min"}
	}
	return model.Quantity{Typed: model.FormatNumber(float64(seconds)), UCUM: "s"}
}

// askSeen asks when the colour of a pad was seen that the picture shows at a
// time when it says nothing.
func (g *guided) askSeen(r strip.Row, s *padSeen) []fyne.CanvasObject {
	options := []kit.Option{
		{ID: seenOwn, Label: model.T("guided.seen-own", "at", afterDip(r.ReadS))},
		{ID: seenRest, Label: model.T("guided.seen-picture", "at", afterDip(g.draft.Seconds))},
		{ID: seenOther, Label: model.T("guided.own-time")},
	}
	s.ask = g.w.kit.Choice("seen", model.T("guided.seen-when"), options, s.how, func(how string) { g.sayWhen(r, s, how) })
	return []fyne.CanvasObject{g.w.kit.Both(g.missed(r)), s.ask}
}

// missed says in words that the picture was not taken at a pad's time.
func (g *guided) missed(r strip.Row) model.Msg {
	if g.pictureMisses(r) == strip.Early {
		return model.T("photo.early")
	}
	return model.T("photo.late")
}

// sayWhen takes what was said; a time that is still to be typed is taken by
// [guided.readWhen].
func (g *guided) sayWhen(r strip.Row, s *padSeen, how string) {
	switch s.how = how; how {
	case seenOwn:
		g.draft.Values[s.box.code] = atItsTime(r)
	case seenRest:
		delete(g.draft.Values, s.box.code)
	case seenOther:
		g.w.focusNext = string(s.box.code)
	}
	g.keep()
	g.w.redraw()
}

// otherTime lets a pad be said to have been read at a time of its own.
func (g *guided) otherTime(r strip.Row, s *padSeen) fyne.CanvasObject {
	return g.w.kit.Check("own-time", model.T("guided.own-time"), s.how == seenOther, func(on bool) {
		how := seenRest
		if on {
			how = seenOther
		}
		g.sayWhen(r, s, how)
	})
}

// timeBox asks how long after the dip a pad was read.
func (g *guided) timeBox(r strip.Row, s *padSeen) fyne.CanvasObject {
	ask := kit.Ask{ID: string(s.box.code), Label: model.T("guided.own-time-ask")}
	if r.ReadS > 0 {
		ask.Help = model.T("guided.own-time-help", "at", afterDip(r.ReadS))
	}
	it, _ := model.Find(model.Strip, s.box.code)
	var units []kit.Option
	for _, u := range slices.Backward(it.Units) { // minutes first: nobody late counts seconds
		units = append(units, kit.Option{ID: u.UCUM, Label: kit.Said(g.w.words.Unit(u.UCUM))})
	}
	s.box.field = g.w.kit.NumberField(ask, s.box.typed, units, s.box.unit, func(typed, unit string) { s.box.typed, s.box.unit = typed, unit })
	s.box.field.OnEnter(g.nextPad)
	return s.box.field
}

// readWhen takes what was said of when the open pad was read, and reports
// whether the page may be left. What could not be told needs no time.
func (g *guided) readWhen() bool {
	r := g.kind.Chart.Rows[g.pad]
	s := g.seenOf(r)
	if v, read := g.draft.Values[r.Pad]; !read || v.Grade == model.Unclear {
		return true
	}
	form := checked{w: g.w}
	switch {
	case s.how == "" && s.ask != nil:
		form.check(s.ask, model.T("guided.seen-missing"))
	case s.how == seenOther && s.box.field != nil:
		s.box.typed, s.box.unit = s.box.field.Text(), s.box.field.Unit()
		v, why := readBox(model.Strip, s.box)
		if form.check(s.box.field, why); why.IsZero() {
			g.draft.Values[s.box.code] = v
		}
	}
	return !form.bad()
}

// unreadStep says which pads of the picture nobody has read yet, and asks what
// is to become of them: nothing is passed over, and nothing taken unasked.
func (g *guided) unreadStep() view {
	k := g.w.kit
	left := g.unread()
	back := stepPhoto
	if g.shot != nil && g.shot.picture != nil { // it is not kept with a draft
		back = stepConfirm
	}
	v := view{back: g.w.backTo(func() { g.step(back) }),
		body: []fyne.CanvasObject{k.BothSection(model.T("photo.unread")), k.BothStrong(model.T("guided.pads", "pads", padNames(left))), k.Both(model.T("photo.unread-how"))},
		main: &action{"by-eye", model.T("photo.by-eye"), func() { g.readRest(left) }}}
	if back == stepConfirm { // what the picture perhaps shows is not left out unseen
		for _, p := range g.shot.reading.Pads {
			row, ok := g.kind.Row(p.Code)
			if !ok || p.Block < 0 || !slices.Contains(left, p.Code) {
				continue
			}
			if grade, _ := row.Grade(row.Value(p.Block)); grade.AtLeast(model.Trace) {
				v.body = append(v.body, k.BothSmall(model.T("daily.feel.said", "what", padName(p.Code), "value", says(p, row))))
			}
		}
	}
	v.body = append(v.body, k.Row(
		k.Button("unclear-rest", model.T("kit.could-not-tell"), func() {
			for _, c := range left {
				g.draft.Values[c] = model.Value{Code: c, Grade: model.Unclear}
				g.draft.Blocks[c] = -1
			}
			g.step(stepReview)
		}),
		k.Button("leave-rest", model.T("photo.unread-leave"), func() { g.step(stepReview) })))
	return v
}

// unread are the pads without a reading, in the order of the chart.
func (g *guided) unread() []model.Code {
	var out []model.Code
	for _, r := range g.kind.Chart.Rows {
		if _, read := g.draft.Values[r.Pad]; !read {
			out = append(out, r.Pad)
		}
	}
	return out
}

// readRest goes through the pads that are left, one after the other.
func (g *guided) readRest(left []model.Code) {
	g.rest = left
	if !g.nextOfRest() {
		g.step(stepReview)
	}
}

// nextOfRest opens the next pad that is left; false when there is none.
func (g *guided) nextOfRest() bool {
	if len(g.rest) == 0 {
		return false
	}
	g.pad, g.reviewed, g.rest = g.rows(g.rest[:1])[0], true, g.rest[1:]
	g.step(stepPads)
	return true
}

// readAt says when a pad was read, in seconds after the dip; 0 is at its time.
func (g *guided) readAt(pad model.Code) float64 {
	if own, has := g.draft.Values[model.OwnTime(pad)]; has {
		it, _ := model.Find(model.Strip, own.Code)
		s, _ := it.In(own, "s")
		return s
	}
	if g.draft.How == model.ReadAtTone {
		return 0
	}
	return float64(g.draft.Seconds)
}

// withTime is a pad's reading in the review with its own time, and whether it
// was outside the pad's.
func (g *guided) withTime(r strip.Row, said model.Msg) model.Msg {
	if own, has := g.draft.Values[model.OwnTime(r.Pad)]; has {
		said = model.T("guided.seen-after", "value", said, "at", model.Quantity{Typed: own.Text(), UCUM: own.Unit})
	}
	at, v := g.readAt(r.Pad), g.draft.Values[r.Pad]
	if p, ok := g.pack(); !ok || !p.KindKnown {
		r = strip.Row{} // a test keeps its pack, and nothing else tells its kind
	}
	if v.Grade != model.Unclear && at > 0 && r.Timing(at) != "" {
		said = model.T("timeline.pad-not-judged", "pad", said)
	}
	return said
}
