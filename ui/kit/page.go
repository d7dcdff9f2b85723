package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// PageParts is what a page is put together from. Only Title is needed.
type PageParts struct {
	Title   model.Msg         // where you are and whose data it is
	Bare    bool              // no head: all the room is for what is Fixed
	Mark    fyne.CanvasObject // the person's leaf, before the title
	Help    *Button           // top right
	Fixed   fyne.CanvasObject // under the head, never scrolled, such as a countdown; may be nil
	Content []fyne.CanvasObject
	Back    *Button             // bottom left; Escape presses it
	Aside   *Button             // bottom left where there is no way back, else above it
	Others  []fyne.CanvasObject // between the two
	Main    *Button             // bottom right
	// Keys answers keys of the page's own before anything else; nil for none.
	Keys func(*fyne.KeyEvent) bool
}

// Page is the frame of every screen: where you are on top, help at its right,
// what it is about scrolling between, back and the main button below.
type Page struct {
	group
	echoes  *Echoes
	parts   PageParts
	content *fyne.Container
	scroll  *container.Scroll
	bar     *fyne.Container // for a SavedBar, above the buttons
	barView *container.Scroll
	still   *container.Scroll // around what is Fixed; it scrolls only where the window is lower than that
	head    fyne.CanvasObject
	fixed   *fyne.Container // holds the head above the scrolling part, or
	moving  *fyne.Container // inside it, where little room is left
}

// Page puts one together.
func (k *Kit) Page(parts PageParts) *Page {
	p := &Page{echoes: k.echoes, parts: parts, content: k.Column(parts.Content...), bar: container.New(column{0}),
		fixed: container.New(column{0}), moving: container.New(column{0})}
	// The margins leave room for the rings of what has the keyboard.
	p.barView = container.NewVScroll(container.New(inset{gapCard, gapSmall}, p.bar))
	p.barView.Hide()
	p.still = container.NewVScroll(container.New(column{0}))
	p.still.Hide()
	if parts.Fixed != nil {
		p.still.Content = container.New(inset{gapCard, gapSmall}, parts.Fixed)
		p.still.Show()
	}
	head := fyne.CanvasObject(k.Title(parts.Title))
	if parts.Mark != nil {
		head = container.New(beside{gap: 12}, parts.Mark, head)
	}
	if parts.Help != nil {
		head = container.New(corners{gap, true}, head, parts.Help)
	}
	line := func() *canvas.Rectangle {
		r := canvas.NewRectangle(k.pal.Line)
		r.SetMinSize(fyne.NewSize(0, max(k.pal.Border, 1)))
		return r
	}
	p.head = container.New(inset{gapCard, gapTap}, head)
	if parts.Bare {
		p.head = container.New(column{0})
	}
	p.fixed.Add(p.head)
	p.scroll = container.NewVScroll(container.New(column{0}, p.moving, container.New(pageMargin{k.px(sizeText) * 46}, p.content)))
	if len(parts.Content) == 0 {
		p.scroll.Hide()
	}
	left, others := parts.Back, parts.Others
	if parts.Aside != nil {
		if left == nil {
			left = parts.Aside
		} else {
			others = append([]fyne.CanvasObject{parts.Aside}, others...)
		}
	}
	body := []fyne.CanvasObject{canvas.NewRectangle(k.pal.Paper), p.fixed, p.still, p.scroll, p.barView}
	if left != nil || parts.Main != nil || len(others) > 0 {
		ends := container.New(corners{gap: gap}, orNothing(left), orNothing(parts.Main))
		foot := container.New(column{gapSmall})
		if len(others) > 0 {
			foot.Add(k.Row(others...))
		}
		if left != nil || parts.Main != nil {
			foot.Add(ends)
		}
		body = append(body, container.New(column{0}, line(), container.New(inset{gapCard, gapTap}, foot)))
	}
	p.hold(p, container.New(pageLayout{p}, body...))
	return p
}

func orNothing(b *Button) fyne.CanvasObject {
	if b == nil {
		return canvas.NewRectangle(clear)
	}
	return b
}

// SetContent shows other things in the same frame, from the top.
func (p *Page) SetContent(objs ...fyne.CanvasObject) {
	p.content.Objects = objs
	p.scroll.Show()
	p.content.Refresh()
	p.scroll.ScrollToTop()
	p.Refresh()
}

// SetBar puts a [Kit.SavedBar] above the buttons; nil takes it away. What is
// higher than its share of the page scrolls in it.
func (p *Page) SetBar(o fyne.CanvasObject) {
	p.bar.RemoveAll()
	p.barView.Hide()
	p.barView.ScrollToTop()
	if o != nil {
		p.bar.Add(o)
		p.barView.Show()
	}
	p.Refresh()
}

// Offset and ScrollTo keep the place when a screen is built anew.
func (p *Page) Offset() float32 { return p.scroll.Offset.Y }

// ScrollTo goes to an Offset.
func (p *Page) ScrollTo(y float32) { p.scroll.ScrollToOffset(fyne.NewPos(0, y)) }

// Reveal scrolls until o lies in view; for the first field with a problem.
func (p *Page) Reveal(o fyne.CanvasObject) { reveal(o) }

// Lead scrolls until o, one of the page's own objects, stands at the top.
func (p *Page) Lead(o fyne.CanvasObject) { p.ScrollTo(o.Position().Y) }

// pageKey: Escape is back; Page Up and Down, arrows, Home and End scroll.
func (p *Page) pageKey(ev *fyne.KeyEvent) bool {
	switch ev.Name {
	case fyne.KeyEscape, fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter:
		if p.echoes.echo(nil) {
			return true
		}
	}
	if p.parts.Keys != nil && p.parts.Keys(ev) {
		return true
	}
	high := p.scroll.Size().Height
	y := p.scroll.Offset.Y
	switch ev.Name {
	case fyne.KeyEscape:
		if p.parts.Back == nil || p.parts.Back.Disabled() {
			return false
		}
		p.parts.Back.Tapped(nil)
		return true
	case fyne.KeyPageDown:
		y += high * 0.85
	case fyne.KeyPageUp:
		y -= high * 0.85
	case fyne.KeyDown:
		y += 60
	case fyne.KeyUp:
		y -= 60
	case fyne.KeyHome:
		y = 0
	case fyne.KeyEnd:
		y = p.content.Size().Height
	default:
		return false
	}
	p.ScrollTo(max(y, 0))
	return true
}

// keepHead holds the head in its place above the page, or lets it scroll away
// with the rest when the window is low and the type large.
func (p *Page) keepHead(fixed bool) {
	if fixed == (len(p.fixed.Objects) > 0) {
		return
	}
	from, to := p.fixed, p.moving
	if fixed {
		from, to = p.moving, p.fixed
	}
	from.Objects, to.Objects = nil, []fyne.CanvasObject{p.head}
}

// leastMiddle is the share of a page's height left to what it is about before
// the head gives way.
const leastMiddle = 0.4

// mostBar is the share of a page's height that a bar may take.
const mostBar = 0.4

// pageLayout: ground, head, what is fixed, scrolling middle, bar, feet.
type pageLayout struct{ p *Page }

func (l pageLayout) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	objs[0].Move(fyne.NewPos(0, 0))
	objs[0].Resize(size)
	bottom := size.Height
	if len(objs) > 5 {
		fh := heightAt(objs[5], size.Width)
		bottom -= fh
		objs[5].Move(fyne.NewPos(0, bottom))
		objs[5].Resize(fyne.NewSize(size.Width, fh))
	}
	if bar := l.p.barView; bar.Visible() {
		bh := min(heightAt(bar.Content, size.Width), size.Height*mostBar)
		bottom -= bh
		place(bar, bottom, fyne.NewSize(size.Width, bh))
	}
	h, still := heightAt(l.p.head, size.Width), float32(0)
	if l.p.still.Visible() {
		still = min(heightAt(l.p.still.Content, size.Width), bottom)
	}
	middle := size.Height * leastMiddle
	if !l.p.scroll.Visible() {
		middle = 0
		still = min(still, bottom-h)
	}
	l.p.keepHead(bottom-h-still >= middle)
	if len(l.p.fixed.Objects) == 0 {
		h = 0
	}
	l.p.fixed.Move(fyne.NewPos(0, 0))
	l.p.fixed.Resize(fyne.NewSize(size.Width, h))
	if l.p.still.Visible() {
		place(l.p.still, h, fyne.NewSize(size.Width, still))
		h += still
	}
	heightAt(l.p.scroll.Content, size.Width)
	place(l.p.scroll, h, fyne.NewSize(size.Width, max(bottom-h, 0)))
}

// place gives a scrolling part its room, and lets it look at its content anew.
func place(s *container.Scroll, y float32, size fyne.Size) {
	s.Move(fyne.NewPos(0, y))
	if s.Size() == size {
		s.Refresh()
	} else {
		s.Resize(size)
	}
}

func (l pageLayout) MinSize(objs []fyne.CanvasObject) fyne.Size {
	s := fyne.NewSize(l.p.head.MinSize().Width, 120)
	for _, o := range []*container.Scroll{l.p.still, l.p.scroll, l.p.barView} {
		if o.Visible() {
			s.Width = max(s.Width, o.Content.MinSize().Width)
		}
	}
	for _, o := range objs[5:] {
		m := o.MinSize()
		s.Width, s.Height = max(s.Width, m.Width), s.Height+m.Height
	}
	return s
}

// pageMargin keeps the content off the edges and the scroll bar, and lines from
// growing too long.
type pageMargin struct{ widest float32 }

func (m pageMargin) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	const right = gapCard + 8
	w := min(size.Width-gapCard-right, m.widest)
	h := heightAt(objs[0], w)
	objs[0].Move(fyne.NewPos(gapCard, gapSmall))
	objs[0].Resize(fyne.NewSize(w, h))
}

func (m pageMargin) MinSize(objs []fyne.CanvasObject) fyne.Size {
	return objs[0].MinSize().AddWidthHeight(2*gapCard+8, gapSmall+gapCard)
}

// corners keeps one thing left and one right on a line; where both do not fit,
// the wider one wraps.
type corners struct {
	gap float32
	top bool // keeps the right one at the top, in the same place on every page
}

func (c corners) split(objs []fyne.CanvasObject, width float32) (l, r float32) {
	l, r = natural(objs[0]), natural(objs[1])
	room := width - c.gap
	if l+r <= room {
		return l, r
	}
	half := room / 2
	switch {
	case l < half:
		r = room - l
	case r < half:
		l = room - r
	default:
		l, r = half, half
	}
	// Nothing gets less than its longest word, as far as there is room.
	if least := objs[0].MinSize().Width; l < least {
		l, r = least, room-least
	}
	if least := objs[1].MinSize().Width; r < least {
		l, r = room-least, least
	}
	return l, r
}

func (c corners) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	l, r := c.split(objs, size.Width)
	lh, rh := heightAt(objs[0], l), heightAt(objs[1], r)
	h := max(lh, rh)
	objs[0].Move(fyne.NewPos(0, (h-lh)/2))
	objs[0].Resize(fyne.NewSize(l, lh))
	y := (h - rh) / 2
	if c.top {
		y = 0
	}
	objs[1].Move(fyne.NewPos(size.Width-r, y))
	objs[1].Resize(fyne.NewSize(r, rh))
}

func (c corners) MinSize(objs []fyne.CanvasObject) fyne.Size {
	a, b := objs[0].MinSize(), objs[1].MinSize()
	return fyne.NewSize(a.Width+b.Width+c.gap, max(a.Height, b.Height))
}
