package ui

import (
	"image"
	"image/color"
	"image/draw"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/assets"
	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/timeline"
	"quietwater/ui/kit"
)

// timelineSpan is how much time the timeline shows, and how far back its end
// lies from now.
type timelineSpan struct {
	id        string
	months    int
	back      int // spans back from now
	everybody bool
}

var spanQuarter = timelineSpan{id: "quarter", months: 3}

func spans() []timelineSpan {
	return []timelineSpan{{id: "month", months: 1}, spanQuarter, {id: "year", months: 12}}
}

// ahead is how far past now the timeline reaches, so that to-dos show.
const ahead = 7 * 24 * time.Hour

// window is the time shown.
func (s timelineSpan) window(now time.Time) (from, to time.Time) {
	to = now.Add(ahead).AddDate(0, -s.months*s.back, 0)
	return to.AddDate(0, -s.months, 0).Add(-ahead), to
}

func (w *Window) timeline() view {
	k := w.kit
	st := w.house.State()
	m, ok := w.member()
	if !ok {
		return view{title: model.T("screen.timeline"), body: []fyne.CanvasObject{k.Both(model.T("quiet.nothing-yet"))}}
	}
	from, to := w.span.window(w.house.Now())
	body := []fyne.CanvasObject{}
	if len(st.Members) > 1 {
		body = append(body, w.timelineWhose(st, m.Person.ID))
	}
	body = append(body, w.timelineSpans(from, to)...)
	results := []finding.Result{m.Result}
	if w.span.everybody {
		results = nil
		for _, m := range st.Members {
			results = append(results, m.Result)
		}
	} else if p := timeline.Pads(m.Result, from, to); len(p.Lanes) > 0 {
		body = append(body, k.Section(model.T("timeline.picture")), w.padChart(p))
	}
	days := timeline.Days(results, from, to)
	if len(days) == 0 {
		body = append(body, k.Card(k.Both(model.T("timeline.empty"))))
	} else {
		body = append(body, k.Section(model.T("timeline.list")))
	}
	for _, d := range days {
		body = append(body, w.dayCard(d))
	}
	whose := &m.Person
	if w.span.everybody {
		whose = nil
	}
	return view{title: model.T("screen.timeline"), whose: whose, body: body,
		keys: map[fyne.KeyName]func(){fyne.KeyLeft: func() { w.move(1) }, fyne.KeyRight: func() { w.move(-1) }}}
}

const everybody = "everybody"

func (w *Window) timelineWhose(st *household.State, chosen model.ID) fyne.CanvasObject {
	options := []kit.Option{{ID: everybody, Label: model.T("timeline.whole")}}
	for _, m := range st.Members {
		options = append(options, kit.Option{ID: string(m.Person.ID), Label: kit.Said(m.Person.Name)})
	}
	id := string(chosen)
	if w.span.everybody {
		id = everybody
	}
	return w.kit.ShortChoice("whose", model.T("today.whose"), options, id, func(id string) {
		w.span.everybody = id == everybody
		if !w.span.everybody {
			w.person = model.ID(id)
		}
		w.redraw()
	})
}

// timelineSpans are the buttons that choose the time shown.
func (w *Window) timelineSpans(from, to time.Time) []fyne.CanvasObject {
	k := w.kit
	var options []kit.Option
	for _, s := range spans() {
		options = append(options, kit.Option{ID: s.id, Label: model.T("timeline.span-" + s.id)})
	}
	choice := k.ShortChoice("span", model.Msg{}, options, w.span.id, func(id string) {
		for _, s := range spans() {
			if s.id == id {
				w.span.id, w.span.months, w.span.back = s.id, s.months, 0
			}
		}
		w.redraw()
	})
	move := []fyne.CanvasObject{k.Button("earlier", model.T("timeline.earlier"), func() { w.move(1) })}
	if w.span.back > 0 {
		move = append(move, k.Button("later", model.T("timeline.later"), func() { w.move(-1) }),
			k.Button("to-now", model.T("timeline.to-now"), func() { w.move(-w.span.back) }))
	}
	return []fyne.CanvasObject{choice, k.Row(move...),
		k.Text(model.T("timeline.from-to", "from", model.OnDay(from), "to", model.OnDay(to)))}
}

func (w *Window) move(spans int) {
	w.span.back = max(0, w.span.back+spans)
	w.redraw()
}

// padChart shows the strip pads of a window of time, drawn beside the window's
// own work. It is laid out for the width of the page first, to know its height.
func (w *Window) padChart(p timeline.Picture) fyne.CanvasObject {
	look := w.chartLook()
	height := charts.Pads(p, w.words, look, w.pageWidth()).Height
	return w.kit.ChartView(kit.AskChart{
		ID: "pads", Alt: charts.Describe(p), Height: float32(height) / max(w.look.Scale, 1),
		Draw: func(width, high int, scale float32) image.Image {
			return onPaper(charts.Pads(p, w.words, look, int(float32(width)/scale)), width, high, scale, look)
		},
	})
}

// pageWidth is how wide a chart will be, as the window is now: to know its
// height before it is drawn.
func (w *Window) pageWidth() int {
	margins, usual := float32(56), float32(1224)
	if w.look.Scale <= railUpTo {
		margins, usual = 360, 880*w.look.Scale
	}
	if width := w.win.Canvas().Size().Width - margins; width > 200 {
		return int(width)
	}
	return int(usual)
}

// onPaper draws a chart into its place: with paper going on below where it is
// lower, a little smaller where it needs more room than was kept for it.
func onPaper(c charts.Sized, width, high int, scale float32, look charts.Look) image.Image {
	fit := min(float64(scale), float64(width)/float64(max(c.Width, 1)), float64(high)/float64(max(c.Height, 1)))
	img, err := charts.Image(c, look.Fonts, fit)
	if err != nil {
		return nil
	}
	paper := image.NewRGBA(image.Rect(0, 0, width, high))
	draw.Draw(paper, paper.Bounds(), image.NewUniform(look.Paper), image.Point{}, draw.Src)
	draw.Draw(paper, img.Bounds(), img, image.Point{}, draw.Src)
	return paper
}

// chartLook carries the page's look into a chart.
func (w *Window) chartLook() charts.Look {
	p := w.kit.Palette()
	c := func(n color.NRGBA) color.RGBA { return color.RGBA(n) }
	fonts, err := charts.ParseFonts(assets.FontRegular, assets.FontBold)
	if err != nil {
		panic(err) // the embedded fonts: a programmer's error, caught by a test
	}
	return charts.Look{Paper: c(p.Card), Ink: c(p.Ink), Muted: c(p.Muted), Line: c(p.Line), Water: c(p.Water), Soft: c(p.Soft),
		Amber: c(p.Amber), Fonts: fonts, Size: 20 * float64(max(w.look.Scale, 1)), Contrast: w.look.Ink == kit.HighContrast}
}

// dayCard lists one day.
func (w *Window) dayCard(d timeline.Day) fyne.CanvasObject {
	k := w.kit
	body := []fyne.CanvasObject{k.Strong(kit.Said(w.words.Date(model.OnDay(d.Date))))}
	for _, it := range d.Items {
		body = append(body, w.dayItem(it))
	}
	return k.Card(body...)
}

func (w *Window) dayItem(it timeline.Item) fyne.CanvasObject {
	k := w.kit
	who := ""
	if w.span.everybody {
		who = it.Person.Name + ": "
	}
	if f := it.Finding; f != nil {
		title := model.T("timeline.finding", "urgency", f.HowSoon(), "title", f.Title)
		switch {
		case it.Due:
			title = model.T("timeline.due", "title", f.Title)
		case f.Answer != nil:
			title = model.T("timeline.answered", "title", f.Title)
		}
		return k.FindingRow("finding-"+f.Rule, int(f.Urgency), title, kit.Said(who+w.clock(it.When)), func() { w.open(w.oneFinding(*f)) })
	}
	return k.List(kit.ListItem{ID: "entry-" + string(it.Entry.ID)[:8], Title: kit.Said(who + w.entryLine(it)),
		Note: kit.Said(w.entryNote(it)), Open: func() { w.open(w.oneEntry(*it.Entry)) }})
}

func (w *Window) clock(at model.When) string {
	if at.DayOnly() {
		return ""
	}
	return w.words.Clock(at.Time().In(w.house.Now().Location()))
}

// entryLine is what an entry says, in one sentence.
func (w *Window) entryLine(it timeline.Item) string {
	var parts []string
	if it.Entry.Kind == model.Answer { // its code is a rule's id, which is no word
		for _, v := range it.Entry.Values {
			parts = append(parts, strings.TrimSuffix(w.words.Word(v.Word)+": "+v.Note, ": "))
		}
	} else if v := it.Verdict; v != nil {
		for _, p := range v.Pads {
			parts = append(parts, w.words.T(w.padLine(p)))
		}
	} else {
		for _, v := range it.Entry.Values {
			if _, known := model.ItemFor(it.Entry.Kind, v.Code); !known {
				parts = append(parts, w.words.T(model.T("timeline.unknown", "what", string(v.Code))))
				continue
			}
			line := w.valueLine(it.Entry.Kind, v)
			if v.Note != "" {
				line += " (" + v.Note + ")"
			}
			parts = append(parts, line)
		}
	}
	return w.words.Kind(it.Entry.Kind) + " · " + strings.Join(parts, ", ")
}

func (w *Window) entryNote(it timeline.Item) string {
	parts := []string{}
	if c := w.clock(it.When); c != "" {
		parts = append(parts, c)
	}
	if p, ok := w.house.State().Pack(it.Entry.Pack); ok {
		parts = append(parts, p.Pack.Label)
	}
	if it.Entry.Author != "" {
		parts = append(parts, w.words.T(model.T("timeline.entry-by", "author", it.Entry.Author)))
	}
	return strings.Join(parts, " · ")
}

func (w *Window) oneFinding(f finding.Finding) func() view {
	return func() view {
		return view{title: model.T("screen.timeline"), whose: w.personOf(f.Person), back: w.backTo(w.close),
			body: []fyne.CanvasObject{w.finding(f, f.Answer == nil)}}
	}
}

// oneEntry shows one entry whole, and lets it be deleted.
func (w *Window) oneEntry(e model.Entry) func() view {
	read := &evidence{}
	return func() view {
		k := w.kit
		v := view{title: model.T("screen.timeline"), whose: w.personOf(e.Person), back: w.backTo(w.close)}
		v.body = append(v.body, k.Strong(kit.Said(w.words.Kind(e.Kind)+" · "+w.words.Date(e.When))))
		if m, ok := w.house.State().Member(e.Person); ok && e.Kind == model.Strip {
			for _, t := range m.Result.History.Tests {
				if t.Entry.ID == e.ID {
					v.body = append(v.body, w.worth(t)...)
				}
			}
		}
		var lines []fyne.CanvasObject
		for _, val := range e.Values {
			line := w.valueLine(e.Kind, val)
			if val.Note != "" {
				line += " (" + val.Note + ")"
			}
			lines = append(lines, k.Text(kit.Said(line)))
		}
		v.body = append(v.body, k.Card(lines...), k.Small(kit.Said(w.entryNote(timeline.Item{When: e.When, Entry: &e}))))
		read.show(w, e, &v)
		if w.house.ReadOnly().IsZero() {
			v.body = append(v.body, k.Row(k.Button("delete", model.T("do.delete"), func() { w.askDelete(e) })))
		}
		return v
	}
}

func (w *Window) askDelete(e model.Entry) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("timeline.delete-of", "name", w.nameOf(e.Person)), Body: model.T("timeline.deleted-stays"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			if w.keep(household.Changes{RemoveEntries: []model.ID{e.ID}}) {
				w.say(model.T("done.deleted"), true)
				w.close()
			}
		}})
}
