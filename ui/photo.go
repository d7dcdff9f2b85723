package ui

import (
	"image"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
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
	here    bool           // a page of it is on the screen
	files   []PictureFile  // the newest in the usual folders
	looked  bool           // the folders have been looked into
	since   time.Time      // pictures that came later are offered
	typed   string         // a path on its way
	busy    bool           // it is being read
	tried   string         // the file that is, or was
	failed  model.Msg      // why it was not read
	unread  *photo.Picture // one that was opened: it can be marked
	taken   time.Time      // by the camera's clock
	marks   []kit.Spot     // the chart's four corners and the strip's two ends
	picture *photo.Picture // one that was read
	reading photo.Reading
	crops   [][2]image.Image // of each pad: itself and its row
	when    model.Msg        // what the camera's clock says of it
}

// mostPictures is how many of the newest pictures are listed.
const mostPictures = 6

// lookEvery is how often the folders are looked into while somebody waits for
// a picture to come.
const lookEvery = 2 * time.Second

// photoStep gets the picture in: one that was dropped, one of the newest, or
// one by its name.
func (g *guided) photoStep() view {
	k := g.w.kit
	if g.shot == nil {
		g.shot = &shot{}
	}
	s := g.shot
	v := view{back: g.w.backTo(func() { g.step(stepHow) }), dropped: g.readPhoto, aside: &action{"by-eye", model.T("photo.by-eye"), func() {
		g.pad, g.reviewed = 0, false
		g.step(stepPads)
	}}}
	if s.busy {
		return g.readingView()
	}
	if !s.failed.IsZero() {
		var ways []fyne.CanvasObject
		if s.unread != nil {
			ways = append(ways, k.Row(k.Button("mark", model.T("photo.mark"), func() { g.step(stepMarks) })))
		}
		v.body = append(v.body, k.Notice(kit.NoticeCare, s.failed, ways...))
	}
	if len(s.files) > 0 && s.files[0].Changed.After(s.since) {
		newest := s.files[0].Path
		v.body = append(v.body, k.Notice(kit.NoticeInfo, model.T("photo.come", "file", filepath.Base(newest)),
			k.MainButton("take-new", model.T("photo.come-yes"), func() { g.readPhoto(newest) })))
	}
	v.body = append(v.body, k.Both(model.T("photo.how")))
	if len(s.files) > 0 {
		var items []kit.ListItem
		for i, f := range s.files {
			items = append(items, kit.ListItem{ID: "picture-" + strconv.Itoa(i), Title: kit.Said(filepath.Base(f.Path)),
				Note: model.T("photo.of", "when", model.At(f.Changed), "folder", filepath.Base(filepath.Dir(f.Path))), Open: func() { g.readPhoto(f.Path) }})
		}
		v.body = append(v.body, k.BothSection(model.T("photo.newest")), k.List(items...))
	}
	path := k.Field(kit.Ask{ID: "path", Label: model.T("photo.path"), Help: model.T("photo.path-help")}, s.typed, func(t string) { s.typed = t })
	read := func() {
		if p := strings.Trim(strings.TrimSpace(s.typed), `"'`); p != "" {
			g.readPhoto(strings.TrimPrefix(p, "file://"))
		}
	}
	path.OnEnter(read)
	v.body = append(v.body, path, k.Row(k.Button("read-path", model.T("photo.read-path"), read)))
	var stop chan struct{}
	v.enter = func() { s.here, stop = true, g.w.lookOut(s) }
	v.leave = func() {
		s.here = false
		close(stop)
	}
	return v
}

// lookOut looks into the folders, at once and every now and then, beside the
// window's own work: a folder may lie far away.
func (w *Window) lookOut(s *shot) chan struct{} {
	stop := make(chan struct{})
	looking, beats := false, 0
	w.pulse(stop, func() {
		beats++
		if looking || beats%int(lookEvery/tickEvery) != 1 {
			return
		}
		looking = true
		var files []PictureFile
		w.beside(func() { files = w.house.Pictures(mostPictures) }, func() {
			looking = false
			if !s.looked && len(files) > 0 {
				s.since = files[0].Changed
			}
			s.looked = true
			if s.here && !s.busy && !slices.Equal(files, s.files) {
				s.files = files
				w.redraw()
			}
		})
	})
	return stop
}

// readPhoto opens and reads a picture.
func (g *guided) readPhoto(path string) {
	s, kind := g.shot, g.kind
	if s.busy {
		return
	}
	s.tried, s.unread, s.marks = path, nil, nil
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
	var err error
	g.w.beside(func() {
		got, r, err = read()
		crops = cropsOf(got.Picture, r)
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
			s.failed, s.unread, s.taken = r.Why.Msg(), got.Picture, got.Taken
		default:
			s.unread, s.taken, s.picture, s.reading, s.crops, next = got.Picture, got.Taken, got.Picture, r, crops, stepConfirm
			g.clock(got.Taken)
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
	k, s := g.w.kit, g.shot
	return view{body: []fyne.CanvasObject{k.Step(model.T("photo.reading")), k.Text(model.T("photo.reading-what", "file", filepath.Base(s.tried)))},
		enter: func() { s.here = true }, leave: func() { s.here = false },
		back: g.w.backTo(func() {
			g.shot = nil
			g.step(stepHow)
		})}
}

// markFound puts the marks where chart and strip were found.
func (s *shot) markFound() {
	s.marks = nil
	for _, p := range append(s.reading.Place.Corners[:], s.reading.Place.Ends[:]...) {
		s.marks = append(s.marks, kit.Spot{X: float32(p.X), Y: float32(p.Y)})
	}
}

// marksStep has the person show where chart and strip are.
func (g *guided) marksStep() view {
	k, s := g.w.kit, g.shot
	if s.busy {
		return g.readingView()
	}
	w, h := float32(s.unread.W), float32(s.unread.H)
	if s.marks == nil {
		s.marks = []kit.Spot{{X: 0.2 * w, Y: 0.15 * h}, {X: 0.7 * w, Y: 0.15 * h}, {X: 0.7 * w, Y: 0.85 * h}, {X: 0.2 * w, Y: 0.85 * h}, {X: 0.85 * w, Y: 0.2 * h}, {X: 0.85 * w, Y: 0.8 * h}}
	}
	var names []model.Msg
	for i := range s.marks {
		names = append(names, model.T("photo.mark."+strconv.Itoa(i+1), "n", i+1))
	}
	var m *kit.Marker
	m = k.Marker("mark", s.unread.Image(), names, s.marks, [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 0}, {4, 5}}, func() { s.marks = m.Spots() })
	v := view{back: g.w.backTo(func() { g.step(stepPhoto) }), focus: m.First(),
		main: &action{"read-marked", model.T("photo.mark.read"), g.readMarked}, aside: &action{"undo-mark", model.T("photo.mark.undo"), func() {
			m.Undo()
			s.marks = m.Spots()
		}}}
	if !s.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, s.failed))
	}
	v.body = append(v.body, m, k.Both(model.T("photo.mark.how")))
	return v
}

func (g *guided) readMarked() {
	s, kind := g.shot, g.kind
	var marks photo.Marks
	at := func(i int) photo.Point { return photo.Point{X: float64(s.marks[i].X), Y: float64(s.marks[i].Y)} }
	for i := range marks.Corners {
		marks.Corners[i] = at(i)
	}
	for i := range marks.Ends {
		marks.Ends[i] = at(4 + i)
	}
	picture := Photograph{s.unread, s.taken}
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
func (g *guided) clock(at time.Time) {
	g.draft.Seconds = strip.PhotoAtS // as the person said, and whatever an earlier picture said
	after := at.Sub(g.draft.Dipped).Round(time.Second)
	switch {
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
		if _, has := g.draft.Values[p.Code]; p.Sure() && !has {
			sure = append(sure, p)
		}
		v.body = append(v.body, g.confirmPad(p, i, row))
	}
	v.body = append(v.body, k.BothSmall(model.T("photo.wrong-place")), k.Row(k.Button("mark", model.T("photo.mark"), func() {
		s.markFound()
		g.step(stepMarks)
	})))
	next := &action{"next", model.T("do.next"), func() { g.step(stepReview) }}
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
	parts := []fyne.CanvasObject{k.BothSection(padTitle(p.Code)),
		k.Photograph(3, s.crops[i][0], s.crops[i][1]), k.Both(g.says(p, row))}
	switch {
	case fromPicture:
		parts = append(parts, k.BothStrong(model.T("photo.taken", "value", g.valueText(value))))
	case has && p.Block >= 0 && g.draft.Blocks[p.Code] != p.Block:
		parts = append(parts, k.BothStrong(model.T("photo.differs", "value", g.valueText(value))))
	case has:
		parts = append(parts, k.BothStrong(model.T("photo.chosen", "value", g.valueText(value))))
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
		g.pad, g.reviewed = slices.IndexFunc(g.kind.Chart.Rows, func(r strip.Row) bool { return r.Pad == p.Code }), true
		g.step(stepPads)
	}))
	return k.Card(append(parts, k.Row(ways...))...)
}

func (g *guided) valueText(v model.Value) model.Msg { return kit.Said(g.w.words.Value(model.Strip, v)) }

// says is the proposal in words, with its doubt.
func (g *guided) says(p photo.Pad, row strip.Row) model.Msg {
	block := func(i int) model.Msg { return g.valueText(row.Value(i)) }
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

// take makes the picture's block the test's.
func (g *guided) take(p photo.Pad) {
	row, ok := g.kind.Row(p.Code)
	if !ok || p.Block < 0 {
		return
	}
	v := row.Value(p.Block)
	v.Confidence = p.Confidence
	g.draft.Values[p.Code], g.draft.Blocks[p.Code] = v, p.Block
}
