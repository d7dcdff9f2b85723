package ui

import (
	"image"
	"maps"
	"slices"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/photo"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// shot is the photograph of a test while it is read and confirmed. The program
// proposes; nothing of it is in the test before the person took it.
type shot struct {
	arrival
	opened  Photograph     // the last one, read or not: it can be marked
	marks   []kit.Spot     // the chart's four corners and the strip's two ends
	picture *photo.Picture // one that was read
	reading photo.Reading
	crops   [][2]image.Image // of each pad: itself and its row
	seen    *image.NRGBA     // chart and strip set straight, to be kept with the test
	whole   bool             // the whole photograph is to be kept too
	when    model.Msg        // what the camera's clock says of it
}

// photoStep gets the picture in.
func (g *guided) photoStep() view {
	k := g.w.kit
	if g.shot == nil {
		g.shot = &shot{}
	}
	s := g.shot
	if s.busy {
		return g.readingView()
	}
	var ways []fyne.CanvasObject
	if s.opened.Picture != nil {
		ways = append(ways, k.Row(k.Button("mark", model.T("photo.mark"), func() { g.step(stepMarks) })))
	}
	v := s.view(g.w, arrivalWords{model.T("photo.how"), model.T("photo.come-yes"), model.T("photo.read-path")}, g.readPhoto, ways...)
	v.back = g.w.backTo(func() { g.step(stepHow) })
	v.aside = &action{"by-eye", model.T("photo.by-eye"), func() {
		g.pad, g.reviewed, g.rest = 0, false, nil
		g.step(stepPads)
	}}
	return v
}

// readPhoto opens and reads a picture.
func (g *guided) readPhoto(path string) {
	s, kind := g.shot, g.kind
	if s.busy {
		return
	}
	s.tried, s.opened, s.marks = path, Photograph{}, nil
	g.readShot(func() (Photograph, photo.Reading, error) {
		got, err := g.w.house.Picture(path)
		if err != nil {
			return got, photo.Reading{}, err
		}
		return got, photo.Read(got.Picture, &kind), nil
	})
}

// readShot reads a picture beside the window's own work, and shows the page that
// follows; where the person has gone elsewhere meanwhile, it is there when they
// come back.
func (g *guided) readShot(read func() (Photograph, photo.Reading, error)) {
	s := g.shot
	s.busy, s.failed, s.picture = true, model.Msg{}, nil
	g.w.redraw()
	var got Photograph
	var r photo.Reading
	var crops [][2]image.Image
	var seen *image.NRGBA
	var err error
	g.w.beside(func() {
		got, r, err = read()
		if crops = cropsOf(got.Picture, r); len(crops) > 0 {
			seen = r.Evidence(got.Picture)
		}
	}, func() {
		if g.shot != s {
			return // it was given up
		}
		s.busy = false
		next := g.draft.Step
		switch {
		case err != nil:
			s.failed, next = tell(err), stepPhoto
		case r.Why != "":
			s.failed, s.opened = r.Why.Msg(), got
		default:
			s.opened, s.picture, s.reading, s.crops, next = got, got.Picture, r, crops, stepConfirm
			s.seen = seen
			g.clock(got)
			g.propose()
		}
		g.draft.Step = next
		if s.here {
			g.step(next)
		}
	})
}

// cropsOf are the pieces of the picture that each pad is confirmed by.
func cropsOf(p *photo.Picture, r photo.Reading) (out [][2]image.Image) {
	for i := range r.Pads {
		out = append(out, [2]image.Image{r.PadImage(p, i), r.RowImage(p, i)})
	}
	return out
}

// readingView says that a picture is being read; going back gives it up.
func (g *guided) readingView() view {
	v := g.shot.atWork(g.w)
	v.back = g.w.backTo(func() {
		g.shot = nil
		g.step(stepHow)
	})
	return v
}

// markFound puts the marks where chart and strip were found.
func (s *shot) markFound() {
	s.marks = nil
	for _, p := range append(s.reading.Place.Corners[:], s.reading.Place.Ends[:]...) {
		s.marks = append(s.marks, spotAt(p))
	}
}

// marksStep has the person show where chart and strip are.
func (g *guided) marksStep() view {
	k, s := g.w.kit, g.shot
	if s.busy {
		return g.readingView()
	}
	w, h := float32(s.opened.Picture.W), float32(s.opened.Picture.H)
	if s.marks == nil {
		s.marks = []kit.Spot{{X: 0.2 * w, Y: 0.15 * h}, {X: 0.7 * w, Y: 0.15 * h}, {X: 0.7 * w, Y: 0.85 * h}, {X: 0.2 * w, Y: 0.85 * h}, {X: 0.85 * w, Y: 0.2 * h}, {X: 0.85 * w, Y: 0.8 * h}}
	}
	m, undo := g.w.marker(s.opened.Picture.Image(), markNames(6), &s.marks, append(slices.Clone(aroundCard), [2]int{4, 5}))
	v := view{back: g.w.backTo(func() { g.step(stepPhoto) }), focus: m.Handle(0), main: &action{"read-marked", model.T("photo.mark.read"), g.readMarked}, aside: undo}
	if !s.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, s.failed))
	}
	v.body = append(v.body, m, k.Both(model.T("photo.mark.how")))
	return v
}

func (g *guided) readMarked() {
	s, kind := g.shot, g.kind
	marks := photo.Marks{Corners: corners(s.marks), Ends: [2]photo.Point{pointAt(s.marks[4]), pointAt(s.marks[5])}}
	picture := s.opened
	g.readShot(func() (Photograph, photo.Reading, error) {
		return picture, photo.ReadMarked(picture.Picture, &kind, marks), nil
	})
}

// Dropped takes files dropped onto the window. Only the page that waits for a
// picture has a use for them; elsewhere it is said where they belong.
func (w *Window) Dropped(paths []string) {
	switch {
	case len(paths) == 0:
	case w.dropped != nil:
		w.dropped(paths[0])
	default:
		w.say(model.T("photo.dropped-elsewhere"), false)
		w.bar()
	}
}

// clock sets the camera's clock against the moment of the dip. A clock that
// cannot be right is told of and not used.
// Where the camera says nothing, a file that is older than the dip is named.
func (g *guided) clock(p Photograph) {
	g.draft.Seconds = strip.PhotoAtS // as the person said, and whatever an earlier picture said
	at := p.Taken
	after := at.Sub(g.draft.Dipped).Round(time.Second)
	switch {
	case at.IsZero() && !p.Written.IsZero() && p.Written.Before(g.draft.Dipped):
		g.shot.when = model.T("photo.when-older", "when", model.At(p.Written.In(g.w.house.Now().Location())))
	case at.IsZero():
		g.shot.when = model.T("photo.when-unknown")
	case after < 0 || after > photoWithin:
		g.shot.when = model.T("photo.when-odd", "when", model.At(at.In(g.w.house.Now().Location())))
	default:
		g.draft.Seconds = max(1, int(after/time.Second))
		g.shot.when = model.T("photo.when", "after", model.Quantity{Typed: model.FormatNumber(after.Seconds()), UCUM: "s"})
	}
}

// photoWithin is how long after the dip a camera's clock is believed (our
// choice): a later picture is of another strip, or its clock is off.
const photoWithin = 10 * time.Minute

// propose keeps what the picture says beside what the person will choose.
func (g *guided) propose() {
	g.forgetPhoto()
	g.seenPads = nil // another picture has another time
	g.draft.Proposals = map[model.Code]strip.Proposal{}
	for _, p := range g.shot.reading.Pads {
		if row, ok := g.kind.Row(p.Code); ok && p.Block >= 0 {
			g.draft.Proposals[p.Code] = strip.Proposal{Block: p.Block, Printed: row.Blocks[p.Block].Value, Confidence: p.Confidence}
		}
	}
}

// forgetPhoto takes back what an earlier picture proposed, and what was taken
// from it: one test never rests on two pictures.
func (g *guided) forgetPhoto() {
	g.draft.Proposals = nil
	maps.DeleteFunc(g.draft.Values, func(_ model.Code, v model.Value) bool { return v.Confidence > 0 })
}

// confirmStep shows each pad beside its row as photographed, what it is read
// as and how sure that is; the person takes it or chooses by eye.
func (g *guided) confirmStep() view {
	k, s := g.w.kit, g.shot
	v := view{back: g.w.backTo(func() { g.step(stepPhoto) })}
	v.body = []fyne.CanvasObject{k.Both(model.T("photo.confirm")), k.BothSmall(s.when)}
	var sure []photo.Pad
	for i, p := range s.reading.Pads {
		row, ok := g.kind.Row(p.Code)
		if !ok {
			continue
		}
		if _, has := g.draft.Values[p.Code]; p.Sure() && !has && g.pictureMisses(row) != strip.Early {
			sure = append(sure, p)
		}
		v.body = append(v.body, g.confirmPad(p, i, row))
	}
	v.body = append(v.body, k.BothSmall(model.T("photo.wrong-place")), k.Row(k.Button("mark", model.T("photo.mark"), func() {
		s.markFound()
		g.step(stepMarks)
	})))
	next := &action{"next", model.T("do.next"), func() {
		if len(g.unread()) > 0 {
			g.step(stepUnread)
			return
		}
		g.step(stepReview)
	}}
	if v.main = next; len(sure) > 0 {
		v.main, v.aside = &action{"take-sure", model.T("photo.take-sure", "n", len(sure)), func() {
			for _, p := range sure {
				g.take(p)
			}
			g.keep()
			g.w.redraw()
		}}, next
	}
	return v
}

func (g *guided) confirmPad(p photo.Pad, i int, row strip.Row) fyne.CanvasObject {
	k, s := g.w.kit, g.shot
	value, has := g.draft.Values[p.Code]
	fromPicture := has && value.Confidence > 0
	parts := g.w.proposal(p, s.crops[i], row)
	if g.pictureMisses(row) != "" {
		parts = append(parts, k.Both(g.missed(row)))
	}
	if g.pictureMisses(row) == strip.Early {
		parts = append(parts, k.Both(model.T("photo.early-how", "at", afterDip(row.ReadS))))
	}
	switch {
	case fromPicture:
		parts = append(parts, k.BothStrong(model.T("photo.taken", "value", padValue(value))))
	case has && p.Block >= 0 && g.draft.Blocks[p.Code] != p.Block:
		parts = append(parts, k.BothStrong(model.T("photo.differs", "value", padValue(value))))
	case has:
		parts = append(parts, k.BothStrong(model.T("photo.chosen", "value", padValue(value))))
	}
	var ways []fyne.CanvasObject
	if p.Block >= 0 && !fromPicture {
		ways = append(ways, k.Button("take-"+string(p.Code), model.T("photo.take"), func() {
			g.take(p)
			g.keep()
			g.w.redraw()
		}))
	}
	ways = append(ways, k.Button("eye-"+string(p.Code), model.T("photo.choose"), func() {
		g.pad, g.reviewed, g.rest = g.rows([]model.Code{p.Code})[0], true, nil
		g.step(stepPads)
	}))
	return k.Card(append(parts, k.Row(ways...))...)
}

// padLines is how many lines of text a pad and its row are shown as high at most.
const padLines = 3.6

// proposal is a pad beside its row as photographed, and what it is read as.
func (w *Window) proposal(p photo.Pad, crops [2]image.Image, row strip.Row) []fyne.CanvasObject {
	return []fyne.CanvasObject{w.kit.BothSection(padTitle(p.Code)), w.kit.Photograph(padLines, crops[0], crops[1]), w.kit.Both(says(p, row))}
}

// padValue is a reading to be said in words in each language.
func padValue(v model.Value) model.ValueOf { return model.ValueOf{Kind: model.Strip, Value: v} }

// says is the proposal in words, with its doubt: as the chart prints the block,
// for it is the chart it is held against.
func says(p photo.Pad, row strip.Row) model.Msg {
	block := func(i int) model.Msg { return printedMeans(row, i, row.Value(i)) }
	switch {
	case p.Block < 0:
		return p.Why.Msg()
	case p.Next >= 0:
		return model.T("photo.between", "low", block(min(p.Block, p.Next)), "high", block(max(p.Block, p.Next)), "value", block(p.Block))
	case p.Sure():
		return model.T("photo.sure", "value", block(p.Block))
	}
	return model.T("photo.unsure", "value", block(p.Block))
}

// besidePicture says with a reading what the picture was read as, where that is
// two blocks away or nothing was read by eye: a last look before the save.
func (g *guided) besidePicture(r strip.Row, seen model.Msg) model.Msg {
	p, read := g.draft.Proposals[r.Pad]
	if !read || p.Block >= len(r.Blocks) || g.pictureMisses(r) != "" || g.draft.Values[r.Pad].Confidence > 0 {
		return seen
	}
	if block, picked := g.draft.Blocks[r.Pad]; picked && block-p.Block < 2 && p.Block-block < 2 {
		return seen
	}
	return model.T("photo.review", "seen", seen, "value", printedMeans(r, p.Block, r.Value(p.Block)))
}

// take makes the picture's block the test's.
func (g *guided) take(p photo.Pad) {
	row, ok := g.kind.Row(p.Code)
	if !ok || p.Block < 0 {
		return
	}
	v := row.Value(p.Block)
	v.Confidence = p.Confidence
	g.draft.Values[p.Code], g.draft.Blocks[p.Code] = v, p.Block
	delete(g.draft.Values, model.OwnTime(p.Code)) // it was seen on the picture
	delete(g.seenPads, p.Code)
}
