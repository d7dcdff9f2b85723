package ui

import (
	"image"
	"slices"
	"sync"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/ui/kit"
)

// keptWith says what of the photograph is kept, and asks about the rest of it.
func (g *guided) keptWith() []fyne.CanvasObject {
	if g.practice || g.shot == nil || g.shot.seen == nil || g.draft.How != model.FromPhoto {
		return nil
	}
	return []fyne.CanvasObject{g.w.kit.Both(model.T("photo.keeps")),
		g.w.kit.Check("keep-whole", model.T("photo.keep-whole"), g.shot.whole, func(on bool) { g.shot.whole = on })}
}

// keepPicture keeps what a saved test was read from. The test itself is safe
// already, and that is said where its picture is not.
func (g *guided) keepPicture(e model.Entry) {
	s := g.shot
	if s == nil || s.seen == nil || e.Origin != model.FromPhoto {
		return
	}
	whole := ""
	if s.whole {
		whole = s.tried
	}
	var err error
	g.w.beside(func() { err = g.w.house.KeepPicture(e, s.seen, whole) }, func() {
		delete(g.w.thumbnails, e.ID) // one that was looked for too early
		g.w.shrunk.forget(e.ID)
		if err != nil {
			g.w.fail(told{model.T("photo.not-kept", "why", tell(err))})
		}
	})
}

// told is an error with words of its own.
type told struct{ say model.Msg }

func (t told) Error() string   { return t.say.Key }
func (t told) Tell() model.Msg { return t.say }

// evidence is what a test was read from, while its page is open.
type evidence struct {
	asked bool
	img   image.Image
	whole string // the file of the whole photograph
	err   error
	ready bool
}

// show shows it below a test read from a photograph. It is opened beside the
// window's own work.
func (p *evidence) show(w *Window, e model.Entry, v *view) {
	if e.Kind != model.Strip || e.Origin != model.FromPhoto {
		return
	}
	k := w.kit
	here := true
	v.leave = func() { here = false }
	v.enter = func() {
		if p.asked {
			return
		}
		p.asked = true
		w.beside(func() {
			p.img, p.err = w.house.TestPicture(e)
			p.whole = w.house.WholePicture(e)
		}, func() {
			if p.ready = true; here {
				w.redraw()
			}
		})
	}
	if !p.ready {
		return
	}
	v.body = append(v.body, k.Section(model.T("photo.kept")))
	switch {
	case p.err != nil:
		v.body = append(v.body, k.Notice(kit.NoticeCare, tell(p.err)))
	case p.img == nil:
		v.body = append(v.body, k.Text(model.T("photo.kept-none")))
	default:
		v.body = append(v.body, k.Photograph(evidenceLines, p.img))
	}
	if p.whole != "" {
		v.body = append(v.body, k.Row(k.Button("whole", model.T("photo.open-whole"), func() { w.house.Show(p.whole) })))
	}
}

// evidenceLines is how many lines of text the kept picture is shown as high at
// most.
const evidenceLines = 26

// thumbnail is the picture a test was read from, small, under its line in the
// list of days. It is opened beside the window's own work, once, and comes into
// its place whatever was drawn anew meanwhile.
func (w *Window) thumbnail(e model.Entry) []fyne.CanvasObject {
	if e.Kind != model.Strip || e.Origin != model.FromPhoto {
		return nil
	}
	if place, ok := w.thumbnails[e.ID]; ok {
		return []fyne.CanvasObject{place}
	}
	if len(w.thumbnails) >= mostThumbnails {
		clear(w.thumbnails)
	}
	k := w.kit
	place := k.Tight()
	w.thumbnails[e.ID] = place
	var small image.Image
	w.beside(func() { small = w.small(e.ID) }, func() {
		if small == nil {
			return
		}
		place.Add(k.Photograph(thumbnailLines, small))
		if w.page != nil {
			w.page.Refresh()
		}
	})
	return []fyne.CanvasObject{place}
}

// A thumbnail is a few lines high; a hundred of them take some ten megabytes.
const (
	thumbnailLines = 5
	thumbnailHigh  = 160
	mostThumbnails = 100
)

// shrunk are the thumbnails that were made, nil for tests without a picture.
// Charts are drawn beside the window's own work, and ask for them there.
type shrunk struct {
	mu   sync.Mutex
	made map[model.ID]image.Image
}

func (s *shrunk) forget(id model.ID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.made, id)
}

// small is the picture a test was read from, shrunk, nil where none was kept.
func (w *Window) small(id model.ID) image.Image {
	w.shrunk.mu.Lock()
	defer w.shrunk.mu.Unlock()
	if m, ok := w.shrunk.made[id]; ok {
		return m
	}
	if len(w.shrunk.made) >= mostThumbnails || w.shrunk.made == nil {
		w.shrunk.made = map[model.ID]image.Image{}
	}
	entries := w.house.State().Records.Book.Entries
	var small image.Image
	if i := slices.IndexFunc(entries, func(e model.Entry) bool { return e.ID == id }); i >= 0 {
		if m, err := w.house.TestPicture(entries[i]); err == nil && m != nil {
			small = kit.Shrunk(m, thumbnailHigh)
		}
	}
	w.shrunk.made[id] = small
	return small
}
