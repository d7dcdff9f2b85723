package ui

import (
	"image"
	"slices"
	"strconv"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/photo"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// learner teaches the program a strip kind of the household's own from two
// pictures: of its chart alone, and of a strip beside it. Nothing is kept
// before the values were looked over.
type learner struct {
	w    *Window
	step func() view
	in   *arrival
	// like is the kind whose pads, values and times are offered where the chart
	// has as many blocks; then the kind as far as it is learnt.
	like    strip.Kind
	again   bool // like is the household's own, and its chart is learnt anew
	picture *photo.Picture
	corners []kit.Spot // of the card in its own picture
	ends    []kit.Spot // of a row, or of the strip's pads
	marks   []kit.Spot // of chart and strip in the second picture
	card    photo.Card
	rows    []string // the pad of each row, "" while it was not said
	row     int      // the one whose ends are marked
	kind    strip.Kind
	beside  *photo.Beside
	pads    []string // the pad of each place of the strip
	reading photo.Reading
	crops   [][2]image.Image
}

// learnChart begins with the picture of the chart.
func (w *Window) learnChart(like strip.Kind) func() view {
	l := &learner{w: w, in: &arrival{}, like: like, again: w.isOwn(like)}
	l.step = l.chartStep
	return l.view
}

// learnStrip begins with the picture of a strip beside a chart that was
// learnt.
func (w *Window) learnStrip(k strip.Kind) func() view {
	l := &learner{w: w, in: &arrival{}, kind: k}
	l.step = l.stripStep
	return l.view
}

// tryKind reads a picture by a kind and keeps nothing.
func (w *Window) tryKind(k strip.Kind) func() view {
	l := &learner{w: w, in: &arrival{}, kind: k}
	l.step = l.trialStep
	return l.view
}

func (l *learner) view() view {
	if l.in.busy {
		v := l.in.atWork(l.w)
		v.title = model.T("learn.title")
		v.back = l.w.backTo(func() {
			l.in = &arrival{tried: l.in.tried}
			l.w.turn(l.view)
		})
		return v
	}
	v := l.step()
	v.title = model.T("learn.title")
	return v
}

// to shows another step.
func (l *learner) to(step func() view) {
	l.step = step
	l.w.turn(l.view)
}

// work does something long beside the window's own work. What it finds wrong
// is said on the page it was begun from; else then follows.
func (l *learner) work(do func() model.Msg, then func()) {
	in := l.in
	if in.busy {
		return
	}
	in.busy, in.failed = true, model.Msg{}
	l.w.turn(l.view)
	var failed model.Msg
	l.w.beside(func() { failed = do() }, func() {
		if in.busy = false; l.in != in {
			return // it was given up
		}
		if in.failed = failed; failed.IsZero() {
			then()
		}
		if in.here {
			l.w.turn(l.view)
		}
	})
}

// open opens a picture for a step; look may find it of no use.
func (l *learner) open(path string, look func(*photo.Picture) model.Msg, then func()) {
	l.in.tried = path
	var got Photograph
	l.work(func() (failed model.Msg) {
		var err error
		if got, err = l.w.house.Picture(path); err != nil {
			return tell(err)
		}
		return look(got.Picture)
	}, func() {
		l.picture = got.Picture
		then()
	})
}

func opened(*photo.Picture) model.Msg { return model.Msg{} }

func (l *learner) failed() []fyne.CanvasObject {
	if l.in.failed.IsZero() {
		return nil
	}
	return []fyne.CanvasObject{l.w.kit.Notice(kit.NoticeCare, l.in.failed)}
}

// chartStep asks for the picture of the chart alone.
func (l *learner) chartStep() view {
	v := l.in.view(l.w, arrivalWords{model.T("learn.chart-how"), model.T("learn.chart-yes"), model.T("learn.take-file")}, func(path string) {
		l.open(path, opened, func() {
			w, h := float32(l.picture.W), float32(l.picture.H)
			l.corners = []kit.Spot{{X: 0.2 * w, Y: 0.15 * h}, {X: 0.8 * w, Y: 0.15 * h}, {X: 0.8 * w, Y: 0.85 * h}, {X: 0.2 * w, Y: 0.85 * h}}
			l.step = l.cornersStep
		})
	})
	v.back = l.w.backTo(l.w.goBack)
	return v
}

// corners are the first four marks.
func corners(marks []kit.Spot) (out [4]photo.Point) {
	for i := range out {
		out[i] = photo.Point{X: float64(marks[i].X), Y: float64(marks[i].Y)}
	}
	return out
}

// marker shows a picture with named marks to be moved.
func (w *Window) marker(img image.Image, names []model.Msg, marks *[]kit.Spot, joins [][2]int) (m *kit.Marker, undo *action) {
	m = w.kit.Marker("mark", img, names, *marks, joins, func() { *marks = m.Spots() })
	return m, &action{"undo-mark", model.T("photo.mark.undo"), func() {
		m.Undo()
		*marks = m.Spots()
	}}
}

func markNames(n int) (out []model.Msg) {
	for i := range n {
		out = append(out, model.T("photo.mark."+strconv.Itoa(i+1), "n", i+1))
	}
	return out
}

var aroundCard = [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 0}}

// cornersStep has the person mark the card.
func (l *learner) cornersStep() view {
	m, undo := l.w.marker(l.picture.Image(), markNames(4), &l.corners, aroundCard)
	return view{body: append(l.failed(), m, l.w.kit.Both(model.T("learn.corners-how"))), focus: m.Handle(0), aside: undo,
		back: l.w.backTo(func() { l.to(l.chartStep) }),
		main: &action{"find-rows", model.T("learn.find-rows"), func() {
			at := corners(l.corners)
			var card photo.Card
			l.work(func() model.Msg {
				var why photo.Why
				card, why = photo.LearnCard(l.picture, at)
				return why.Msg()
			}, func() {
				l.card = card
				l.guessRows()
				l.step = l.rowsStep
			})
		}}}
}

// guessRows names the rows by the kind this one is like, where it has as many
// of them; the person sees the printed name beside each.
func (l *learner) guessRows() {
	l.rows = make([]string, len(l.card.Rows))
	if len(l.like.Chart.Rows) == len(l.rows) {
		for i, r := range l.like.Chart.Rows {
			l.rows[i] = string(r.Pad)
		}
	}
}

// padOptions are all pads there are.
func padOptions() (out []kit.Option) {
	for _, it := range model.Analytes() {
		out = append(out, kit.Option{ID: string(it.Code), Label: padTitle(it.Code)})
	}
	return out
}

// rowsStep shows each row that was found: which pad it belongs to and how many
// blocks it has.
func (l *learner) rowsStep() view {
	k := l.w.kit
	body := []fyne.CanvasObject{k.Both(model.T("learn.rows-how"))}
	var which []*kit.Select
	for i, r := range l.card.Rows {
		n := strconv.Itoa(i + 1)
		s := k.Select("pad-"+n, model.T("learn.which-pad"), padOptions(), l.rows[i], func(id string) { l.rows[i] = id })
		which = append(which, s)
		count := func(by int) func() {
			return func() {
				l.card.SetCount(i, len(r)+by)
				l.w.redraw()
			}
		}
		body = append(body, k.Card(k.BothSection(model.T("learn.row", "n", i+1)), k.Photograph(rowLines, l.card.RowImage(i)),
			k.BothStrong(model.T("learn.blocks", "n", len(r))),
			k.Row(k.Button("fewer-"+n, model.T("learn.fewer"), count(-1)), k.Button("more-"+n, model.T("learn.more"), count(1)),
				k.Button("ends-"+n, model.T("learn.ends"), func() { l.markRow(i) }), k.Button("no-row-"+n, model.T("learn.no-row"), func() {
					l.card.RemoveRow(i)
					l.rows = slices.Delete(l.rows, i, i+1)
					l.w.redraw()
				})), s))
	}
	body = append(body, k.Row(k.Button("add-row", model.T("learn.add-row"), func() {
		l.card.AddRow()
		l.rows = append(l.rows, "")
		l.markRow(len(l.rows) - 1)
	})))
	return view{body: body, back: l.w.backTo(func() { l.to(l.cornersStep) }),
		main: &action{"next", model.T("do.next"), func() {
			form := checked{w: l.w}
			for i, s := range which {
				form.check(s, padProblem(l.rows, i, len(l.card.Rows[i])))
			}
			if !form.bad() {
				l.values()
			}
		}}}
}

// padProblem says what is wrong with the pad that was said to be at place i.
func padProblem(pads []string, i, blocks int) model.Msg {
	switch {
	case pads[i] == "":
		return model.T("learn.say-pad")
	case slices.Index(pads, pads[i]) < i:
		return model.T("learn.pad-twice")
	case blocks < 2 || blocks > 15:
		return model.T("learn.blocks-count")
	}
	return model.Msg{}
}

// markRow has the person show where a row begins and ends.
func (l *learner) markRow(i int) {
	l.row = i
	a, b := l.card.Ends(i)
	l.ends = []kit.Spot{spotAt(a), spotAt(b)}
	l.to(l.endsStep)
}

// rowLines is how many lines of text a row of the card is shown as high at most.
const rowLines = 11

func spotAt(p photo.Point) kit.Spot  { return kit.Spot{X: float32(p.X), Y: float32(p.Y)} }
func pointAt(s kit.Spot) photo.Point { return photo.Point{X: float64(s.X), Y: float64(s.Y)} }

func (l *learner) endsStep() view {
	m, undo := l.w.marker(l.card.Image(), []model.Msg{model.T("learn.mark.first", "n", 1), model.T("learn.mark.last", "n", 2)}, &l.ends, [][2]int{{0, 1}})
	return view{body: []fyne.CanvasObject{m, l.w.kit.Both(model.T("learn.ends-how", "n", len(l.card.Rows[l.row])))}, focus: m.Handle(0), aside: undo,
		back: l.w.backTo(func() { l.to(l.rowsStep) }),
		main: &action{"ends-done", model.T("learn.done"), func() {
			l.card.Between(l.row, len(l.card.Rows[l.row]), pointAt(l.ends[0]), pointAt(l.ends[1]))
			l.to(l.rowsStep)
		}}}
}

func codes(pads []string) (out []model.Code) {
	for _, p := range pads {
		out = append(out, model.Code(p))
	}
	return out
}

// values asks what is printed at the blocks and when each pad is read.
func (l *learner) values() {
	k := strip.Kind{Format: 1, Chart: l.card.Chart(codes(l.rows))}
	if l.again {
		k.ID, k.Name = l.like.ID, l.like.Name
	}
	var pictures []image.Image
	for i := range k.Chart.Rows {
		r := &k.Chart.Rows[i]
		pictures = append(pictures, l.card.RowImage(i))
		was, ok := l.like.Row(r.Pad)
		if !ok {
			continue
		}
		r.Unit, r.ReadS, r.LateS = was.Unit, was.ReadS, was.LateS
		if len(was.Blocks) == len(r.Blocks) {
			for j := range r.Blocks {
				r.Blocks[j].Value, r.Blocks[j].Grade = was.Blocks[j].Value, was.Blocks[j].Grade
			}
		}
	}
	f := newKindForm(k)
	f.pictures, f.back = pictures, func() {
		marked := l.w.unsaved // on the pages before, which are gone back to
		back := func() {
			l.w.unsaved = marked
			l.to(l.rowsStep)
		}
		if !l.w.changedHere() {
			back()
			return
		}
		l.w.askLeave(back)
	}
	f.then = func(saved strip.Kind) {
		l.kind, l.in = saved, &arrival{}
		l.to(l.stripStep)
	}
	l.to(func() view { return l.w.kindView(f) })
}

// stripStep asks for the picture of a strip beside its chart.
func (l *learner) stripStep() view {
	v := l.in.view(l.w, arrivalWords{model.T("learn.strip-how"), model.T("photo.come-yes"), model.T("learn.take-file")}, func(path string) {
		var at [4]photo.Point
		var why photo.Why
		l.open(path, func(p *photo.Picture) model.Msg {
			at, why = photo.FindChart(p, &l.kind)
			return model.Msg{}
		}, func() { l.markStrip(at, why) })
	})
	v.back, v.aside = l.w.backTo(l.w.goBack), &action{"later", model.T("learn.later"), l.w.goBack}
	return v
}

// markStrip goes on with the chart where it was found, and the strip's ends
// beside it.
func (l *learner) markStrip(at [4]photo.Point, why photo.Why) {
	w, h := float32(l.picture.W), float32(l.picture.H)
	l.in.failed = why.Msg()
	l.marks = []kit.Spot{{X: 0.2 * w, Y: 0.15 * h}, {X: 0.7 * w, Y: 0.15 * h}, {X: 0.7 * w, Y: 0.85 * h}, {X: 0.2 * w, Y: 0.85 * h}}
	if why == "" {
		for i, p := range at {
			l.marks[i] = spotAt(p)
		}
	}
	l.marks = append(l.marks, besideCard(l.marks, w, h)...)
	l.step = l.placeStep
}

// besideCard is where a strip lies that was put where the picture has the most
// room beside the card: its ends, to be moved from there.
func besideCard(card []kit.Spot, w, h float32) []kit.Spot {
	left, top, right, bottom := w, h, float32(0), float32(0)
	for _, p := range card {
		left, top, right, bottom = min(left, p.X), min(top, p.Y), max(right, p.X), max(bottom, p.Y)
	}
	switch x := right + (w-right)/2; max(left, w-right, top, h-bottom) {
	case left:
		x = left / 2
		fallthrough
	case w - right:
		return []kit.Spot{{X: x, Y: 0.2 * h}, {X: x, Y: 0.8 * h}}
	case top:
		return []kit.Spot{{X: 0.2 * w, Y: top / 2}, {X: 0.8 * w, Y: top / 2}}
	}
	y := bottom + (h-bottom)/2
	return []kit.Spot{{X: 0.2 * w, Y: y}, {X: 0.8 * w, Y: y}}
}

// placeStep has the person mark the strip's ends, and the chart where it was
// not found.
func (l *learner) placeStep() view {
	m, undo := l.w.marker(l.picture.Image(), markNames(6), &l.marks, append(slices.Clone(aroundCard), [2]int{4, 5}))
	first := 4 // of the rings that are still to be set
	if !l.in.failed.IsZero() {
		first = 0
	}
	return view{body: append(l.failed(), m, l.w.kit.Both(model.T("learn.place-how"))), focus: m.Handle(first), aside: undo,
		back: l.w.backTo(func() { l.to(l.stripStep) }),
		main: &action{"find-pads", model.T("learn.find-pads"), func() {
			marks := photo.Marks{Corners: corners(l.marks), Ends: [2]photo.Point{pointAt(l.marks[4]), pointAt(l.marks[5])}}
			var found *photo.Beside
			l.work(func() model.Msg {
				var why photo.Why
				found, why = photo.LearnStrip(l.picture, &l.kind, marks, len(l.kind.Chart.Rows))
				return why.Msg()
			}, func() {
				l.beside, l.pads = found, nil
				for _, c := range found.Order() {
					l.pads = append(l.pads, string(c))
				}
				l.step = l.padsStep
			})
		}}}
}

// padsStep shows each pad that was found: which one it is.
func (l *learner) padsStep() view {
	k := l.w.kit
	body := []fyne.CanvasObject{k.Both(model.T("learn.pads-how")), k.Photograph(4, l.beside.Image()),
		k.Row(k.Button("pads-ends", model.T("learn.pads-elsewhere"), func() {
			a, b := l.beside.Ends()
			l.ends = []kit.Spot{spotAt(a), spotAt(b)}
			l.to(l.padEndsStep)
		}), k.Button("turn", model.T("learn.other-way"), func() {
			slices.Reverse(l.pads)
			l.w.redraw()
		}))}
	var which []*kit.Select
	for i := range l.pads {
		n := strconv.Itoa(i + 1)
		var options []kit.Option
		for _, r := range l.kind.Chart.Rows {
			options = append(options, kit.Option{ID: string(r.Pad), Label: padTitle(r.Pad)})
		}
		s := k.Select("pad-"+n, model.T("learn.pad-of", "n", i+1), options, l.pads[i], func(id string) { l.pads[i] = id })
		which = append(which, s)
		body = append(body, k.Card(k.Photograph(3, l.beside.PadImage(i)), s))
	}
	return view{body: body, back: l.w.backTo(func() { l.to(l.placeStep) }),
		main: &action{"save", model.T("learn.save-strip"), func() {
			form := checked{w: l.w}
			for i, s := range which {
				form.check(s, padProblem(l.pads, i, 2))
			}
			if !form.bad() {
				l.keepStrip()
			}
		}}}
}

func (l *learner) padEndsStep() view {
	m, undo := l.w.marker(l.beside.Image(), []model.Msg{model.T("learn.mark.first-pad", "n", 1), model.T("learn.mark.last-pad", "n", 2)}, &l.ends, nil)
	return view{body: []fyne.CanvasObject{m, l.w.kit.Both(model.T("learn.pad-ends-how"))}, focus: m.Handle(0), aside: undo,
		back: l.w.backTo(func() { l.to(l.padsStep) }),
		main: &action{"ends-done", model.T("learn.done"), func() {
			l.beside.Between(pointAt(l.ends[0]), pointAt(l.ends[1]))
			l.to(l.padsStep)
		}}}
}

// keepStrip saves the kind with its strip and reads the same picture by it.
func (l *learner) keepStrip() {
	kind := l.beside.Kind(codes(l.pads))
	if !l.w.save(household.Changes{Kinds: []strip.Kind{kind}}) {
		return
	}
	l.kind = kind
	p := l.picture
	l.step = l.trialStep
	l.work(func() model.Msg { return l.read(p) }, func() { l.step = l.readStep })
}

// read reads a picture by the kind.
func (l *learner) read(p *photo.Picture) model.Msg {
	l.reading = photo.Read(p, &l.kind)
	l.crops = cropsOf(p, l.reading)
	return l.reading.Why.Msg()
}

// trialStep asks for a picture to try the kind with.
func (l *learner) trialStep() view {
	v := l.in.view(l.w, arrivalWords{model.T("photo.how"), model.T("photo.come-yes"), model.T("photo.read-path")}, func(path string) {
		l.open(path, l.read, func() { l.step = l.readStep })
	})
	v.back, v.aside = l.w.backTo(l.w.goBack), &action{"later", model.T("learn.enough"), l.w.close}
	return v
}

// readStep shows what a trial says. Nothing of it is kept.
func (l *learner) readStep() view {
	k := l.w.kit
	body := []fyne.CanvasObject{k.Notice(kit.NoticeInfo, model.T("learn.trial"))}
	for i, p := range l.reading.Pads {
		if row, ok := l.kind.Row(p.Code); ok {
			body = append(body, k.Card(l.w.proposal(p, l.crops[i], row)...))
		}
	}
	return view{body: body, back: l.w.backTo(l.w.goBack), aside: &action{"again", model.T("learn.try-another"), func() {
		l.in = &arrival{}
		l.to(l.trialStep)
	}}, main: &action{"done", model.T("learn.done"), l.w.close}}
}
